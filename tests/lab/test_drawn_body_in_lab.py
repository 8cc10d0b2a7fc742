"""A body's drawing on its way through the house: opened, dials turned, saved, exported, lost."""

import json
import shutil
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
import trimesh

from carve.check.report import inspect
from carve.cli import main
from carve.design import load, parse, read_text, rewrite, with_values
from carve.design.io.dials import dials
from carve.design.io.parse import value_at
from carve.errors import DesignError
from carve.lab.app import Lab
from carve.parts.job import make

EXAMPLES = Path(__file__).parents[2] / "examples"
DRAWN = {"dotterel": "svg", "merlin": "dxf", "lapwing": "dxf", "bittern": "svg", "wigeon": "dxf"}


@pytest.fixture
def shop(tmp_path):
    """A folder with a design and its drawing, by the design's name."""

    def laid(name):
        (tmp_path / "outlines").mkdir(exist_ok=True)
        file = tmp_path / f"{name}.toml"
        shutil.copy(EXAMPLES / f"{name}.toml", file)
        if name in DRAWN:
            drawing = tmp_path / "outlines" / f"{name}.{DRAWN[name]}"
            shutil.copy(EXAMPLES / "outlines" / drawing.name, drawing)
        return file

    return laid


def said(lab):
    """What the lab's message and its last answer say, in one line."""
    return " ".join((lab._message.value + lab._save.answer.widget.value).split())


@pytest.mark.parametrize("name", [*DRAWN, "sanderling"])
def test_no_finding_of_an_example_fails(name):
    findings = inspect(make(load(EXAMPLES / f"{name}.toml"), 0.08))
    assert [f.check for f in findings if f.verdict.name == "FAILED"] == []
    assert any(f.part == "body" for f in findings)


@pytest.mark.parametrize("name", DRAWN)
def test_a_drawing_is_held_against_the_builders_own_measure(name):
    findings = inspect(make(load(EXAMPLES / f"{name}.toml"), 0.2))
    (length,) = [f for f in findings if f.check == "drawing's length"]
    assert length.part == "body"
    assert length.value == pytest.approx(length.target, abs=0.5)  # 18 1/4 in. on paper


@pytest.mark.parametrize("name", ["sanderling", "lapwing", "dotterel"])
def test_every_dial_of_the_body_is_saved_and_read_back(name):
    file = EXAMPLES / f"{name}.toml"
    design, text = load(file), read_text(file)
    turned = []
    for dial in dials(design):
        if not dial.key.startswith("body.") or dial.step is None:
            continue
        changed = with_values(design, {dial.key: round(dial.value + dial.step, 4)})
        assert changed != design
        again = parse(rewrite(text, changed), folder=EXAMPLES)
        # a file has four decimals of a mm, five of an inch
        assert value_at(again, dial.key) == pytest.approx(value_at(changed, dial.key), abs=1.3e-4)
        assert again.body.outline.file == changed.body.outline.file
        turned.append(dial.key)
    assert len(turned) >= 3
    if name == "sanderling":
        assert sum(key.startswith("body.outline.bouts") for key in turned) == 15


def test_a_dial_of_the_bouts_moves_the_outline_and_is_saved(shop):
    file = shop("sanderling")
    lab = Lab(file)
    wide = []
    for lower in (328.0, 340.0):
        lab._on_dial("body.outline.bouts.lower", lower)
        (body,) = make(lab.design, 0.05, only=["body"]).parts
        wide.append(float(np.ptp(body.mesh.points[:, 1])))
    assert wide == pytest.approx([328.0, 340.0], abs=0.1)
    lab._ask_save()
    assert load(file) == lab.design
    assert "lower = 340.0\n" in read_text(file)


def test_bouts_that_no_outline_goes_through_leave_the_picture_and_say_so(shop):
    lab = Lab(shop("sanderling"))
    shown = lab._drawings.text
    lab._on_dial("body.outline.bouts.waist_at", 60.0)
    with pytest.raises(DesignError):
        assert lab.design
    assert lab._drawings.text == shown
    assert "body.outline.bouts.waist_at: 60 mm is not allowed" in said(lab)
    assert "shows the last one that could be made" in lab._stale._notice.value


def test_a_drawing_that_is_lost_while_the_lab_is_open_is_told_when_saving(shop):
    file = shop("dotterel")
    lab = Lab(file)
    (file.parent / "outlines" / "dotterel.svg").unlink()
    lab._on_dial("body.thickness", 46.0)
    assert lab.design.body.thickness == 46.0  # the drawing is part of the design
    lab._ask_save()
    assert "thickness = 46.0" in read_text(file)
    assert "dotterel.svg&quot; cannot be read: no such file" in said(lab)
    # the next to open it hears what is missing, and where it was looked for
    opened = Lab(file)
    assert (
        "body.outline.file: the drawing &quot;outlines/dotterel.svg&quot; cannot be read"
        in said_only(opened)
    )


def said_only(lab):
    """What a lab says that could not open its file."""
    return " ".join(lab.widget.value.split())


def test_a_drawing_that_is_redrawn_while_the_lab_is_open_is_told_when_saving(shop):
    file = shop("dotterel")
    lab = Lab(file)
    drawing = file.parent / "outlines" / "dotterel.svg"
    drawing.write_text(drawing.read_text(encoding="utf-8") + "<!-- redrawn -->", encoding="utf-8")
    lab._ask_save()
    assert "has been changed since it was read" in said(lab)
    untouched = Lab(file)
    untouched._ask_save()
    assert "changed" not in said(untouched)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"scribble", "is neither SVG nor DXF"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><path d='M 0 0", "dotterel.svg"),
        (b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" viewBox="0 0 9 9"/>', "no lines"),
        (b"\x00" * 50, "is empty"),
    ],
)
def test_a_broken_drawing_is_one_sentence_for_the_command_and_the_lab(shop, capsys, data, words):
    file = shop("dotterel")
    (file.parent / "outlines" / "dotterel.svg").write_bytes(data)
    for command in (["check", str(file)], ["export", str(file), "--to", str(file.parent / "cut")]):
        assert main(command) == 2
        told = capsys.readouterr().err
        assert told.startswith("body.outline.file: ")
        assert told.count("\n") == 1
        assert words in told
    assert not (file.parent / "cut").exists()
    assert "body.outline.file: " in said_only(Lab(file))


