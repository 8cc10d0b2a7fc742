"""Outlines that the tests of plates share: our own inventions, closed and counter-clockwise."""

import numpy as np
from scipy.interpolate import CubicSpline

from carve.arrays import Array
from carve.design.values.curve import Curve, Piece

# (x, y) mm on the treble side from the neck to the tail
_SIDE = [
    (0.0, 60.0), (25.0, 115.0), (80.0, 140.0), (140.0, 128.0), (190.0, 112.0), (250.0, 128.0),
    (320.0, 170.0), (380.0, 185.0), (440.0, 155.0), (474.0, 85.0),
]  # fmt: skip
_CUT_AWAY = [
    (95.0, 35.0), (88.0, 62.0), (62.0, 88.0), (42.0, 115.0), (48.0, 130.0), (80.0, 136.0),
    *_SIDE[3:],
]  # fmt: skip
_TWO_HORNS = [
    (400.0, 0.0), (385.0, 80.0), (330.0, 150.0), (250.0, 155.0), (180.0, 125.0), (100.0, 120.0),
    (30.0, 135.0), (-10.0, 130.0), (5.0, 95.0), (50.0, 60.0), (70.0, 35.0), (65.0, 0.0),
    (68.0, -35.0), (60.0, -60.0), (0.0, -100.0), (-45.0, -140.0), (0.0, -150.0), (70.0, -130.0),
    (150.0, -120.0), (230.0, -140.0), (310.0, -160.0), (370.0, -110.0),
]  # fmt: skip


def _mirrored(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    return [(x, -y) for x, y in points]


WAISTED = [(480.0, 0.0), *_SIDE[::-1], (0.0, 0.0), *_mirrored(_SIDE)]
CUTAWAY = [
    (480.0, 0.0), *_CUT_AWAY[::-1], (60.0, 5.0), (20.0, -25.0), *_mirrored(_SIDE[1:])
]  # fmt: skip
HORNED = _TWO_HORNS
LOPSIDED = [
    (470.0, -20.0), (455.0, 60.0), (400.0, 150.0), (330.0, 165.0), (260.0, 125.0), (190.0, 110.0),
    (120.0, 118.0), (60.0, 128.0), (10.0, 95.0), (0.0, 40.0), (0.0, 0.0), (0.0, -40.0),
    (12.0, -85.0), (60.0, -105.0), (120.0, -95.0), (190.0, -85.0), (260.0, -98.0),
    (330.0, -130.0), (400.0, -120.0), (450.0, -80.0),
]  # fmt: skip
"""Wider on the treble side than on the bass side."""


def smooth(points: list[tuple[float, float]], count: int = 700) -> Array:
    """(count, 2) mm on the closed natural curve through points."""
    return np.asarray(_curve(points)(np.linspace(0, 1, count, endpoint=False)))


def curve(name: str, points: list[tuple[float, float]]) -> Curve:
    """The same as cubic pieces, one from each point to the next."""
    spline = _curve(points)
    knots = spline.x
    third = np.diff(knots)[:, None] / 3
    at, slope = spline(knots), spline(knots, 1)
    controls = [at[:-1], at[:-1] + third * slope[:-1], at[1:] - third * slope[1:], at[1:]]
    controls[3][-1] = controls[0][0]
    return Curve(name, tuple(_piece(piece) for piece in np.stack(controls, axis=1)))


def ellipse(length: float, width: float, count: int = 400) -> Array:
    """(count, 2) mm, beginning at the neck's end: the centre line's first point is the origin."""
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.stack([length / 2 * (1 - np.cos(turn)), -width / 2 * np.sin(turn)], axis=1)


def _curve(points: list[tuple[float, float]]) -> CubicSpline:
    closed = np.array([*points, points[0]])
    steps = np.r_[0.0, np.cumsum(np.hypot(*np.diff(closed, axis=0).T))]
    area = closed[:-1, 0] @ closed[1:, 1] - closed[1:, 0] @ closed[:-1, 1]
    if area < 0:
        closed, steps = closed[::-1], steps[-1] - steps[::-1]
    return CubicSpline(steps / steps[-1], closed, bc_type="periodic")


def _piece(points: Array) -> Piece:
    a, b, c, d = ((float(x), float(y)) for x, y in points)
    return a, b, c, d


BLOCK = {"points": [[0, -100], [300, -100], [300, 100], [0, 100]], "smooth": False}
