"""What the checks say of a carved body, against what was asked and what trimesh measures."""

import numpy as np
import pytest
import shapely
import trimesh

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load, with_values
from carve.parts.job import make
from carve.shape.assembly.side_view import side_view
from carve.solid.body import TOP

CHORD = 0.08


@pytest.fixture(scope="module")
def brambling(request):
    return load(request.config.rootpath / "examples" / "brambling.toml")


@pytest.fixture(scope="module")
def found(brambling):
    return by_name(brambling)


def by_name(design, changes=None, chord=CHORD):
    job = make(with_values(design, changes or {}), chord)
    return {finding.check: finding for finding in inspect(job)}


def test_the_example_fails_nothing(found):
    assert [f.check for f in found.values() if f.verdict is not Verdict.GOOD] == []


def test_each_station_is_read_on_the_mesh(found):
    for number, height in ((1, 12.0), (2, 14.5), (3, 11.5)):
        finding = found[f"top's arch at station {number}"]
        assert finding.target == height
        assert finding.value == pytest.approx(height, abs=0.01)


def test_templates_are_read_on_the_mesh(brambling):
    template = {"x": 300.0, "heights": [[-80.0, 7.0], [60.0, 9.0]]}
    changes = {"body.top.templates": [template], "body.top.falloff": None}
    finding = by_name(brambling, changes)["top's arch at template 1"]
    assert finding.verdict is Verdict.GOOD
    assert finding.value == pytest.approx(finding.target, abs=0.01)


def test_the_falloff_is_what_was_asked(found):
    assert found["falloff of the top"].value == pytest.approx(62.0, abs=0.1)


def test_the_neck_plane_is_flat_and_in_the_glue_plane(brambling, found):
    assert found["neck plane of the top flat"].value <= 0.02
    job = make(brambling, CHORD)
    side = side_view(job.design)
    points = job.parts[2].mesh.only(TOP).points
    on_it = (points[:, 0] > 78) & (points[:, 0] < 90) & (np.abs(points[:, 1]) < 26)
    assert on_it.sum() > 5
    glue = side.neck_height + np.tan(side.angle) * points[on_it, 0]
    assert points[on_it, 2] == pytest.approx(glue, abs=0.02)


def test_a_steep_arch_warns_and_a_tight_recurve_fails(brambling):
    steep = by_name(brambling, {"limits.steepest": 20.0})["steepest slope of the top"]
    assert steep.verdict is Verdict.WARNING
    assert "body.top" in steep.advice
    tight = by_name(brambling, {"limits.ball_radius": 6.0})["tightest hollow of the top"]
    assert tight.verdict is Verdict.FAILED
    assert "limits.ball_radius" in tight.advice


def test_slope_and_hollow_are_those_of_the_mesh(brambling):
    # the steepest facet of the exported top, by trimesh's normals
    changes = {"body.pockets": [], "body.bores": []}
    job = make(with_values(brambling, changes), 0.02, only=["body"])
    found = {finding.check: finding for finding in inspect(job)}
    skin = job.parts[0].mesh.only(TOP)
    faces = trimesh.Trimesh(skin.points, skin.triangles, process=False)
    steepest = np.degrees(np.arccos(faces.face_normals[:, 2])).max()
    assert found["steepest slope of the top"].value == pytest.approx(steepest, abs=1.5)


def test_a_bridge_height_that_the_arch_does_not_have_fails_with_both_figures(brambling):
    finding = by_name(brambling, {"bridge.top_height": 13.0})["arch under the bridge"]
    assert finding.verdict is Verdict.FAILED
    assert finding.value == pytest.approx(14.5, abs=0.01)
    assert finding.target == 13.0
    assert "14.5 mm" in finding.advice
    assert "13 mm" in finding.advice


def test_a_higher_arch_leans_the_neck_back_further(brambling):
    def angle(height):
        changes = {"body.top.stations[1].height": height}
        return side_view(make(with_values(brambling, changes), CHORD, only=["neck"]).design).angle

    assert angle(16.0) > angle(14.5) > angle(13.0)


def test_wood_over_a_cavity_counts_the_arch(brambling):
    """From a cavity's level ceiling to the mesh's top, by trimesh's own distance."""
    changes = {"body.pockets[3].depth": 40.0}
    job = make(with_values(brambling, changes), 0.02, only=["body"])
    found = {finding.check: finding for finding in inspect(job)}
    finding = found["wood over the pockets from the back"]
    shape = job.parts[0].shape
    (controls,) = [cut for cut in shape.cuts if cut.name == "controls"]
    x0, y0, x1, y1 = controls.polygon.bounds
    x, y = np.meshgrid(np.arange(x0, x1, 0.5), np.arange(y0, y1, 0.5))
    inside = shapely.contains_xy(controls.polygon, x.ravel(), y.ravel())
    ceiling = np.column_stack([x.ravel()[inside], y.ravel()[inside], np.full(inside.sum(), -2.0)])
    skin = job.parts[0].mesh.only(TOP)
    away = trimesh.proximity.closest_point(
        trimesh.Trimesh(skin.points, skin.triangles, process=False), ceiling[::7]
    )[1]
    assert finding.value == pytest.approx(away.min(), abs=0.12)
    assert finding.verdict is Verdict.FAILED


def test_the_least_of_the_map_is_told(brambling):
    finding = by_name(brambling, {"limits.carved_wood": 8.0})["wood left through the carved body"]
    assert finding.verdict is Verdict.FAILED
    assert finding.value == pytest.approx(6.5, abs=0.1)
    assert "1.5 mm more" in finding.advice
