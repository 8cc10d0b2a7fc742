"""Outlines seen from above: closed curves of cubic pieces, as points within a chord error."""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array, BoolArray, IntArray
from carve.design.values.curve import Curve
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE, area

CHORDS_MOST = 4096  # of one piece: a piece of a metre bent to a circle keeps 0.1 micrometre
CROWDED = 2e-4  # mm; points of a plan no further apart are one, as a mesh's file nearly has them
STRAIGHT_TOLERANCE = (
    1e-5  # mm; a point no further beside the line through its neighbours is not needed
)


def pieces_of(curve: Curve) -> Array:
    """(k, 4, 2) control points in mm, counter-clockwise around."""
    controls = np.array(curve.pieces, dtype=float)
    if area(controls[:, :3].reshape(-1, 2)) < 0:
        controls = controls[::-1, ::-1]
    return controls


def polygon(curve: Curve, chord_error: float) -> Array:
    """(n, 2) points of a closed curve in mm, counter-clockwise, the first not repeated.

    chord_error: mm, how far a chord may be from its piece. The ends of all pieces are among them.
    """
    controls = pieces_of(curve)
    piece, t, _ = _chords(controls, chord_error)
    return _on(controls[piece], t)


def _chords(controls: Array, chord_error: float) -> tuple[IntArray, Array, Array]:
    """The chords of cubic pieces (k, 4, 2), evenly spaced in the parameter of each.

    Returns (n,) their pieces' numbers, the parameters at which they begin, and their steps. A
    chord over a step h is off by no more than h^2 / 8 of the greatest second derivative, which a
    cubic has at an end (de Boor, A Practical Guide to Splines; from memory).
    """
    bend = 6 * np.linalg.norm(np.diff(controls, 2, axis=1), axis=2).max(axis=1)
    counts = np.clip(np.ceil(np.sqrt(bend / (8 * chord_error))), 1, CHORDS_MOST).astype(np.int64)
    piece = np.repeat(np.arange(len(controls)), counts)
    number = np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)
    return piece, number / counts[piece], 1 / counts[piece]


def at(piece: Array, t: Array) -> Array:
    """(n, 2) points of a cubic piece (4, 2) at parameters t (n,) from 0 to 1."""
    s = 1 - t
    weights = np.stack([s**3, 3 * s**2 * t, 3 * s * t**2, t**3], axis=-1)
    return np.asarray(weights @ piece)


@dataclass(frozen=True, eq=False)
class CurvePlan:
    """A plan of any shape: what a closed curve encloses. curve: mm."""

    curve: Curve

    def points(self, chord_error: float) -> Array:
        """(n, 2) points around in mm, counter-clockwise. chord_error: of the curve, mm.

        As many as are needed and no more: those that lie upon one another, or in one straight
        line, become triangles without area in a file of 32-bit numbers.
        """
        return _needed(polygon(self.curve, chord_error))

    def error(self, chord_error: float) -> float:
        """How far in mm the chords of ``points`` are from the curve, measured.

        Each chord is looked at where the curve's parameter is half way between its ends: a cubic
        is furthest from a short chord there, but for terms of a higher order.
        """
        controls = pieces_of(self.curve)
        piece, begin, step = _chords(controls, chord_error)
        start, middle, stop = (_on(controls[piece], begin + part * step) for part in (0, 0.5, 1))
        along, off = stop - start, middle - start
        across = np.abs(along[:, 0] * off[:, 1] - along[:, 1] * off[:, 0])
        long = np.hypot(*along.T)
        there = long > CROWDED
        return float((across[there] / long[there]).max(initial=0.0))

    @property
    def circle(self) -> tuple[float, float, float] | None:
        """None: a curve that is a circle becomes a plan that is one."""
        return None


def circle_of(curve: Curve, tolerance: float) -> tuple[float, float, float] | None:
    """x, y and radius of the circle that a closed curve is, within a tolerance; all in mm.

    The circle that fits best by x^2 + y^2 = 2 a x + 2 b y + c (Kasa 1976; from memory).
    """
    points = np.concatenate([at(piece, np.arange(8) / 8) for piece in pieces_of(curve)])
    middle = points.mean(axis=0)
    x, y = (points - middle).T
    found, *_ = np.linalg.lstsq(
        np.stack([2 * x, 2 * y, np.ones(len(x))], 1), x**2 + y**2, rcond=None
    )
    a, b, c = found.tolist()
    radius = math.sqrt(max(c + a**2 + b**2, 0.0))
    off = np.abs(np.hypot(x - a, y - b) - radius)
    return (float(middle[0]) + a, float(middle[1]) + b, radius) if off.max() < tolerance else None


def _needed(points: Array) -> Array:
    """Points around without those that lie upon the one before, or straight between two."""
    points = points[_apart(points)]
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    chord = np.hypot(*(before + after).T)
    across = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    goes_on = (before * after).sum(axis=1) > 0
    return np.asarray(points[~(goes_on & (across <= STRAIGHT_TOLERANCE * chord))])


def _apart(points: Array) -> BoolArray:
    """(n,) which points are further than ``CROWDED`` from the last one before that is."""
    near = np.hypot(*(points - np.roll(points, 1, axis=0)).T) <= CROWDED
    kept = np.ones(len(points), dtype=bool)
    for number in np.flatnonzero(near):
        last = np.flatnonzero(kept[:number])
        other = points[last[-1]] if len(last) else points[-1]
        kept[number] = bool(np.hypot(*(points[number] - other)) > CROWDED)
    return kept


def _on(pieces: Array, t: Array) -> Array:
    """(n, 2) points of cubic pieces (n, 4, 2), each at a parameter of its own t (n,)."""
    s = 1 - t
    weights = np.stack([s**3, 3 * s**2 * t, 3 * s * t**2, t**3], axis=1)
    return np.asarray(np.einsum("nk,nkd->nd", weights, pieces))


@dataclass(frozen=True, eq=False)
class Outline(CurvePlan):
    """The body's outline, made once for all bodies that have it, in the body's frame."""

    @cached_property
    def polygon(self) -> BaseGeometry:
        """What it encloses, within ``CURVE_TOLERANCE`` of the curve."""
        enclosed = shapely.Polygon(self.points(CURVE_TOLERANCE))
        shapely.prepare(enclosed)
        return enclosed

    @cached_property
    def rim(self) -> BaseGeometry:
        """The line around, likewise."""
        around = self.polygon.exterior
        shapely.prepare(around)
        return around
