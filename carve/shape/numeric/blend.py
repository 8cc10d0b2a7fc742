"""Blends along the length: from one line to another without a jump in slope or curvature.

A blend is one quintic that leaves its first line and reaches its second with the value,
slope and curvature of each, so what it joins stays exactly as it was.
"""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.polynomial import Polynomial

from carve.shape.numeric.monotone_spline import quintics
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial
from carve.shape.numeric.root import root_between

StraightLine = tuple[float, float]
"""A straight line by its value at x = 0 and its slope."""

SHARES = np.linspace(0.0, 1.0, 201)  # shares of a blend at which its curvature is looked at
PARALLEL = 1e-9  # mm per mm; lines that turn less do not cross anywhere that counts
SHORTEST = 1e-3  # mm, of a blend
NEARER = 0.5  # of the reach of a blend about a far crossing, for one that begins at the nut

# 10 s^3 - 15 s^4 + 6 s^5 steps from 0 to 1, and -4 s^3 + 7 s^4 - 3 s^5 turns from slope 0 to 1
_STEP = Polynomial([0, 0, 0, 10, -15, 6])
_TURN = Polynomial([0, 0, 0, -4, 7, -3])
_STEP_SLOPE, _STEP_BEND = (np.asarray(_STEP.deriv(order)(SHARES)) for order in (1, 2))
_TURN_SLOPE, _TURN_BEND = (np.asarray(_TURN.deriv(order)(SHARES)) for order in (1, 2))


def chain(x: Sequence[float], y: Sequence[float], slope: Sequence[float]) -> PiecewisePolynomial:
    """Quintics through (x, y) with these slopes and without curvature at the joints. All (n,)."""
    places = np.array(x, dtype=float)
    return quintics(places, np.array(y), np.array(slope), np.zeros(len(places)))


def level(reach: tuple[float, float], value: float) -> PiecewisePolynomial:
    """The same value everywhere."""
    return chain(reach, (value, value), (0.0, 0.0))


def in_turn(*curves: PiecewisePolynomial) -> PiecewisePolynomial:
    """Curves of degree 5 that begin where the one before ends, as one."""
    knots = np.concatenate([curves[0].x[:1], *(curve.x[1:] for curve in curves)])
    return PiecewisePolynomial(np.concatenate([curve.c for curve in curves], axis=1), knots)


def between(
    start: float, stop: float, first: StraightLine, second: StraightLine
) -> PiecewisePolynomial:
    """From ``first`` at ``start`` to ``second`` at ``stop``, start < stop, mm."""
    return chain(
        (start, stop),
        (first[0] + first[1] * start, second[0] + second[1] * stop),
        (first[1], second[1]),
    )


def tightest(curve: PiecewisePolynomial, start: float, stop: float) -> float:
    """The least radius of curvature in mm between two places; inf where all is straight."""
    x = start + (stop - start) * SHARES
    slope, bend = curve.derivative(1)(x), curve.derivative(2)(x)
    sharpest = float((np.abs(bend) / (1 + slope**2) ** 1.5).max())
    return 1 / sharpest if sharpest > 0 else np.inf


def toward_nut(
    first: StraightLine, second: StraightLine, radius: float, longest: float
) -> tuple[float, float]:
    """Where a blend behind the nut lies: its end and its start in mm from the nut, both <= 0.

    first: the shaft's line, second: the headstock's. radius: mm, the tightest of the blend.
    The blend lies evenly about the place where the lines cross if that leaves it behind the
    nut, so that it bends one way only. Else, and where lines that are nearly parallel cross so
    far away that it reaches less than half as far, it begins at the nut. Returns the shortest
    such blend; never more than ``longest`` mm, and then its tightest radius is smaller.
    """
    apart, turn = second[0] - first[0], second[1] - first[1]
    crossing = -apart / turn if abs(turn) > PARALLEL else 0.0

    def even(length: float) -> tuple[float, float]:
        start = min(0.0, crossing + length / 2)
        return start - length, start

    def from_nut(length: float) -> tuple[float, float]:
        return -length, 0.0

    at_nut = _shortest(from_nut, first, second, radius, longest)
    if crossing >= 0:
        return at_nut
    about = _shortest(even, first, second, radius, longest)
    return at_nut if -at_nut[0] < NEARER * -about[0] else about


def _shortest(
    way: Callable[[float], tuple[float, float]],
    first: StraightLine,
    second: StraightLine,
    radius: float,
    longest: float,
) -> tuple[float, float]:
    """The shortest blend no tighter than a radius in mm, of those that differ in length alone."""

    def short_of(length: float) -> float:
        end, start = way(length)
        return 1 / radius - _sharpest(end, start, second, first)

    if short_of(longest) <= 0:
        return way(longest)
    if short_of(SHORTEST) >= 0:
        return way(SHORTEST)
    return way(root_between(short_of, SHORTEST, longest, 1e-6))


def _sharpest(start: float, stop: float, first: StraightLine, second: StraightLine) -> float:
    """Greatest curvature per mm of ``between`` the two, at the same places as ``tightest``."""
    long, turn = stop - start, second[1] - first[1]
    # the first line, then a step up to the second, then a turn into it: each without curvature
    # at both ends, so that their sum is the quintic
    step = second[0] + second[1] * stop - first[0] - first[1] * stop
    slope = first[1] + step / long * _STEP_SLOPE + turn * _TURN_SLOPE
    bend = step / long**2 * _STEP_BEND + turn / long * _TURN_BEND
    return float((np.abs(bend) / (1 + slope**2) ** 1.5).max())
