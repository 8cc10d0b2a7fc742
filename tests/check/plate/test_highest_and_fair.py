"""What is told of a plate's highest point, and of what rises or falls on it unasked."""

import numpy as np
import pytest
from outlines import LOPSIDED

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load, with_values
from carve.parts.job import make
from carve.solid.body import TOP

CHORD = 0.05  # mm
UNASKED = "unasked highs and lows of the top"
HIGHEST = "highest point of the top"
PLAIN = {
    "body.pockets": [],
    "body.bores": [],
    "body.hollow": None,
    "body.back": None,
    "body.top.falloff": None,
    "body.top.recurve": 18.0,
    "body.top.recurve_depth": 1.0,
    "body.top.neck_plane": None,
}


@pytest.fixture(scope="module")
def dipper(request):
    return load(request.config.rootpath / "examples" / "dipper.toml")


def made(design, changes=None):
    job = make(with_values(design, changes or {}), CHORD, only=["body"])
    return job, {finding.check: finding for finding in inspect(job)}


def lopsided(middle):
    stations = [{"x": x, "height": z} for x, z in ((130.0, 12.0), (270.0, middle), (380.0, 11.5))]
    outline = {"points": [list(point) for point in LOPSIDED], "smooth": True}
    return {**PLAIN, "body.outline": outline, "body.top.stations": stations}


def test_the_examples_faces_are_as_high_as_asked_and_fair(dipper):
    _, found = made(dipper)
    for face, height in (("top", 16.0), ("back", 14.0)):
        highest = found[f"highest point of the {face}"]
        assert highest.verdict is Verdict.GOOD
        assert highest.target == height
        assert highest.value == pytest.approx(height, abs=0.002)
        unasked = found[f"unasked highs and lows of the {face}"]
        assert unasked.verdict is Verdict.GOOD
        assert unasked.value < 0.002
        assert unasked.place == "everywhere" or unasked.point is not None


def test_a_crown_beside_the_centre_line_is_told_with_its_place(dipper):
    """Against the highest corner of the mesh, which lies on the surface."""
    job, found = made(dipper, lopsided(15.0))
    finding = found[HIGHEST]
    assert finding.id == "body.highest-point:top"
    assert finding.verdict is Verdict.WARNING
    assert finding.target == 15.0
    corners = job.parts[0].mesh.only(TOP).points
    highest = corners[np.argmax(corners[:, 2])]
    assert finding.value == pytest.approx(highest[2], abs=CHORD)
    assert finding.value >= highest[2] - 1e-4
    assert finding.point[:2] == pytest.approx(highest[:2], abs=15)
    assert "to the treble side" in finding.place
    assert "15 mm" in finding.advice
    assert "body.top.templates" in finding.advice
    _, wider = made(dipper, {**lopsided(15.0), "limits.arch_highest": 0.4})
    assert wider[HIGHEST].verdict is Verdict.GOOD
    assert wider[HIGHEST].advice == ""


def test_a_template_says_what_the_arch_is_beside_the_centre_line(dipper):
    """The advice of the finding, followed."""
    changes = lopsided(15.0)
    changes["body.top.templates"] = [{"x": 235.0, "heights": [[40.0, 12.5], [-40.0, 10.5]]}]
    _, found = made(dipper, changes)
    assert found[HIGHEST].verdict is Verdict.GOOD


def test_a_groove_that_the_stations_make_is_warned_of(dipper):
    stations = [{"x": x, "height": z} for x, z in ((278.0, 16.0), (400.0, 2.0))]
    _, found = made(dipper, {**PLAIN, "body.top.stations": stations})
    finding = found[UNASKED]
    assert finding.id == "body.fairness:top"
    assert finding.verdict is Verdict.WARNING
    assert finding.detail == "a hollow in the section across the body"
    assert "body.top.stations" in finding.advice
    assert "on the centre line" in finding.place
    _, wider = made(dipper, {**PLAIN, "body.top.stations": stations, "limits.arch_fair": 0.5})
    assert wider[UNASKED].verdict is Verdict.GOOD


def test_contours_that_no_place_is_far_enough_inside_for_are_told(dipper):
    changes = {
        **PLAIN,
        "body.top.recurve": None,
        "body.top.recurve_depth": None,
        "body.top.stations": [],
        "body.top.contours": [[20.0, 0.0], [230.0, 16.0]],
    }
    _, found = made(dipper, changes)
    assert UNASKED not in found
    assert found[HIGHEST].verdict is Verdict.WARNING
    assert found[HIGHEST].value < 15.0
    assert "body.top.contours" in found[HIGHEST].advice
