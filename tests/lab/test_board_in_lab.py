"""The fretboard in the lab: by its entry in the register, with no case of its own."""

import re

import pytest

from carve.design.io.dials import dials
from carve.lab.controls import DialPanel
from carve.lab.job_views import JobViews
from carve.lab.tables import table_html
from carve.lab.view_choice import ViewChoice
from carve.parts.job import make
from carve.shape.views.kit.table import DataTable


@pytest.fixture
def job(design):
    return make(design, 0.05)


def test_the_board_is_a_layer_in_a_colour_of_its_own(job):
    shown = JobViews().layers(job)
    (board,) = [layer for layer in shown if layer.name == "fretboard"]
    assert len(board.triangles) == len(job.parts[1].mesh.triangles)
    assert board.colour not in {layer.colour for layer in shown if layer is not board}


@pytest.mark.parametrize("side", ["front", "back"])
def test_front_or_back_alone_are_shown_as_one_clamping_machines_them(job, side):
    layers = JobViews().layers(job, side, "wood left")
    for part in job.parts:
        shown = [one for one in layers if one.name.split(",")[0] == part.name]
        skin = part.type.faces(part.shape).of(part.mesh, side)
        assert sum(len(layer.triangles) for layer in shown) == len(skin.triangles)
        shaded = [layer for layer in shown if layer.values is not None]
        assert bool(shaded) == (part.name == "neck" and side == "back")


def test_its_ends_and_its_plan_are_drawn(job):
    svgs = "".join(JobViews().drawings(job).values())
    for words in ("board at the nut", "radius 254 mm", "board at the last fret", "22 frets"):
        assert words in svgs


def test_the_fret_table_is_there_and_folded(job):
    tables = "".join(JobViews().tables(job).values())
    assert "<details" in tables
    assert " open" not in tables
    # the 12th fret halves the scale: 24 3/4 in / 2 = 314.325 mm, marked to 0.01 mm
    assert re.search(r">12</td><td[^>]*>314\.32</td>|>12</td><td[^>]*>314\.33</td>", tables)


def test_the_boards_dials_have_headings_and_sliders(design):
    turned = []
    box = DialPanel(
        dials(design), design.units, lambda key, value: turned.append((key, value))
    ).widget
    sliders = {name: s for s in walk(box) for name in getattr(s, "_dom_classes", ())}
    radius, _ = sliders["carve-fretboard-radius-nut"].children
    radius.value = 300.0
    assert turned == [("fretboard.radius.nut", 300.0)]


def walk(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from walk(child)


def test_words_in_a_table_are_escaped():
    assert "<b>" not in table_html(DataTable("<b>", ("<b>",), (("<b>",),)))


def test_turning_to_one_side_asks_for_a_new_picture():
    asked = []
    choice = ViewChoice(lambda: asked.append(choice.side))
    buttons, _ = choice.box.children
    assert choice.side is None
    assert buttons.options == (("whole parts", ""), ("front only", "front"), ("back only", "back"))
    buttons.value = "back"
    assert asked == ["back"]
