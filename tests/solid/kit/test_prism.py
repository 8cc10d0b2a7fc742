"""Extruded solids against shapely's areas and trimesh's volumes."""

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from carve.solid.kit.drill import circle, drill
from carve.solid.kit.prism import end_slab, flat_skin, prism_across, prism_upright, solid_between
from carve.solid.mesh import Mesh, soundness

# a concave plan, counter-clockwise
PLAN = np.array([[0, 0], [40, 0], [40, 30], [25, 30], [25, 10], [15, 10], [15, 30], [0, 30]], float)
AREA = shapely.Polygon(PLAN).area


def loaded(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


@pytest.mark.parametrize(
    ("mesh", "bounds"),
    [
        (prism_across(PLAN, 4.0, "tool"), [[0, -4, 0], [40, 4, 30]]),
        (prism_upright(PLAN, -3.0, 5.0, "tool"), [[0, 0, -3], [40, 30, 5]]),
        (
            solid_between(8, flat_skin(PLAN, 5.0), flat_skin(PLAN, -3.0), ("tool",) * 3),
            [[0, 0, -3], [40, 30, 5]],
        ),
    ],
)
def test_a_prism_has_its_plans_area_times_its_height(mesh, bounds):
    assert soundness(mesh).sound
    assert loaded(mesh).is_watertight
    assert loaded(mesh).volume == pytest.approx(8 * AREA, rel=1e-12)
    assert loaded(mesh).bounds == pytest.approx(np.array(bounds), abs=1e-12)
    assert mesh.names == ("tool",)


def test_a_solid_between_two_faces_has_three_surfaces_of_the_right_areas():
    # a face that slopes 3 : 4 has 5 / 4 of its plan's area
    slope = flat_skin(PLAN, 0.75 * PLAN[:, 0])
    mesh = solid_between(8, slope, flat_skin(PLAN, -1.0), ("top", "back", "sides"))
    assert soundness(mesh).sound
    areas = {name: mesh.only(name).doubled_areas.sum() / 2 for name in mesh.names}
    assert areas["top"] == pytest.approx(1.25 * AREA)
    assert areas["back"] == pytest.approx(AREA)
    assert sum(areas.values()) == pytest.approx(loaded(mesh).area)


def test_a_slab_is_joined_to_what_it_lengthens():
    # a box from x = -10 to 0, open at x = 0, with three points across its back there
    far = [[-10, -5, 0], [-10, 5, 0], [-10, 5, -4], [-10, -5, -4]]
    near = [[0, -5, 0], [0, 5, 0], [0, -5, -4], [0, 0, -4], [0, 5, -4]]
    points = np.array([*far, *near], float)
    box = [(0, 4, 1), (4, 5, 1), (0, 1, 2), (0, 2, 3)]
    box += [(0, 3, 6), (0, 6, 4), (1, 5, 8), (1, 8, 2), (3, 2, 7), (3, 7, 6), (2, 8, 7)]
    rim = np.array([[20, -5], [20, 5]], float)
    slab = end_slab(np.array([6, 7, 8]), (4, 5), points, rim, np.array([-4.0, -6.0]))
    triangles = np.concatenate([np.array(box), slab.top, slab.back, slab.sides])
    every = np.concatenate([points, slab.points])
    mesh = Mesh(every, triangles, np.zeros(len(triangles), dtype=np.int64), ("all",))
    assert soundness(mesh).sound
    assert loaded(mesh).is_watertight
    assert loaded(mesh).bounds[:, 0] == pytest.approx([-10, 20])
    assert np.all(slab.points[2:, 2] == 0.0)


@given(
    radius=st.floats(0.5, 200), chord=st.floats(0.005, 0.3), first=st.sampled_from([0, 1 / 3, 0.5])
)
def test_a_circle_stays_within_its_chord_error(radius, chord, first):
    corners, error = circle(radius, chord, first)
    assert np.hypot(*corners.T) == pytest.approx(radius)
    assert error <= chord
    # shapely: the nearest place of the polygon to its centre is the middle of a side
    inner = shapely.LinearRing(corners).distance(shapely.Point(0, 0))
    assert radius - inner == pytest.approx(error, rel=1e-6, abs=1e-9 * radius)
    assert shapely.LinearRing(corners).is_ccw


@pytest.mark.parametrize("lean", [0.0, 0.2])
def test_a_drill_is_a_cylinder_about_its_axis(lean):
    at = np.array([12.0, -7.0, 3.0])
    mesh, error = drill(at, 4.0, -20.0, 2.0, 0.001, "hole", lean)
    axis = np.array([-np.sin(lean), 0.0, np.cos(lean)])
    along = (mesh.points - at) @ axis
    assert np.unique(along.round(9)) == pytest.approx([-20.0, 2.0])
    away = np.linalg.norm(mesh.points - at - along[:, None] * axis, axis=1)
    assert away == pytest.approx(4.0)
    # trimesh's own cylinder, of as many sides
    theirs = trimesh.creation.cylinder(4.0, 22.0, sections=len(mesh.points) // 2)
    assert loaded(mesh).volume == pytest.approx(theirs.volume, rel=1e-9)
    assert error <= 0.001
