"""A design that takes its outline from a drawing: read, turned by dials, saved, exported.

The holder is a design with one outline in it, so that what is tested is the way of the drawing
through the house and not what a part makes of it.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.cli import main
from carve.design import Design, load, parse, rewrite, with_values
from carve.design.io import toml_file as design_file
from carve.design.schema.outline import OutlineFile
from carve.design.schema.table import Table
from carve.errors import DesignError
from carve.export import export
from carve.lab.app import Lab
from carve.parts.job import Job, make
from carve.shape.outlines.placed import placed

ROOT = Path(__file__).parents[2]
OUTLINES = ROOT / "examples" / "outlines"
WREN = (ROOT / "examples" / "wren.toml").read_text(encoding="utf-8")


class Holder(Table):
    """A part that has an outline."""

    outline: OutlineFile


class Held(Design):
    """A design with such a part."""

    holder: Holder | None = None


@pytest.fixture(autouse=True)
def _holding(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("carve.design.io.parse.Design", Held)


DRAWN = """
[holder.outline] # the bird
file = "drawings/dotterel.svg"
layer = "body" # the rim
centre_layer = "centre line"
length = 432
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    (folder / "drawings").mkdir(parents=True)
    data = (OUTLINES / "dotterel.svg").read_bytes()
    (folder / "drawings" / "dotterel.svg").write_bytes(data)
    path = folder / "dotterel.toml"
    path.write_text(WREN + DRAWN, encoding="utf-8")
    return path


def outline(design: Any) -> OutlineFile:
    found: OutlineFile = design.holder.outline
    return found


def test_the_drawing_is_part_of_the_design_and_the_disk_is_not_asked_again(file: Path) -> None:
    design = load(file)
    before = placed(outline(design), "body")
    (file.parent / "drawings" / "dotterel.svg").unlink()
    turned = with_values(design, {"neck.stations[0].thickness": 21.5})
    assert outline(turned) == outline(design)
    assert hash(outline(turned)) == hash(outline(design))
    assert placed(outline(turned), "body") == before


def test_another_drawing_of_the_same_name_is_another_design(file: Path) -> None:
    before = load(file)
    drawing = file.parent / "drawings" / "dotterel.svg"
    drawing.write_bytes(drawing.read_bytes() + b"<!-- redrawn -->\n")
    assert outline(load(file)) != outline(before)


def test_an_outlines_own_keys_turn_like_any_other(file: Path) -> None:
    turned = with_values(load(file), {"holder.outline.gap": 0.5})
    assert outline(turned).gap == 0.5
    with pytest.raises(DesignError, match=r'^holder\.outline\.layer: no layer "rim"'):
        with_values(turned, {"holder.outline.layer": "rim"})


def test_saving_keeps_the_name_and_every_comment(file: Path) -> None:
    design = with_values(load(file), {"holder.outline.length": 432.5})
    text = rewrite(file.read_text(encoding="utf-8"), design)
    assert 'file = "drawings/dotterel.svg"\nlayer = "body" # the rim' in text
    file.write_text(text, encoding="utf-8")
    assert load(file) == design


def test_a_text_without_a_folder_says_so() -> None:
    with pytest.raises(DesignError) as caught:
        parse(WREN + DRAWN)
    assert caught.value.problems == (
        'holder.outline.file: "drawings/dotterel.svg" cannot be looked up: this design comes '
        "from no file, so there is no folder to look in",
    )