def test_a_drawing_of_another_body_is_held_off_by_the_measured_length(shop, capsys):
    file = shop("dotterel")
    drawing = file.parent / "outlines" / "dotterel.svg"
    text = drawing.read_text(encoding="utf-8").replace('width="380mm" height="500mm"', "")
    drawing.write_text(text, encoding="utf-8")
    assert main(["check", str(file)]) == 2
    assert capsys.readouterr().err.startswith("body.outline.unit: missing; ")
    with_unit = read_text(file).replace("length = 432", 'unit = "in"\nlength = 432')
    file.write_text(with_unit, encoding="utf-8")
    assert main(["check", str(file)]) == 2
    told = capsys.readouterr().err
    assert "body.outline" in told
    assert "Traceback" not in told


@pytest.mark.parametrize("name", ["dotterel", "lapwing"])
def test_an_export_has_the_drawing_beside_it_and_gives_the_same_body_again(shop, name, tmp_path):
    file, out = shop(name), tmp_path / "cut"
    assert main(["export", str(file), "--to", str(out), "--chord-error", "0.05 mm"]) == 0
    ending = DRAWN[name]
    kept = out / f"{name}-drawing-{name}.{ending}"
    assert kept.read_bytes() == (file.parent / "outlines" / f"{name}.{ending}").read_bytes()
    listed = json.loads((out / f"{name}-manifest.json").read_text(encoding="utf-8"))["drawings"]
    assert [entry["file"] for entry in listed] == [kept.name]
    again = load(out / f"{name}-as-exported.toml")
    assert again.body.outline.file.name == kept.name
    (one,) = make(load(file), 0.05, only=["body"]).parts
    (other,) = make(again, 0.05, only=["body"]).parts
    assert np.array_equal(one.mesh.points, other.mesh.points)
    stl = trimesh.load(out / f"{name}-body.stl")
    assert stl.is_watertight
    assert stl.volume == pytest.approx(one.integral, abs=0.06 * stl.area)


WAYS = [
    ("", "body.outline: missing; give `file`, a drawing of your own, `points`, or `bouts`"),
    (
        'file = "outlines/merlin.dxf"\npoints = [[0, 0], [9, 9], [9, 0]]',
        "body.outline.points: the outline comes from `file` already; give one of `file`",
    ),
    (
        "points = [[0, 0], [9, 9], [9, 0]]\nbouts = { length = 400, upper = 300, upper_at = 66, "
        "waist = 236, waist_at = 168, lower = 328, lower_at = 292 }",
        "body.outline.bouts: the outline comes from `points` already; give one of `file`",
    ),
    (
        'layer = "body"\nbouts = { length = 400, upper = 300, upper_at = 66, waist = 236, '
        "waist_at = 168, lower = 328, lower_at = 292 }",
        "body.outline.layer: is for a drawing; with `bouts` leave it out",
    ),
    ("bouts = { length = 400 }", "body.outline.bouts.upper: missing; width of the upper bout"),
]


@pytest.mark.parametrize(("keys", "sentence"), WAYS)
def test_an_outline_comes_from_one_of_three(keys, sentence):
    text = read_text(EXAMPLES / "sanderling.toml")
    head, _, rest = text.partition("[body.outline.bouts]")
    rest = rest[rest.index("[[body.pockets]]") :]
    with pytest.raises(DesignError) as caught:
        parse(f"{head}[body.outline]\n{keys}\n\n{rest}", folder=EXAMPLES)
    assert caught.value.problems[0].startswith(sentence)


def test_a_drawn_sound_hole_leaves_as_a_circle_and_an_ellipse_as_a_line(shop, tmp_path):
    # both by ezdxf: of the drawing that came in, and of the one that goes out
    file, out = shop("wigeon"), tmp_path / "cut"
    assert main(["export", str(file), "--to", str(out), "--chord-error", "0.1 mm"]) == 0
    came = ezdxf.readfile(file.parent / "outlines" / "wigeon.dxf").modelspace()
    (drawn,) = came.query("CIRCLE")
    (rosette,) = came.query("ELLIPSE")
    went = ezdxf.readfile(out / "wigeon-body-from-above.dxf").modelspace()
    (circle,) = went.query('CIRCLE[layer=="SOUND HOLE FROM FRONT"]')
    assert circle.dxf.radius == pytest.approx(drawn.dxf.radius, abs=1e-4)
    # on the page the neck is up, in the body's drawing x runs to the tail
    assert circle.dxf.center.x == pytest.approx(-drawn.dxf.center.y, abs=0.02)
    assert circle.dxf.center.y == pytest.approx(drawn.dxf.center.x, abs=1e-4)
    bed = shapely.LinearRing(
        [
            (point.x, point.y)
            for line in went.query("LWPOLYLINE")
            if line.dxf.layer.startswith("COVER")
            for point in line.vertices_in_wcs()
        ]
    )
    flat = [(-p.y, p.x) for p in rosette.flattening(0.001)]
    assert shapely.hausdorff_distance(bed, shapely.LinearRing(flat), densify=0.1) < 0.03
