"""Covers as shapes, held against shapely: outline, gap, volume, and where their screws stand."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from carve.design.schema.body import Pocket
from carve.errors import DesignError
from carve.parts.sentences.said import in_sentences
from carve.shape.body.build import pilot_holes
from carve.shape.body.cuts import Cut
from carve.shape.body.pocket_plans import PocketOnBody, pocket_plans
from carve.shape.cover.screws import cover_plans, screw_places
from carve.shape.cover.shape import cover_shape
from carve.shape.planar.inset import InsetPlan, inset_plan
from carve.shape.planar.rounded_polygon import RoundedPolygon

KEY = "body.pockets[0]"
THICK = 44.0  # mm, the body
CHORD = 0.01

SCREWS = {"diameter": 3.0, "pilot": 2.0, "pilot_depth": 10.0, "from_edge": 4.0}
L_SHAPE = [[0, 0], [90, 0], [90, 40], [45, 40], [45, 80], [0, 80]]


def recess(cover=None, **keys):
    plain = {"name": "controls cover", "kind": "cover recess", "depth": 2.5, "face": "back"}
    return Pocket.model_validate({**plain, **keys, "cover": cover or {"gap": 0.3}})


def plan_of(pocket):
    (plan,) = pocket_plans(PocketOnBody(pocket, KEY))
    return plan


def screws_of(pocket):
    plans = [plan_of(pocket)]
    (places,) = screw_places(pocket, KEY, plans, cover_plans(pocket, KEY, plans))
    return places


def cover_of(pocket):
    with in_sentences("mm"):
        return cover_shape(pocket, KEY, pocket.name, [plan_of(pocket)], 0, THICK)


def rectangle(**more):
    return {"shape": "rectangle", "x": 100.0, "y": 40.0, "length": 80.0, "width": 50.0, **more}


def ground(plan, chord=CHORD):
    return shapely.Polygon(plan.points(chord))


RECESSES = {
    "rectangle": rectangle(corner_radius=6.0),
    "sharp rectangle": rectangle(),
    "turned rectangle": rectangle(angle=33.0, corner_radius=4.0),
    "rectangle with corners less than the gap": rectangle(corner_radius=0.2),
    "circle": {"shape": "circle", "x": 10.0, "diameter": 60.0},
    "slot": {"shape": "slot", "x": 10.0, "angle": 20.0, "length": 90.0, "width": 30.0},
    "polygon": {"shape": "polygon", "points": L_SHAPE, "corner_radius": 8.0},
}


@pytest.mark.parametrize("name", RECESSES)
@pytest.mark.parametrize("gap", [0.1, 0.5, 2.0])
def test_the_cover_is_shapelys_buffer_of_its_recess(name, gap):
    pocket = recess({"gap": gap}, **RECESSES[name])
    ours = ground(cover_of(pocket).plan, 0.001)
    # shapely's own offset may leave out a hundredth of the distance (GEOS, buffer's simplifying)
    theirs = ground(plan_of(pocket), 0.001).buffer(-gap, quad_segs=256)
    assert shapely.hausdorff_distance(ours.exterior, theirs.exterior) < 0.003 + 0.01 * gap
    assert ours.area == pytest.approx(theirs.area, rel=2e-4)


@pytest.mark.parametrize("name", RECESSES)
def test_a_polygon_with_round_corners_gives_another_one_exactly(name):
    plan = plan_of(recess(**RECESSES[name]))
    inside = inset_plan(plan, 0.3)
    assert isinstance(inside, RoundedPolygon)
    assert len(inside.corners) == len(plan.corners)
    away = shapely.distance(
        shapely.LinearRing(plan.points(1e-5)), shapely.points(inside.points(1e-5))
    )
    assert np.abs(away - 0.3).max() < 2e-5


def test_a_circles_cover_is_a_circle_and_is_drilled_as_one():
    assert cover_of(recess(**RECESSES["circle"])).plan.circle == pytest.approx((10.0, 0.0, 29.7))


def test_where_a_side_does_not_survive_the_offset_is_shapelys():
    # a notch 1 mm deep, 3 mm wide at its mouth: its two short sides are gone 8 mm further in
    notched = [[0, 0], [80, 0], [80, 50], [42, 50], [40.5, 49], [39, 50], [0, 50]]
    plan = plan_of(recess(shape="polygon", points=notched))
    inside = inset_plan(plan, 8.0)
    assert isinstance(inside, InsetPlan)
    assert inside.error(CHORD) <= CHORD
    theirs = ground(plan, 0.001).buffer(-8.0, quad_segs=512)
    assert shapely.hausdorff_distance(ground(inside).exterior, theirs.exterior) < 0.1


@given(
    corners=st.lists(st.floats(18.0, 60.0), min_size=3, max_size=9),
    radius=st.floats(0.0, 4.0),
    gap=st.floats(0.05, 2.0),
    chord=st.sampled_from([0.005, 0.02, 0.08]),
)
def test_the_gap_is_nowhere_less_than_asked_on_any_polygon(corners, radius, gap, chord):
    turn = 2 * np.pi * np.arange(len(corners)) / len(corners)
    points = (np.array(corners)[:, None] * np.stack([np.cos(turn), np.sin(turn)], 1)).tolist()
    radius = radius if radius >= 0.2 else 0.0
    try:
        pocket = recess({"gap": gap}, shape="polygon", points=points, corner_radius=radius)
        shape = cover_of(pocket)
    except DesignError:
        assume(False)  # its round corners find no room
    outer = shapely.LinearRing(shape.recess.points(chord))
    plan = ground(shape.plan, chord)
    assert plan.is_valid
    assert gap <= 2 * chord or shapely.Polygon(outer).contains(plan)
    assert shapely.distance(outer, plan) >= gap - 2 * chord
    assert shape.plan.error(chord) <= chord + 1e-9
    # shapely's areas: the gap's strip is as large as its middle line is long
    strip = shapely.Polygon(outer).area - plan.area
    assert strip == pytest.approx(gap * (outer.length + plan.length) / 2, rel=0.1, abs=0.6)


@pytest.mark.parametrize("name", RECESSES)
@pytest.mark.parametrize("head", [None, 6.0])
def test_its_volume_is_area_times_thickness_less_its_holes(name, head):
    screws = {**SCREWS, "count": 5, **({"head": head} if head else {})}
    shape = cover_of(recess({"gap": 0.3, "screws": screws}, **RECESSES[name]))
    area = ground(shape.plan, 1e-4).area
    # a cone of 90 degrees from 3 mm across to 6 mm is 1.5 mm deep; its frustum by the textbook
    frustum = math.pi * 1.5 / 3 * (3.0**2 + 3.0 * 1.5 + 1.5**2)
    hole = math.pi * 1.5**2 * 2.5
    if head:
        hole = math.pi * 1.5**2 * 1.0 + frustum
    assert shape.volume() == pytest.approx(area * 2.5 - 5 * hole, rel=1e-5)


@pytest.mark.parametrize("face", ["front", "back"])
def test_left_out_its_thickness_brings_its_outside_to_the_edge_plane(face):
    shape = cover_of(recess(face=face, **rectangle()))
    assert shape.thickness == 2.5
    assert shape.outside == pytest.approx(0.0 if face == "front" else -THICK)
    thicker = cover_of(recess({"gap": 0.3, "thickness": 3.0}, face=face, **rectangle()))
    assert thicker.up * (thicker.outside - shape.outside) == pytest.approx(0.5)


def test_a_screw_stands_at_each_corner_as_far_from_both_sides():
    places = screws_of(recess({"gap": 0.3, "screws": SCREWS}, **rectangle()))
    wanted = [[100 + sx * (40 - 4.3), 40 + sy * (25 - 4.3)] for sx in (-1, 1) for sy in (-1, 1)]
    assert sorted(places.tolist()) == pytest.approx(np.array(sorted(wanted)))


@pytest.mark.parametrize("name", RECESSES)
@pytest.mark.parametrize("count", [None, 1, 4, 7])
def test_screws_stand_on_a_line_inside_the_covers_edge(name, count):
    pocket = recess({"gap": 0.3, "screws": {**SCREWS, "count": count}}, **RECESSES[name])
    if count is None and pocket.shape in ("circle", "slot"):
        return  # the rules ask for a count
    places = screws_of(pocket)
    wanted = count or {"polygon": 5}.get(name, 4)  # an L has five corners that point outward
    assert len(places) == wanted
    edge = ground(cover_of(pocket).plan, 0.001).exterior
    assert shapely.distance(edge, shapely.points(places)) == pytest.approx(4.0, abs=0.02)


def test_a_count_is_spread_evenly_beginning_at_the_neck():
    pocket = recess({"gap": 0.3, "screws": {**SCREWS, "count": 6}}, **RECESSES["circle"])
    places = screws_of(pocket)
    assert places[0] == pytest.approx([10 - (30 - 4.3), 0.0], abs=0.01)
    steps = np.hypot(*(places - np.roll(places, 1, axis=0)).T)
    assert steps == pytest.approx(25.7, abs=0.01)  # a hexagon's side is its circle's radius


def test_points_are_turned_and_moved_with_the_recess():
    screws = {key: value for key, value in SCREWS.items() if key != "from_edge"}
    screws["points"] = [[30, 0], [-30, 10]]
    pocket = recess({"gap": 0.3, "screws": screws}, **rectangle(angle=90.0))
    places = screws_of(pocket)
    assert places == pytest.approx(np.array([[100, 70], [90, 10]]))


@pytest.mark.parametrize("face", ["front", "back"])
def test_a_pilot_hole_goes_on_from_the_recesss_floor_under_each_screw(face):
    pocket = recess({"gap": 0.3, "screws": SCREWS}, face=face, **rectangle())
    ends = (-2.5, math.inf) if face == "front" else (-math.inf, 2.5 - THICK)
    cut = Cut(KEY, "controls cover", pocket.kind, face, plan_of(pocket), *ends)
    shape, holes = cover_of(pocket), list(pilot_holes(pocket, KEY, [cut]))
    assert [hole.name for hole in holes] == [f"controls cover screw {n}" for n in (1, 2, 3, 4)]
    for hole, screw in zip(holes, shape.screws, strict=True):
        assert hole.plan.circle == pytest.approx((screw.x, screw.y, 1.0))
        assert (hole.low, hole.high) == (
            (-12.5, math.inf) if face == "front" else (-math.inf, 12.5 - THICK)
        )


def sentence(pocket):
    with pytest.raises(DesignError) as wrong:
        cover_of(pocket)
    (problem,) = wrong.value.problems
    assert problem.startswith("body.pockets[0].cover.")
    return problem


def test_a_cover_that_comes_apart_is_told_in_one_sentence():
    # two squares joined by a bridge 3 mm wide
    dumbbell = [[0, 0], [30, 0], [30, 13.5], [50, 13.5], [50, 0], [80, 0], [80, 30], [50, 30],
                [50, 16.5], [30, 16.5], [30, 30], [0, 30]]  # fmt: skip
    said = sentence(recess({"gap": 1.6}, shape="polygon", points=dumbbell))
    assert "cover.gap: 1.6 mm is not allowed, 2 pieces are left" in said
    said = sentence(recess({"gap": 2.0}, shape="circle", diameter=3.9))
    assert "0 pieces are left" in said


def test_screws_without_room_are_told_in_one_sentence():
    said = sentence(recess({"gap": 0.3, "screws": {**SCREWS, "from_edge": 30.0}}, **rectangle()))
    assert "screws.from_edge: 30 mm is not allowed" in said
    said = sentence(recess({"gap": 0.3, "screws": {**SCREWS, "from_edge": 1.6}}, **rectangle()))
    assert "leaves 0.1 mm of the cover to its edge" in said
    said = sentence(recess({"gap": 0.3, "screws": {**SCREWS, "count": 40}}, **rectangle(width=20)))
    assert "of the cover between them" in said
    points = {key: value for key, value in SCREWS.items() if key != "from_edge"}
    points["points"] = [[0, 0], [0, 30]]
    said = sentence(recess({"gap": 0.3, "screws": points}, **rectangle()))
    assert "point 2, 0 mm and 30 mm, is not allowed; it lies beside the cover" in said
