"""Blends along the length: from one line to another without a jump in slope or curvature.

A blend is one quintic that leaves its first line and reaches its second with the value,
slope and curvature of each, so what it joins stays exactly as it was.
"""

from collections.abc import Sequence

import numpy as np
from scipy.interpolate import BPoly
from scipy.optimize import brentq

from carve.shape.along import quintics

Line = tuple[float, float]
"""A straight line by its value at x = 0 and its slope."""

LOOKS = np.linspace(0.0, 1.0, 201)  # shares of a blend at which its curvature is looked at


def chain(x: Sequence[float], y: Sequence[float], slope: Sequence[float]) -> BPoly:
    """Quintics through (x, y) with these slopes and without curvature at the joints. All (n,)."""
    places = np.array(x, dtype=float)
    return quintics(places, np.array(y), np.array(slope), np.zeros(len(places)))


def level(reach: tuple[float, float], value: float) -> BPoly:
    """The same value everywhere."""
    return chain(reach, (value, value), (0.0, 0.0))


def in_turn(*curves: BPoly) -> BPoly:
    """Curves of degree 5 that begin where the one before ends, as one."""
    knots = np.concatenate([curves[0].x[:1], *(curve.x[1:] for curve in curves)])
    return BPoly(np.concatenate([curve.c for curve in curves], axis=1), knots)


def between(start: float, stop: float, first: Line, second: Line) -> BPoly:
    """From ``first`` at ``start`` to ``second`` at ``stop``, start < stop, mm."""
    return chain(
        (start, stop),
        (first[0] + first[1] * start, second[0] + second[1] * stop),
        (first[1], second[1]),
    )


def tightest(curve: BPoly, start: float, stop: float) -> float:
    """The least radius of curvature in mm between two places; inf where all is straight."""
    x = start + (stop - start) * LOOKS
    slope, bend = curve.derivative(1)(x), curve.derivative(2)(x)
    sharpest = float((np.abs(bend) / (1 + slope**2) ** 1.5).max())
    return 1 / sharpest if sharpest > 0 else np.inf


def toward_nut(first: Line, second: Line, radius: float, longest: float) -> tuple[float, float]:
    """Where a blend behind the nut lies: its end and its start in mm from the nut, both <= 0.

    first: the shaft's line, second: the headstock's. radius: mm, the tightest of the blend.
    The blend lies evenly about the place where the lines cross if that leaves it behind the
    nut, and else begins at the nut. Returns the shortest such blend; never more than
    ``longest`` mm, and then its tightest radius is smaller.
    """
    apart, turn = second[0] - first[0], second[1] - first[1]
    crossing = -apart / turn if turn else 0.0

    def placed(length: float) -> tuple[float, float]:
        start = min(0.0, crossing + length / 2) if turn else 0.0
        return start - length, start

    def short_of(length: float) -> float:
        end, start = placed(length)
        found = tightest(between(end, start, second, first), end, start)
        return 1 / radius - 1 / found

    if short_of(longest) <= 0:
        return placed(longest)
    shortest = 1e-3
    if short_of(shortest) >= 0:
        return placed(shortest)
    return placed(float(brentq(short_of, shortest, longest, xtol=1e-6)))
