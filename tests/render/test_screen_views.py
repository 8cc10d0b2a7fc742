"""Drawings on a screen, read back as XML (Python's own reader) and measured."""

import xml.etree.ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from carve.render.screen_views import fitted_to_screen, overlay, row_of_drawings
from carve.render.svg_elements import number_pairs
from carve.shape.views.kit.drawing import Circle, Drawing, Line

SPACE = "{http://www.w3.org/2000/svg}"
SQUARE = np.array([[-10.0, -5.0], [10.0, -5.0], [10.0, 5.0], [-10.0, 5.0]])


def drawing(size=1.0):
    return Drawing(
        "a < b", "20 mm", (Line(SQUARE * size, closed=True),), circles=(Circle(0, 0, 2),)
    )


def corners(text):
    return np.array([[float(number) for number in pair.split(",")] for pair in text.split()])


@given(arrays(np.float64, (5, 2), elements=st.floats(-1e5, 1e5)), st.sampled_from([2, 3]))
def test_points_are_written_as_one_by_one(points, digits):
    one_by_one = " ".join(f"{x:.{digits}f},{y:.{digits}f}" for x, y in points)
    assert number_pairs(points, digits) == one_by_one


def test_drawings_in_a_row_have_one_scale_and_do_not_meet():
    root = ET.fromstring(row_of_drawings([drawing(), drawing(2.0)], 1.6))
    first, second = (corners(one.get("points")) for one in root.iter(f"{SPACE}polygon"))
    assert np.ptp(first, axis=0) == pytest.approx([20, 10])
    assert np.ptp(second, axis=0) == pytest.approx([40, 20])
    assert first[:, 0].max() < second[:, 0].min()
    width, box = float(root.get("width").removesuffix("mm")), root.get("viewBox").split()
    assert width == pytest.approx(1.6 * float(box[2]), abs=1e-3)
    said = [element.text for element in root.iter(f"{SPACE}text")]
    assert said.count("a < b") == 2
    assert "10 mm, drawn 1.6 : 1" in said


@pytest.mark.parametrize(("size", "scale"), [(1.0, 1.0), (40.0, 92.0 / 800)])
def test_a_large_drawing_is_made_smaller_and_a_small_one_never_larger(size, scale):
    root = ET.fromstring(fitted_to_screen(drawing(size), 100.0))
    (outline,) = root.iter(f"{SPACE}polygon")
    assert np.ptp(corners(outline.get("points")), axis=0) == pytest.approx(
        np.array([20, 10]) * size * scale, abs=2e-3
    )
    (hole,) = root.iter(f"{SPACE}circle")
    assert float(hole.get("r")) == pytest.approx(2 * scale, abs=1e-3)


def test_lines_over_a_picture_lie_where_they_are_placed():
    found = overlay(drawing(), lambda points: points * [2.0, -2.0] + [30.0, 15.0])
    root = ET.fromstring(f"<g>{found}</g>")
    line, hole = root.find("polygon"), root.find("circle")
    assert np.ptp(corners(line.get("points")), axis=0) == pytest.approx([40, 20])
    assert [float(hole.get(key)) for key in ("cx", "cy", "r")] == pytest.approx([30, 15, 4])
    assert line.get("fill") == hole.get("fill") == "none"
