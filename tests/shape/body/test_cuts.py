"""Pockets seen from above: sizes, places, corners; bores where they enter the wood."""

import math

import numpy as np
import pytest
import shapely

from carve.design.schema.body import BodyOutline, Bore, Pocket
from carve.shape.body.cuts import bore_in
from carve.shape.body.pocket_plans import PocketOnBody, pocket_plans

FINE = 1e-4  # mm


def pocket(**keys):
    whole = {"name": "p", "depth": 10.0, **keys}
    return Pocket.model_validate(whole, context={"unit": "mm"})


def pocket_plan(asked):
    block = BodyOutline(points=[(0.0, -50.0), (100.0, -50.0), (100.0, 50.0), (0.0, 50.0)])
    (plan,) = pocket_plans(PocketOnBody(asked, "body.pockets[0]", block, BODY))
    return plan


def ground(**keys):
    return shapely.Polygon(pocket_plan(pocket(**keys)).points(FINE))


def test_a_rectangle_with_round_corners_has_its_area_and_its_sizes():
    # l w - (4 - pi) r^2, any handbook
    found = ground(shape="rectangle", x=50.0, y=-20.0, length=40.0, width=25.0, corner_radius=5.0)
    assert found.area == pytest.approx(40 * 25 - (4 - math.pi) * 25, rel=1e-5)
    assert found.bounds == pytest.approx((30, -32.5, 70, -7.5), abs=1e-3)
    # and is what shapely makes of the smaller rectangle grown by the radius
    grown = shapely.box(35, -27.5, 65, -12.5).buffer(5, quad_segs=256)
    assert found.symmetric_difference(grown).area < 0.01


def test_a_slot_has_round_ends():
    found = ground(shape="slot", length=40.0, width=10.0)
    assert found.area == pytest.approx(30 * 10 + math.pi * 25, rel=1e-5)
    grown = shapely.LineString([(-15, 0), (15, 0)]).buffer(5, quad_segs=256)
    assert found.symmetric_difference(grown).area < 0.01


def test_a_circle_is_round():
    plan = pocket_plan(pocket(shape="circle", x=3.0, y=4.0, diameter=25.0))
    assert plan.circle == pytest.approx((3, 4, 12.5))
    away = np.linalg.norm(plan.points(0.01) - [3, 4], axis=1)
    assert away == pytest.approx(np.full(len(away), 12.5))
    assert shapely.Polygon(plan.points(FINE)).area == pytest.approx(math.pi * 12.5**2, rel=1e-4)


@pytest.mark.parametrize("shape", ["rectangle", "slot"])
def test_turned_its_length_goes_from_the_centre_line_toward_the_treble_side(shape):
    found = ground(shape=shape, length=40.0, width=10.0, angle=90.0, x=7.0)
    assert found.bounds == pytest.approx((2, -20, 12, 20), abs=1e-3)
    leaning = ground(shape=shape, length=40.0, width=10.0, angle=30.0)
    ends = np.asarray(leaning.exterior.coords)
    assert ends[np.argmax(ends[:, 0]), 1] > 0  # what was ahead has gone to the treble side


def test_a_polygons_outward_corners_are_round_and_its_inward_ones_sharp():
    # an L of 60 by 60, its arms 30 wide: five corners outward, one inward
    corners = [[0, 0], [60, 0], [60, 30], [30, 30], [30, 60], [0, 60]]
    for order in (corners, corners[::-1]):
        found = ground(shape="polygon", points=order, corner_radius=8.0, x=5.0, y=1.0)
        assert found.area == pytest.approx(2700 - 5 * (1 - math.pi / 4) * 64, rel=1e-5)
        assert found.exterior.distance(shapely.Point(35, 31)) < 1e-9


@pytest.mark.parametrize("chord_error", [0.3, 0.05, 0.01, 0.001])
def test_arcs_are_as_near_as_asked(chord_error):
    plan = pocket_plan(pocket(shape="rectangle", length=60.0, width=40.0, corner_radius=12.0))
    assert plan.error(chord_error) <= chord_error
    coarse = shapely.LinearRing(plan.points(chord_error))
    found = shapely.distance(coarse, shapely.points(plan.points(1e-5))).max()
    assert found == pytest.approx(plan.error(chord_error), rel=0.05, abs=2e-5)


BODY = shapely.box(0, -100, 300, 100)


def bore(**keys):
    whole = {"name": "b", "diameter": 20.0, "depth": 50.0, "below": 20.0, **keys}
    return bore_in(Bore.model_validate(whole, context={"unit": "mm"}), "body.bores[0]", BODY)


def test_a_bore_counts_its_depth_from_where_its_axis_enters_the_wood():
    found = bore(x=295.0, y=10.0, angle=180.0)
    assert found.start == pytest.approx([300, 10])
    assert found.along == pytest.approx([-1, 0])
    inside = found.polygon.intersection(BODY)
    assert inside.bounds == pytest.approx((250, 0, 300, 20))
    slanted = bore(x=300.0, y=0.0, angle=135.0)
    assert slanted.polygon.intersection(BODY).covers(shapely.Point(299.9, 0))
    # its mouth is open over its whole width: what stands out is longer than the slant is
    assert slanted.polygon.difference(BODY).bounds[2] > 300 + 10


def test_the_nearest_of_several_edges_is_the_one_that_is_bored_into():
    horned = BODY.difference(shapely.box(100, -100, 160, 0))
    whole = {"name": "b", "diameter": 6.0, "depth": 20.0, "below": 20.0, "y": -50.0, "angle": 0.0}
    for x, entry in ((60.0, 0.0), (150.0, 160.0), (-10.0, 0.0)):
        one = Bore.model_validate({**whole, "x": x}, context={"unit": "mm"})
        assert bore_in(one, "b", horned).start == pytest.approx([entry, -50])


def test_a_bores_level_sections_are_as_wide_as_a_cylinders():
    found = bore(x=300.0, y=0.0, angle=180.0)
    for up in (-9.0, 0.0, 6.0):
        section = found.level(-20.0 + up, found.polygon.intersection(BODY))
        assert section.area == pytest.approx(50 * 2 * math.sqrt(100 - up**2))
    assert found.level(-20.0 + 10.01, BODY) is None
