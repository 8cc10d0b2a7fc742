"""The body in the lab: beside the neck where it will stand, and its maps."""

import numpy as np
import pytest

from carve.design import load
from carve.lab.job_views import JobViews
from carve.parts.job import make


@pytest.fixture(scope="module")
def job(request):
    return make(load(request.config.rootpath / "examples" / "linnet.toml"), 0.08)


def test_the_body_is_shown_where_it_stands_under_the_neck(job):
    shown = {layer.name: layer for layer in JobViews().layers(job)}
    body = shown["body"].points
    # its edge is at the 16th fret, its top 4 mm under the glue face
    assert body[:, 2].max() == pytest.approx(-4.0)
    edge = body[np.abs(body[:, 1]) < 1.0, 0].min()
    assert edge == pytest.approx(647.7 * (1 - 2 ** (-16 / 12)), abs=0.5)
    assert len({layer.colour for layer in shown.values() if layer.values is None}) == 4


def test_views_and_map_of_the_body_are_drawn(job):
    page = "".join(JobViews().drawings(job).values())
    for words in (
        "Linnet, body",
        "cut along the centre line",
        "wood left, mm",
        "carve-map",
        "least 6 mm",
    ):
        assert words in page
