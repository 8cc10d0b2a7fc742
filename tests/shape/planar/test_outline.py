"""Outlines as points: within the chord error, counter-clockwise, their ends kept."""

import math

import numpy as np
import pytest
import shapely

from carve.design.values.curve import Curve, Piece, closed_polygon
from carve.shape.planar.outline import pieces_of, polygon

# A quarter circle as one cubic piece is nowhere further than 0.0273 % of its radius from the
# circle with this handle; standard result, from memory
HANDLE = 4 / 3 * math.tan(math.pi / 8)


def circle(radius: float, clockwise: bool = False) -> Curve:
    quarter = np.array([[1, 0], [1, HANDLE], [HANDLE, 1], [0, 1]]) * radius
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]])
    pieces = []
    for _ in range(4):
        pieces.append(quarter)
        quarter = quarter @ turn
    if clockwise:
        pieces = [piece[::-1] for piece in pieces[::-1]]
    return Curve("circle", tuple(_piece(piece) for piece in pieces))


def _piece(points: np.ndarray) -> Piece:
    a, b, c, d = ((float(x), float(y)) for x, y in points)
    return a, b, c, d


@pytest.mark.parametrize("clockwise", [False, True])
def test_a_circle_has_its_area_and_runs_counter_clockwise(clockwise: bool) -> None:
    ring = shapely.LinearRing(polygon(circle(100.0, clockwise), 0.001))
    assert ring.is_ccw
    assert ring.is_simple
    assert shapely.Polygon(ring).area == pytest.approx(math.pi * 100.0**2, rel=3e-4)


@pytest.mark.parametrize("chord_error", [1.0, 0.1, 0.01, 0.001])
def test_no_chord_is_further_from_its_curve_than_asked(chord_error: float) -> None:
    curve = circle(150.0)
    fine = shapely.LinearRing(polygon(curve, 1e-5))
    coarse = shapely.LinearRing(polygon(curve, chord_error))
    assert shapely.hausdorff_distance(coarse, fine, densify=0.02) <= chord_error + 2e-5


def test_straight_sides_stay_two_points() -> None:
    square = closed_polygon("square", ((0, 0), (10, 0), (10, 10), (0, 10)))
    assert np.array_equal(polygon(square, 0.01), [[0, 0], [10, 0], [10, 10], [0, 10]])


def test_every_piece_keeps_its_ends() -> None:
    curve = circle(30.0)
    points = polygon(curve, 0.01)
    for piece in pieces_of(curve):
        assert (points == piece[0]).all(axis=1).sum() == 1