def test_an_export_carries_the_drawing_and_can_be_read_again(file: Path, tmp_path: Path) -> None:
    design = load(file)
    text = file.read_text(encoding="utf-8")
    out = tmp_path / "cut"
    job = make(design, 0.2)
    export(job, out, (file.name, text), findings=inspect(job), allow_failed=True)
    kept = out / "dotterel-drawing-dotterel.svg"
    assert kept.read_bytes() == (file.parent / "drawings" / "dotterel.svg").read_bytes()
    listed = json.loads((out / "dotterel-manifest.json").read_text(encoding="utf-8"))["drawings"]
    assert [entry["file"] for entry in listed] == [kept.name]
    again = load(out / "dotterel-as-exported.toml")
    assert outline(again).file.name == kept.name  # type: ignore[union-attr]
    assert placed(outline(again), "body") == placed(outline(design), "body")
    # and it differs in nothing else, comments neither
    exported = (out / "dotterel-as-exported.toml").read_text(encoding="utf-8")
    assert exported == text.replace("drawings/dotterel.svg", kept.name)


def test_what_was_closed_and_how_long_it_is_are_findings(file: Path) -> None:
    findings = {f.check: f for f in inspect(make(load(file), 0.2)) if f.part == "holder"}
    length, gaps = findings["drawing's length"], findings["gaps closed in the drawing"]
    assert length.value == pytest.approx(432, abs=0.01)
    assert (gaps.verdict, gaps.value) == (Verdict.GOOD, 0.0)
    # the same body drawn as loose lines, one end 0.06 mm short of the next
    (file.parent / "drawings" / "dotterel.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" viewBox="0 0 900 900"><g id="body">'
        '<path d="M 100 50 H 300 V 482"/><path d="M 300 482 H 100 V 50.06"/></g>'
        '<g id="centre line"><path d="M 200 0 V 500"/></g></svg>'
    )
    findings = {f.check: f for f in inspect(make(load(file), 0.2)) if f.part == "holder"}
    gap = findings["gaps closed in the drawing"]
    assert (gap.verdict, gap.value) == (Verdict.WARNING, pytest.approx(0.06))
    assert gap.place == "x 100 mm, y 50.03 mm"


def test_the_command_line_reads_the_drawing_beside_the_file(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["check", str(file), "--chord-error", "0.2 mm"])
    assert "drawing's length" in capsys.readouterr().out
    out = tmp_path / "cut"
    main(["export", str(file), "--to", str(out), "--even-so", "--chord-error", "0.2 mm"])
    assert (out / "dotterel-drawing-dotterel.svg").exists()
    capsys.readouterr()
    (file.parent / "drawings" / "dotterel.svg").write_bytes(b"scribble")
    assert main(["check", str(file)]) == 2
    assert capsys.readouterr().err == (
        'holder.outline.file: "drawings/dotterel.svg" is neither SVG nor DXF\n'
    )


def test_the_lab_opens_saves_and_exports_it(file: Path) -> None:
    lab = Lab(file)
    assert isinstance(outline(lab.design), OutlineFile)
    lab._on_dial("neck.stations[0].thickness", 21.5)
    lab._ask_save()
    assert "drawings/dotterel.svg" in file.read_text(encoding="utf-8")
    assert load(file) == lab.design
    lab._form.box.children[5].value = True  # even if a finding fails
    lab._ask_export()
    assert (file.parent / "cut" / "dotterel-drawing-dotterel.svg").exists()


def test_a_design_without_a_drawing_is_exported_as_it_stands(tmp_path: Path) -> None:
    job: Job = make(parse(WREN), 0.2)
    export(job, tmp_path, ("wren.toml", WREN), allow_failed=True)
    assert (tmp_path / "wren-as-exported.toml").read_text(encoding="utf-8") == WREN
    manifest = json.loads((tmp_path / "wren-manifest.json").read_text(encoding="utf-8"))
    assert manifest["drawings"] == []


def _told(toml: str, folder: Path | None = OUTLINES) -> tuple[str, ...]:
    with pytest.raises(DesignError) as caught:
        parse(f"{WREN}\n[holder.outline]\n{toml}", folder=folder)
    return caught.value.problems


RIGHT = 'file = "dotterel.svg"\nlayer = "body"\ncentre_layer = "centre line"\nlength = 432\n'
CORNERS = "points = [[0, 0], [90, 0], [0, 90]]"


