"""The views of all parts together, measured as one would measure the paper."""

import json
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from carve.design import with_values
from carve.export.formats.svg import svg
from carve.parts.assembly import assembly_drawings, assembly_outlines, assembly_tables
from carve.render.screen_views import SCREEN_WIDTH, fitted_to_screen
from carve.shape.assembly.side_view import side_view


def on_layer(drawing, layer):
    return [line.points for line in drawing.lines if line.layer == layer]


def test_action_measured_off_the_drawing_is_the_action_asked(heron):
    """A ruler square to the neck, from the 12th fret's top to the string."""
    drawing = assembly_outlines(heron)["side-view"]
    (string,) = on_layer(drawing, "string")
    foot, top = on_layer(drawing, "frets")[11]
    up = (top - foot) / np.linalg.norm(top - foot)
    along = string[1] - string[0]
    # where the line through the fret meets the string
    t, _ = np.linalg.solve(np.stack([up, -along], axis=1), string[0] - top)
    assert t == pytest.approx(1.95, abs=1e-9)
    assert np.linalg.norm(top - foot) == pytest.approx(1.1)


def test_the_angle_between_string_plane_and_body_is_the_neck_angle(heron):
    drawing = assembly_outlines(heron)["side-view"]
    (plane,) = on_layer(drawing, "glue plane")
    run, rise = plane[1] - plane[0]
    # the body lies level in the drawing
    assert np.arctan2(rise, run) == pytest.approx(side_view(heron).angle, abs=1e-12)
    # and the plane passes the body's edge, at 0, in the neck's height
    at_edge = plane[0, 1] - plane[0, 0] * rise / run
    assert at_edge == pytest.approx(9.0, abs=1e-9)


def test_the_bridge_is_drawn_from_the_top_to_the_string(heron):
    drawing = assembly_outlines(heron)["side-view"]
    (bridge,) = on_layer(drawing, "bridge")
    (string,) = on_layer(drawing, "string")
    assert bridge[2] == pytest.approx(string[1], abs=1e-9)
    assert bridge[2, 1] - bridge[0, 1] == pytest.approx(25.0, abs=1e-9)
    assert bridge[0, 1] == pytest.approx(17.0)
    marks = sorted(float(mark[0, 1]) for mark in on_layer(drawing, "bridge range"))
    assert marks == pytest.approx([17.0 + 21.0, 17.0 + 29.0])


def test_strings_from_above_are_where_the_file_says(plover):
    drawing = assembly_outlines(plover)["strings-from-above"]
    strings = on_layer(drawing, "strings")
    assert len(strings) == 6
    # 0.13 in inside the bass edge of a nut 1.65 in wide; 52.5 mm apart at 25.5 in
    assert strings[0][0] == pytest.approx([0.0, (-1.65 / 2 + 0.13) * 25.4])
    assert strings[0][1] == pytest.approx([647.7, -26.25])
    assert strings[-1][1] == pytest.approx([647.7, 26.25])


@pytest.mark.parametrize("view", ["side-view", "strings-from-above"])
def test_on_a_screen_a_view_fits_and_its_bar_tells_the_scale(heron, view):
    drawing = assembly_outlines(heron)[view]
    root = ET.fromstring(fitted_to_screen(drawing))
    width = float(root.get("width").removesuffix("mm"))
    assert width <= SCREEN_WIDTH + 1e-6
    points = np.concatenate([line.points for line in drawing.lines])
    scale = (width - 8.0) / np.ptp(points[:, 0])
    assert f"drawn {round(scale, 4):g} : 1" in "".join(root.itertext())
    # at true scale the file for the shop is as long as the view
    shop = ET.fromstring(svg(drawing, "mm"))
    across = float(shop.get("width").removesuffix("mm"))
    assert across == pytest.approx(np.ptp(points[:, 0]) + 8.0, abs=0.01)


def test_close_views_are_small_and_hold_what_they_name(heron):
    nut, twelfth, bridge = assembly_drawings(heron)
    for view in (nut, twelfth, bridge):
        points = np.concatenate([line.points for line in view.lines])
        assert np.ptp(points[:, 0]) < 60
    assert len(on_layer(nut, "frets")) == 1
    assert "action 1.95 mm" in twelfth.note
    assert bridge.title == "bridge in its range"
    assert "25 mm high (21 to 29 mm)" in bridge.note


def test_without_a_body_the_neck_alone_is_drawn(heron):
    alone = with_values(heron, {"joint": None, "bridge": None})
    drawing = assembly_outlines(alone)["side-view"]
    assert on_layer(drawing, "bridge") == []
    assert len(on_layer(drawing, "frets")) == 20
    assert len(assembly_drawings(alone)) == 2


def test_nothing_is_drawn_of_what_the_design_does_not_say(design):
    assert assembly_outlines(design) == {}
    assert assembly_drawings(design) == ()
    assert assembly_tables(design) == {}


def test_the_radius_table_shows_what_the_cone_differs_from_the_radius_asked(plover, heron):
    rows = assembly_tables(plover)["radius"].rows
    by_place = {row[0]: [float(figure) for figure in row[1:]] for row in rows}
    assert by_place["nut"][1:4] == [9.5, 9.5, 0.0]
    assert by_place["fret 22"][1] == 14.0
    # the cone by hand: 1.4 in of strings at the nut, 52.5 mm = 2.06693 in at 25.5 in, so at
    # fret 22 (18.3443 in) 1.87977 in: 9.5 x 1.87977 / 1.4 = 12.7556 in
    assert by_place["fret 22"][2] == pytest.approx(12.7556, abs=2e-4)
    assert by_place["fret 22"][3] == pytest.approx(14.0 - 12.7556, abs=2e-4)
    followed = assembly_tables(heron)["radius"].rows
    assert {row[4] for row in followed} == {"0.000"}
    assert {float(row[5]) for row in followed} == {0.0}


def test_the_string_table_gives_the_marks_for_nut_and_bridge(heron):
    sheet = assembly_tables(heron)["strings"]
    rows = [[float(f) if f else None for f in row] for row in sheet.rows]
    nut = sheet.head.index("nut, from the bass edge (mm)")
    before = sheet.head.index("bridge, from the string before (mm)")
    assert rows[0][nut] == 3.6
    assert rows[-1][nut] == pytest.approx(1.6875 * 25.4 - 3.2, abs=1e-3)
    assert [row[before] for row in rows[1:]] == pytest.approx([52 / 5] * 5)


def test_everything_is_exported_with_the_parts(heron, tmp_path, request):
    pytest.importorskip("ezdxf")
    from carve.export import export
    from carve.parts.job import make

    source = request.config.rootpath / "examples" / "heron.toml"
    done = export(make(heron, 0.05), tmp_path, (source.name, source.read_text(encoding="utf-8")))
    names = {path.name for path in done.paths}
    assert {
        "heron-side-view.svg",
        "heron-side-view.dxf",
        "heron-strings-from-above.svg",
        "heron-strings.csv",
        "heron-radius.csv",
    } <= names
    listed = json.loads((tmp_path / "heron-manifest.json").read_text(encoding="utf-8"))
    assert "heron-side-view.svg" in {entry["file"] for entry in listed["together"]}
