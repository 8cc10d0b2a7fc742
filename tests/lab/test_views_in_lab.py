"""Colours and cuts in the lab: every part by its entry in the register, with no case of its own."""

import math

import numpy as np
import pytest

from carve.design import load, parse
from carve.lab.app import Lab
from carve.lab.job_views import JobViews
from carve.lab.section_choice import SectionChoice, SectionChoices
from carve.lab.view3d.viewer import Viewer
from carve.lab.view_choice import PLAIN
from carve.parts.job import make
from carve.parts.outbound import outbound_cut
from carve.shape.views.kit.section_cuts import SectionPlane, SectionPlanes


@pytest.fixture(scope="module")
def source(request):
    return request.config.rootpath / "examples" / "brambling.toml"


@pytest.fixture(scope="module")
def job(source):
    return make(load(source), 0.1)


@pytest.fixture(scope="module")
def left(source):
    text = 'handed = "left"\n' + source.read_text("utf-8")
    return make(parse(text, "left.toml", source.parent), 0.1)


def part_of(job, name):
    return next(part for part in job.parts if part.name == name)


def test_every_shade_of_every_part_colours_the_surfaces_it_names(job):
    for part in job.parts:
        for colour, shade in part.type.colour_fields(job.design, part.shape).items():
            layers = JobViews().layers(job, None, colour)
            shown = {one.name: one for one in layers if one.name.split(",")[0] == part.name}
            for name in shade.values:
                layer = shown[f"{part.name}, {name}"]
                assert np.isfinite(layer.values).all()
                assert layer.colours == shade.colours
            count = sum(len(layer.triangles) for layer in shown.values())
            assert count == len(part.mesh.triangles)


def test_the_carved_top_has_the_heights_that_its_map_and_its_mesh_have(job):
    body = part_of(job, "body")
    shade = body.type.colour_fields(job.design, body.shape)["height"]
    points = body.mesh.only("top").points
    assert shade.values["top"](points) == pytest.approx(points[:, 2])
    plan = body.type.maps(job.design, body.shape)["top, height"]
    assert np.nanmax(plan.values) == pytest.approx(points[:, 2].max(), abs=0.1)


def test_views_of_the_carved_top_are_drawn(job):
    page = "".join(JobViews().drawings(job).values())
    for words in ("top by its heights", "gauge along the centre line", "gauges across", "height,"):
        assert words in page


def test_a_zebra_is_drawn_in_its_two_tones(job):
    layers = JobViews().layers(job, None, "zebra, lights along")
    view = Viewer()
    try:
        view.show([one for one in layers if one.name.startswith("body")])
        view.look("top")
        picture = view.picture().astype(int)
    finally:
        view.close()
    middle = picture[150:400, 400:800].sum(axis=2).ravel()
    assert np.mean(middle < 300) > 0.1
    assert np.mean(middle > 500) > 0.1


def test_a_cut_goes_through_its_place_at_its_angle():
    start, stop = SectionPlane(100.0, 20.0, math.radians(30)).ends(50.0)
    assert (np.array(start) + np.array(stop)) / 2 == pytest.approx([100.0, 20.0])
    run, rise = np.subtract(stop, start)
    assert math.degrees(math.atan2(rise, run)) == pytest.approx(30.0)
    assert SectionPlane(100.0).ends(10.0)[0] == pytest.approx((100.0, -10.0))


def test_the_body_cut_open_is_as_high_as_it_is_there(job):
    body = part_of(job, "body")
    drawing = outbound_cut(job.design, body, SectionPlane(150.0))
    wood = [line for line in drawing.lines if line.layer == "wood"]
    top = max(float(line.points[:, 1].max()) for line in wood)
    points = np.column_stack([np.full(4000, 150.0), np.linspace(-120, 120, 4000)])
    assert top == pytest.approx(body.shape.top_at(points).max(), abs=0.01)
    assert "150 mm from its edge" in drawing.title
    assert drawing.treble == "right"


def test_a_left_handed_body_is_cut_open_with_its_treble_side_left(job, left):
    cut = SectionPlane(262.0)
    right_one, left_one = (
        outbound_cut(one.design, part_of(one, "body"), cut) for one in (job, left)
    )
    assert (right_one.treble, left_one.treble) == ("right", "left")
    for one, other in zip(right_one.lines, left_one.mirrored().lines, strict=True):
        assert one.points == pytest.approx(other.points)


def test_a_cut_beyond_a_part_that_has_become_shorter_is_brought_back_to_it():
    cuts = SectionPlanes("from the nut", (0.0, 300.0), None, lambda cut: None)
    assert cuts.within(SectionPlane(500.0, 10.0, 0.3)) == SectionPlane(300.0)


def test_sliders_start_on_the_part_and_follow_it():
    asked = []
    cuts = SectionPlanes("from its edge", (0.0, 400.3), (-150.0, 150.0), lambda cut: None)
    choice = SectionChoice("body", cuts, "mm", lambda: asked.append(choice.plane))
    assert choice.plane == SectionPlane(200.0)
    x, y, angle = choice.box.children[0].children[1:]
    angle.value = 45.0
    y.value = -20.0
    assert asked[-1].y == -20.0
    assert asked[-1].angle == pytest.approx(math.radians(45))
    count = len(asked)
    choice.follow(SectionPlanes("from its edge", (0.0, 120.0), (-50.0, 50.0), lambda cut: None))
    assert (x.min, x.max) == (0.0, 120.0)
    assert choice.plane.x == 120.0
    assert len(asked) == count  # nobody's hand has moved it
    of_neck = SectionPlanes("from the nut", (0.0, 508.0), None, lambda cut: None)
    inches = SectionChoice("neck", of_neck, "in", lambda: None)
    assert inches.plane.x == pytest.approx(254.0)
    assert len(inches.box.children[0].children) == 2


def test_a_part_that_comes_back_finds_its_sliders_where_they_stood():
    asked = []
    choices = SectionChoices("mm", lambda: asked.append(1))
    neck, cover = (
        SectionPlanes("from its edge", (0.0, reach), None, lambda cut: None) for reach in (500, 80)
    )
    shown = choices.follow({"neck": neck, "cover-2": cover})
    assert len(choices.box.children) == 2
    shown["cover-2"].box.children[0].children[1].value = 30.0
    assert list(choices.follow({"neck": neck})) == ["neck"]
    assert len(choices.box.children) == 1
    again = choices.follow({"cover-2": cover, "neck": neck})
    assert again["cover-2"].plane.x == 30.0
    assert [box._dom_classes[-1] for box in choices.box.children] == [
        "carve-cut-cover-2",
        "carve-cut-neck",
    ]
    assert asked == [1]


def test_the_lab_offers_all_shades_and_keeps_what_is_chosen(source, tmp_path):
    copy = tmp_path / "brambling.toml"
    copy.write_text(source.read_text("utf-8"), "utf-8")
    lab = Lab(copy)
    _, choice = lab._view_choice.box.children
    assert choice.value == choice.options[0] == "wood left"
    assert set(choice.options) >= {"height", "slope", "curvature", "zebra, lights along", PLAIN}
    choice.value = "slope"
    lab._on_dial("fretboard.thickness", lab.design.fretboard.thickness + 0.5)
    assert choice.value == "slope"
    boxes = {box._dom_classes[-1]: box for box in lab._sections.box.children}
    assert set(boxes) == {"carve-cut-neck", "carve-cut-body"}
    sliders, section = boxes["carve-cut-body"].children
    place = sliders.children[1]
    place.value = 100.0
    assert "100 mm from its edge" in section.value
    assert "<svg" in section.value
