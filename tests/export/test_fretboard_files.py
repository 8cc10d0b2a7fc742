"""The fretboard's drawings and tables as files, read back by libraries that are not ours."""

import csv
import hashlib
import json
import re
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
import trimesh

from carve.design import read_text, with_values
from carve.export import export
from carve.export.formats.dxf import dxf
from carve.export.formats.svg import svg
from carve.parts.job import make
from carve.shape.views.kit.drawing import Circle, Drawing, Line

SVG = "{http://www.w3.org/2000/svg}"
EQUAL = 1 - 2 ** (-np.arange(1, 23) / 12)  # published formula, any acoustics text


@pytest.fixture
def folder(design, example, tmp_path):
    changed = with_values(design, {"fretboard.binding": {"thickness": 1.5}})
    export(make(changed), tmp_path, (example.name, read_text(example)))
    return tmp_path


@pytest.fixture
def document(folder):
    return ezdxf.readfile(folder / "wren-fretboard-from-above.dxf")


def on_layer(document, name):
    return list(document.modelspace().query(f'*[layer=="{name}"]'))


def test_the_dxf_is_r2010_in_millimetres_and_sound(document):
    # R2010 is AC1024 and $INSUNITS 4 is mm (Autodesk's DXF reference)
    assert document.dxfversion == "AC1024"
    assert document.header["$INSUNITS"] == 4
    assert document.header["$MEASUREMENT"] == 1
    assert not document.audit().errors


def test_each_meaning_has_its_layer_in_the_trades_words(document):
    used = {entity.dxf.layer for entity in document.modelspace()}
    assert used == {
        *("BOARD OUTLINE", "BINDING OUTLINE", "FRET SLOTS", "FRET LINES", "MARKERS"),
        "CENTRE LINE",
    }
    assert used <= {layer.dxf.name for layer in document.layers}


def test_the_dxf_holds_the_board_at_true_scale(document, design):
    (outline,) = on_layer(document, "BOARD OUTLINE")
    assert outline.closed
    corners = np.array(outline.get_points("xy"))
    end = design.scale_length * EQUAL[-1] + 10.0
    assert np.unique(np.round(corners[:, 0], 6)) == pytest.approx([0.0, end])
    (finished,) = on_layer(document, "BINDING OUTLINE")
    at_nut = np.array(finished.get_points("xy"))[[0, 3], 1]
    assert np.ptp(at_nut) == pytest.approx(1.6875 * 25.4)  # 1 11/16 in, binding and all


def test_slots_and_lines_in_the_dxf_are_where_the_frets_are(document, design):
    exact = design.scale_length * EQUAL
    slots = np.array([e.get_points("xy") for e in on_layer(document, "FRET SLOTS")])
    assert all(e.closed for e in on_layer(document, "FRET SLOTS"))
    assert np.sort(slots[:, :, 0].mean(axis=1)) == pytest.approx(exact)
    assert np.ptp(slots[:, :, 0], axis=1) == pytest.approx(0.58)
    lines = np.array([e.get_points("xy") for e in on_layer(document, "FRET LINES")])
    assert lines[:, 0, 0] == pytest.approx(exact)
    assert lines[:, 1, 0] == pytest.approx(exact)


def test_markers_are_circles_half_way_and_double_at_the_12th(document, design):
    circles = on_layer(document, "MARKERS")
    assert {entity.dxftype() for entity in circles} == {"CIRCLE"}
    assert {entity.dxf.radius for entity in circles} == {3.0}
    places = np.r_[0.0, design.scale_length * EQUAL]
    middles = (places[1:] + places[:-1]) / 2
    expected = middles[[2, 4, 6, 8, 11, 11, 14, 16, 18, 20]]
    assert [entity.dxf.center.x for entity in circles] == pytest.approx(expected)
    double = sorted(e.dxf.center.y for e in circles if abs(e.dxf.center.y) > 1)
    assert double == pytest.approx([-11.0, 11.0])


def test_the_treble_side_is_up_and_the_nut_left_as_in_the_mesh(folder, document):
    # seen from the strings: x to the right and y up, the same numbers as in the STL
    mesh = trimesh.load_mesh(folder / "wren-fretboard.stl")
    (outline,) = on_layer(document, "BOARD OUTLINE")
    corners = np.array(outline.get_points("xy"))
    assert corners.min(axis=0) == pytest.approx(mesh.bounds[0][:2], abs=1e-4)
    assert corners.max(axis=0) == pytest.approx(mesh.bounds[1][:2], abs=1e-4)


