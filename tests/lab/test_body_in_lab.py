"""The body in the lab: beside the neck where it will stand, and its map of wood left."""

import base64
import io
import re

import numpy as np
import pytest
from PIL import Image

from carve.design import load
from carve.lab.lab import drawn, layers
from carve.parts.job import make
from carve.render.map_picture import map_picture
from carve.shape.views.kit.drawing import Drawing, Line, PlanMap


@pytest.fixture(scope="module")
def job(request):
    return make(load(request.config.rootpath / "examples" / "linnet.toml"), 0.08)


def test_the_body_is_shown_where_it_stands_under_the_neck(job):
    shown = {layer.name: layer for part in job.parts for layer in layers(job, part)}
    body = shown["body"].points
    # its edge is at the 16th fret, its top 4 mm under the glue face
    assert body[:, 2].max() == pytest.approx(-4.0)
    edge = body[np.abs(body[:, 1]) < 1.0, 0].min()
    assert edge == pytest.approx(647.7 * (1 - 2 ** (-16 / 12)), abs=0.5)
    assert len({layer.colour for layer in shown.values() if layer.values is None}) == 3


def test_views_and_map_of_the_body_are_drawn(job):
    page = drawn(job)
    for words in (
        "Linnet, body",
        "cut along the centre line",
        "wood left, mm",
        "carve-map",
        "least 6 mm",
    ):
        assert words in page


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
