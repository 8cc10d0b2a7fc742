"""How wide a wire's way is: by hand, against every way there is, and by a flood of the mesh."""

import math
from collections import Counter
from itertools import pairwise, permutations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from trials import wire_ways

from carve.errors import DesignError
from carve.shape.body.passages import Ways

FOUND = 0.02  # mm; two steps of the search
FLOODED = 4  # bodies; scripts/trials wires looks at more


def box(name, x, length, depth, *, y=0.0, width=60.0, face="front", **more):
    sizes = {"x": x, "y": y, "length": length, "width": width, "depth": depth}
    return {"name": name, "shape": "rectangle", "face": face, **sizes, **more}


def slot(name, x, length, width, depth, *, y=0.0, angle=0.0, face="front"):
    sizes = {"x": x, "y": y, "length": length, "width": width, "depth": depth, "angle": angle}
    return {"name": name, "shape": "slot", "face": face, **sizes}


def bore(diameter, below, depth=150.0, **more):
    place = {"x": 0.0, "y": 0.0, "angle": 0.0, **more}
    return {"name": "bore", "diameter": diameter, "below": below, "depth": depth, **place}


def width(shape, one="a", other="b"):
    names = [taken.name for taken in shape.removals]
    return Ways(shape).widest(names.index(one), (names.index(other),)).width


A, B = box("a", 60, 40, 30.0), box("b", 160, 40, 30.0)  # x 40 to 80 and 140 to 180


@pytest.mark.parametrize(
    ("wide", "deep", "expected"),
    [(8.0, 20.0, 8.0), (14.0, 9.0, 9.0), (6.0, 6.0, 6.0)],
)
def test_a_channel_is_as_wide_as_it_is_wide_and_deep(block, wide, deep, expected):
    shape = block(A, B, slot("way", 110, 90, wide, deep))
    assert width(shape) == pytest.approx(expected, abs=FOUND)


def test_pockets_side_by_side_open_by_the_window_that_they_share(block):
    shape = block(box("a", 60, 40, 30.0), box("b", 95, 40, 9.0, width=12.0))
    assert width(shape) == pytest.approx(9.0, abs=FOUND)
    shape = block(box("a", 60, 40, 30.0), box("b", 95, 40, 25.0, width=12.0))
    assert width(shape) == pytest.approx(12.0, abs=FOUND)


@pytest.mark.parametrize(("along", "high"), [(3.0, 4.0), (8.0, 6.0), (5.0, 1.0)])
def test_past_a_sill_a_way_is_as_wide_as_its_edges_are_apart(block, along, high):
    # a from the front, b from the back: their edges are `along` apart in plan and `high` in height
    back = 40.0 - 25.0 + high
    shape = block(box("a", 60, 40, 25.0), box("b", 100 - along, 40, back, face="back"))
    assert width(shape) == pytest.approx(math.hypot(along, high), abs=FOUND)


def test_a_bore_is_as_wide_as_it_is_and_beside_a_floor_as_its_chord(block):
    assert width(block(A, B, bores=[bore(7.0, 15.0)])) == pytest.approx(7.0, abs=FOUND)
    # by hand: 3 mm under the floor of a, a radius of 5 leaves 2 sqrt(25 - 9) = 8
    shallow = box("a", 60, 40, 15.0)
    assert width(block(shallow, B, bores=[bore(10.0, 18.0)])) == pytest.approx(8.0, abs=FOUND)


def test_bores_that_cross_at_one_height_let_the_thinner_ones_width_through(block):
    across = bore(6.0, 15.0, x=110.0, y=-100.0, angle=90.0, depth=120.0) | {"name": "across"}
    shape = block(A, B | {"y": 0.0}, bores=[bore(9.0, 15.0, depth=130.0), across])
    assert width(shape, "a", "across") == pytest.approx(6.0, abs=FOUND)


def test_a_chamber_carries_wires_and_a_neck_pocket_and_a_cover_recess_do_not(block):
    hollow = {"rim": 20.0, "top": 5.0, "back": 5.0}
    shape = block(A, B, hollow=hollow)
    assert width(shape) == pytest.approx(30.0, abs=0.1)  # of the chamber's height of 30
    for kind in ("neck", "cover recess"):
        link = box("link", 110, 90, 12.0, kind=kind)
        assert width(block(A, B, link)) == 0.0
    assert width(block(A, B, box("link", 110, 90, 12.0))) == pytest.approx(12.0, abs=FOUND)


def test_a_cover_takes_its_thickness_from_a_channel_under_it(block):
    a, b = (one | {"face": "back"} for one in (A, B))
    way = slot("way", 110, 90, 20.0, 8.0, face="back")
    assert width(block(a, b, way)) == pytest.approx(8.0, abs=FOUND)
    cover = box("cover", 110, 180, 2.5, width=80.0, face="back", kind="cover recess")
    assert width(block(a, b, way, cover)) == pytest.approx(5.5, abs=FOUND)


def test_where_there_is_no_way_the_least_wood_between_is_told(block):
    shape = block(A, B, box("half way", 105, 10, 20.0))  # x 100 to 110
    way = Ways(shape).widest(0, (1,))
    assert way.width == 0.0
    names = [(shape.removals[w.one].name, shape.removals[w.other].name) for w in way.between]
    assert [set(pair) for pair in names] == [{"a", "half way"}, {"b", "half way"}]
    assert [w.wood for w in way.between] == pytest.approx([20.0, 30.0])
    assert 110.0 < way.point[0] < 140.0  # in the thickest of it


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from([0.0, *np.arange(3.0, 10.0, 0.5)]), min_size=6, max_size=6))
def test_the_widest_way_is_the_best_of_all_ways_that_there_are(block, widths):
    # four round cavities, one in the midst of three, so that no two channels cross
    middle = np.array([150.0, 0.0])
    corners = [
        middle + 70 * np.array([math.cos(turn), math.sin(turn)])
        for turn in np.radians([90, 210, 330])
    ]
    places = [middle, *corners]
    ends = [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)]
    pockets = [
        {"name": str(n), "shape": "circle", "x": x, "y": y, "diameter": 50.0, "depth": 30.0}
        for n, (x, y) in enumerate(places)
    ]
    wide = np.zeros((4, 4))
    for number, ((one, other), across) in enumerate(zip(ends, widths, strict=True)):
        if not across:
            continue
        wide[one, other] = wide[other, one] = across
        along = places[other] - places[one]
        at = (places[one] + places[other]) / 2
        angle = math.degrees(math.atan2(along[1], along[0]))
        long = float(np.hypot(*along)) - 30.0
        pockets.append(slot(f"way {number}", at[0], long, across, 25.0, y=at[1], angle=angle))
    try:
        ways = Ways(block(*pockets))
    except DesignError:  # two channels leave a skin between them
        assume(False)
    for one, other in ends:
        best = max(
            min(wide[a, b] for a, b in pairwise(path))
            for count in range(3)
            for between in permutations({0, 1, 2, 3} - {one, other}, count)
            for path in [(one, *between, other)]
        )
        assert ways.widest(one, (other,)).width == pytest.approx(best, abs=FOUND)


def test_a_ball_that_floods_the_mesh_gets_as_far_as_is_said():
    outcomes = [wire_ways.once(number) for number in range(FLOODED)]
    assert [outcome.said for outcome in outcomes if outcome.verdict == "wrong"] == []
    assert Counter(outcome.verdict for outcome in outcomes)["held"] > FLOODED / 2