def test_the_same_drawing_makes_the_same_bytes():
    drawing = Drawing(
        "a", "b", (Line(np.array([[0.0, 0.0], [1.0, 2.0]])),), circles=(Circle(0.0, 1.0, 2.0),)
    )
    assert dxf(drawing) == dxf(drawing)


def svg_of(folder):
    return ElementTree.parse(folder / "wren-fretboard-from-above.svg").getroot()


def test_the_svg_is_in_millimetres_and_its_bar_measures_what_it_says(folder):
    # CSS Values and Units: 1 in = 25.4 mm = 96 px
    root = svg_of(folder)
    left, top, width, height = map(float, root.get("viewBox").split())
    assert (left, top) == (0, 0)
    assert root.get("width") == f"{width:.3f}mm"
    assert root.get("height") == f"{height:.3f}mm"
    words = [text.text for text in root.iter(f"{SVG}text")]
    said = float(next(text for text in words if re.fullmatch(r"[\d.]+ mm", text or "")).split()[0])
    assert bar_in(root) == said == 100.0


def test_an_inch_designs_svg_has_a_bar_of_4_inches():
    drawing = Drawing("a", "b", (Line(np.array([[0.0, 0.0], [1.0, 2.0]])),))
    root = ElementTree.fromstring(svg(drawing, "in"))
    assert bar_in(root) == 101.6
    assert "4 in" in [text.text for text in root.iter(f"{SVG}text")]
    assert float(root.get("width").removesuffix("mm")) > 101.6


def bar_in(root):
    """Length of the longest line of the bar's own group."""
    (group,) = [group for group in root.iter(f"{SVG}g") if group.get("id") == "check-bar"]
    lines = [line.get("points").split() for line in group.iter(f"{SVG}polyline")]
    ends = [[float(point.split(",")[0]) for point in line] for line in lines]
    return round(max(b - a for a, b in ends), 3)


def test_the_svg_shows_what_the_dxf_holds_in_the_same_places(folder, document, design):
    root = svg_of(folder)
    groups = {group.get("id"): group for group in root.iter(f"{SVG}g")}
    # what is to be read and measured is no part of the DXF, where all is to be cut or cut by
    assert {name.upper().replace("-", " ") for name in groups} - {"WORDS", "CHECK BAR"} == {
        entity.dxf.layer for entity in document.modelspace()
    }
    (outline,) = groups["board-outline"]
    corners = np.array([point.split(",") for point in outline.get("points").split()], dtype=float)
    origin = corners[:, 0].min()
    lines = [line.get("points").split()[0].split(",")[0] for line in groups["fret-lines"]]
    places = np.array(lines, dtype=float) - origin
    assert places == pytest.approx(design.scale_length * EQUAL, abs=0.002)
    assert len(groups["markers"]) == 10
    width = float(root.get("viewBox").split()[2])
    assert corners.min() >= 0
    assert corners[:, 0].max() <= width


def test_the_fret_table_is_a_csv_of_the_formula(folder, design):
    with (folder / "wren-fretboard-frets.csv").open(newline="") as file:
        rows = list(csv.reader(file))
    from_nut = np.array([row[1] for row in rows[1:]], dtype=float)
    assert from_nut == pytest.approx(design.scale_length * EQUAL, abs=0.0051)
    assert rows[0][1].endswith("(mm)")


def test_the_manifest_names_every_file_beside_the_mesh(folder):
    manifest = json.loads((folder / "wren-manifest.json").read_text())
    (board,) = [part for part in manifest["parts"] if part["part"] == "fretboard"]
    names = {entry["file"] for entry in board["beside"]}
    assert names == {
        "wren-fretboard-from-above.dxf",
        "wren-fretboard-from-above.pdf",
        "wren-fretboard-from-above.svg",
        "wren-fretboard-frets.csv",
    }
    for entry in board["beside"]:
        content = (folder / entry["file"]).read_bytes()
        assert entry["sha256"] == hashlib.sha256(content).hexdigest()
        assert entry["bytes"] == len(content)


def test_a_fretless_board_has_no_fret_table_and_no_fret_layers(design, example, tmp_path):
    bare = {"fretboard.frets": 0, "fretboard.slots": None, "fretboard.markers": None}
    bare["fretboard.beyond_last_fret"] = 470.0
    job = make(with_values(design, bare))
    done = export(job, tmp_path, (example.name, read_text(example)), allow_failed=True)
    assert not [path for path in done.paths if path.name.endswith("frets.csv")]
    document = ezdxf.readfile(tmp_path / "wren-fretboard-from-above.dxf")
    used = {entity.dxf.layer for entity in document.modelspace()}
    assert used == {"BOARD OUTLINE", "CENTRE LINE"}