@pytest.mark.parametrize(
    ("toml", "said"),
    [
        ("", "holder.outline: missing; give `file`"),
        (
            'file = "none.svg"',
            '.file: the drawing "none.svg" cannot be read: no such file or directory',
        ),
        ('file = "."', '.file: the drawing "." cannot be read: it is a folder'),
        ('file = "/dev/null"', "it is a device, and only files are read"),
        ('file = "a\\u0000b"', "no file has such a name"),
        ("file = 7", ".file: 7 is not the name of a file"),
        ('file = "draw.py"', '.file: "draw.py" is neither SVG nor DXF'),
        (RIGHT.replace("length = 432", ""), ".length: missing; measure the outline"),
        (RIGHT + "centre_at = 5", ".centre_layer: give either"),
        (RIGHT + "smooth = true", ".smooth: is for `points`"),
        (RIGHT + CORNERS, ".points: the outline comes from"),
        (RIGHT + 'unit = "in"', ".unit: "),
        (RIGHT + 'unit = "px"', '.unit: "px" is not allowed; of the drawing, mm or in'),
        (RIGHT + "gap = 30", ".gap: 30 mm is not allowed; from 0 mm to 2 mm"),
        (
            RIGHT + 'neck_toward = "north"',
            '.neck_toward: "north" is not allowed; where on the page',
        ),
        (RIGHT + "colour = 7", ".colour: unknown key"),
        (RIGHT.replace('"body"', '"bodies"'), '.layer: no layer "bodies" in the drawing'),
        (RIGHT.replace('"centre line"', '"body"'), ".centre_layer: layer"),
        (CORNERS + "\nlength = 5", ".length: is for a drawing"),
        ("points = [[0, 0], [90, 0]]", ".points: 2 points are not allowed"),
        ("points = [[0, 0], [90, 0], [9]]", ".points: point 3, [9], is not a pair"),
        ('points = [[0, 0], [90, 0], [9, "nine"]]', '.points: point 3: "nine" is not a length'),
        ("points = [[0, 0], [90, 0], [9, inf]]", ".points: point 3: inf is not a finite length"),
        ("points = [[0, 0], [90, 0], [9, 9e9]]", "within 1500 mm of the origin"),
        ("points = 5", ".points: 5 is not a list of points"),
    ],
)
def test_a_wrong_outline_is_told_in_one_sentence(toml: str, said: str) -> None:
    problems = _told(toml)
    assert len(problems) == 1
    assert said in problems[0]
    assert problems[0].startswith("holder.outline")
    assert len(problems[0]) < 300


def test_a_drawing_without_a_unit_must_be_told_one(tmp_path: Path) -> None:
    svg = '<svg viewBox="0 0 9 9"><g id="b"><path d="M0 0 H9 V8 Z"/></g></svg>'
    (tmp_path / "b.svg").write_text(svg)
    toml = 'file = "b.svg"\nlayer = "b"\ncentre_at = 3\nlength = "8 in"\n'
    (problem,) = _told(toml, tmp_path)
    assert problem == (
        'holder.outline.unit: missing; "b.svg" doesn\'t say what its numbers are: write "mm" '
        'or "in"'
    )
    told: Any = parse(f"{WREN}\n[holder.outline]\n{toml}unit = 'in'", folder=tmp_path)
    assert told.holder.outline.unit == "in"


def test_inches_in_the_design_mean_inches_in_its_points() -> None:
    # the holder's text alone, in a design of inches
    text = WREN.replace('units = "mm"', 'units = "mm"')
    corners = 'points = [["0 in", "-3 in"], ["12 in", 0], ["0 in", "3 in"]]'
    design: Any = parse(f"{text}\n[holder.outline]\n{corners}")
    assert design.holder.outline.points[1] == pytest.approx((304.8, 0))
    assert design_file.changed_keys(design, design) == []
