"""Loose pieces joined: the same curve comes back however it was broken, and gaps are told."""

import itertools
import math
import random

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from carve.design.drawing.chains import joined_chains
from carve.design.drawing.model import Chain
from carve.design.values.curve import Piece, straight, turned_round

SQUARE = [(0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0)]


def sides(points: list[tuple[float, float]]) -> list[Piece]:
    return [straight(a, b) for a, b in zip(points, points[1:] + points[:1], strict=True)]


def chain(*pieces: Piece, layer: str = "body") -> Chain:
    return Chain((layer,), (), pieces)


def polygon(pieces: tuple[Piece, ...]) -> shapely.Polygon:
    return shapely.Polygon([piece[0] for piece in pieces])


@settings(max_examples=60)
@given(st.integers(3, 40), st.integers(0, 10**6))
def test_shuffled_turned_and_gapped_sides_are_the_polygon_they_came_from(
    count: int, roll: int
) -> None:
    chance = random.Random(roll)
    # a star-shaped polygon never crosses itself
    angles = sorted(chance.uniform(0, 2 * math.pi) for _ in range(count))
    if min(b - a for a, b in itertools.pairwise(angles)) < 0.02:
        return  # corners closer than the gap are no corners
    radii = [chance.uniform(60, 200) for _ in angles]
    corners = [(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)]
    gap = 0.1

    def near(point: tuple[float, float]) -> tuple[float, float]:
        way, off = chance.uniform(0, 2 * math.pi), chance.uniform(0, gap / 2)
        return point[0] + off * math.cos(way), point[1] + off * math.sin(way)

    pieces = [straight(near(a), near(b)) for a, b, *_ in (piece[::3] for piece in sides(corners))]
    chains = [chain(*(turned_round((p,)) if chance.random() < 0.5 else (p,))) for p in pieces]
    chance.shuffle(chains)
    found = joined_chains(chains, gap)
    assert len(found.loops) == 1
    assert not found.open
    back = polygon(found.loops[0].pieces)
    assert len(found.loops[0].pieces) == count
    distance = max(shapely.distance(back.exterior, shapely.points(corner)) for corner in corners)
    assert distance <= gap / 2 + 1e-9
    assert all(0.001 < told.width <= gap for told in found.gaps)


def test_a_closed_gap_is_told_with_its_place_and_width() -> None:
    first, *rest = sides(SQUARE)
    short = straight((0.0, 0.0), (99.95, 0.0))
    assert first[3] == (100, 0)
    found = joined_chains([chain(short), *(chain(side) for side in rest)], 0.1)
    (gap,) = found.gaps
    assert (gap.layer, gap.width) == ("body", pytest.approx(0.05))
    assert (gap.x, gap.y) == pytest.approx((99.975, 0))
    assert polygon(found.loops[0].pieces).area == pytest.approx(8000, rel=1e-3)


def test_what_is_rounding_is_no_gap() -> None:
    nudged = [straight((0.0, 0.0), (100.0, 0.0004)), *sides(SQUARE)[1:]]
    found = joined_chains([chain(piece) for piece in nudged], 0.1)
    assert len(found.loops) == 1
    assert found.gaps == ()


def test_a_straight_side_that_is_mended_stays_straight() -> None:
    found = joined_chains(
        [chain(straight((0.0, 0.0), (99.9, 0.03))), *(chain(side) for side in sides(SQUARE)[1:])],
        0.2,
    )
    for a, b, c, d in found.loops[0].pieces:
        assert (b, c) == (pytest.approx(straight(a, d)[1]), pytest.approx(straight(a, d)[2]))


def test_a_wider_gap_leaves_it_open_and_says_how_far_the_next_end_is() -> None:
    first, *rest = sides(SQUARE)
    found = joined_chains(
        [chain(straight(first[0], (96.8, 0.0))), *(chain(side) for side in rest)], 0.1
    )
    assert found.loops == ()
    (left,) = found.open
    assert sorted(left.ends) == [(96.8, 0.0), (100.0, 0.0)]
    assert left.away == pytest.approx((3.2, 3.2))


def test_a_side_drawn_twice_counts_once() -> None:
    twice = [chain(side) for side in sides(SQUARE)]
    twice += [chain(*turned_round(twice[1].pieces)), twice[2]]
    found = joined_chains(twice, 0.1)
    assert len(found.loops) == 1
    assert not found.open


def test_layers_are_not_joined_with_one_another() -> None:
    first, *rest = sides(SQUARE)
    found = joined_chains([chain(first, layer="other"), *(chain(side) for side in rest)], 0.1)
    assert found.loops == ()
    assert {left.layers for left in found.open} == {("other",), ("body",)}


def test_a_third_end_at_one_place_is_left_over() -> None:
    spur = straight((100.0, 80.0), (140.0, 80.0))
    found = joined_chains([*(chain(side) for side in sides(SQUARE)), chain(spur)], 0.1)
    ways = len(found.loops) + len(found.open)
    assert ways == 2
    assert found.open


def test_the_nearest_ends_are_joined_first() -> None:
    # two squares whose corners are 0.08 mm apart, each closed to 0.02 mm
    other = [(100.08, 0.0), (180.0, 0.0), (180.0, 80.0), (100.08, 80.0)]
    broken = [straight(a, (b[0], b[1] + 0.02)) for a, _, _, b in sides(SQUARE) + sides(other)]
    found = joined_chains([chain(piece) for piece in broken], 0.1)
    assert sorted(polygon(loop.pieces).area for loop in found.loops) == pytest.approx(
        [79.92 * 80, 8000], rel=1e-3
    )
