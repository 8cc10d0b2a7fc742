"""A map as a picture: each value in its colour, each line on its pixels. Read back by Pillow."""

import base64
import io
import re

import numpy as np
import pytest
from PIL import Image

from carve.render.colours import colour_table
from carve.render.map_picture import map_picture
from carve.shape.views.kit.drawing import Drawing, Line, PlanMap


def picture(svg):
    data = base64.b64decode(re.search(r"base64,([^\"]+)", svg)[1])
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGBA"))


def test_a_maps_pixels_are_its_values_with_the_treble_side_up():
    values = np.array([[2.0, 4.0, np.nan], [0.0, 9.0, 3.0]])
    over = Drawing("", "", (Line(np.array([[0.0, 0.0], [3.0, 2.0]])),))
    shown = picture(map_picture(PlanMap("wood", values, 0.5, 0.5, 1.0, 2.0, 4.0, over)))
    assert shown.shape == (2, 3, 4)
    thin, thick, beside = shown[1]
    hole, thicker, middle = shown[0]
    assert beside[3] == 0  # beside the part nothing is painted
    assert tuple(hole) == (255, 255, 255, 255)
    assert thin[0] > thin[2] + 50  # dark red
    assert np.array_equal(thick, thicker)  # beyond the scale's end all is one colour
    assert thin[:3].sum() < middle[:3].sum() < thick[:3].sum()


def test_the_lines_over_a_map_lie_on_its_pixels():
    values = np.ones((40, 100))
    over = Drawing("", "", (Line(np.array([[-50.0, -20.0], [50.0, 20.0]])),))
    svg = map_picture(PlanMap("wood", values, -49.5, -19.5, 1.0, 0.0, 2.0, over))
    assert re.search(r'<polyline points="0\.00,40\.00 100\.00,0\.00"', svg)


@pytest.mark.parametrize("colours", ["low to high", "hollow to round", "stripes"])
def test_each_value_has_the_colour_that_the_table_says(colours):
    values = np.random.default_rng(2).uniform(-1.0, 2.0, (30, 40))
    over = Drawing("", "", (Line(np.array([[0.0, 0.0], [3.0, 2.0]])),))
    shown = picture(map_picture(PlanMap("height", values, 0.0, 0.0, 1.0, -1.0, 2.0, over, colours)))
    table = colour_table(colours)
    share = (values[::-1] + 1.0) / 3.0  # the first row lies at the bottom
    assert np.array_equal(
        shown, table[np.minimum((share * len(table)).astype(int), len(table) - 1)]
    )
