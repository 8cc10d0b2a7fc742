"""A headstock's own outline, as its builder drew it, joined to the neck's taper.

The drawing is followed to the point from where the sides leave the nut's reach: between there
and the nut they come from the taper to the drawn line by a quintic that takes over its slope
and curvature. Where the back is still round beyond that place the surface needs the sides as
smooth functions of x, so there they are splines through the drawn line.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from carve.arrays import Array
from carve.design.values.curve import Curve
from carve.errors import ShapeError
from carve.shape.neck.problems import (
    DrawnComesBack,
    DrawnCorner,
    DrawnSideAcross,
    HeadSide,
    NoSingleDrawnSide,
)
from carve.shape.numeric.blend import in_turn
from carve.shape.numeric.monotone_spline import quintics
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial
from carve.shape.planar.outline import polygon
from carve.shape.planar.rounded_polygon import to_chain

CURVE_CHORD = 1e-4  # mm, chord error with which a drawn line is looked at
STEEPEST_SIDE = 3.0  # growth of a half width per mm; a steeper side is no side but an end
SPLINE_STEP = 1.0  # mm between knots where a drawn side is followed by a spline
FIT = 0.02  # mm that it may be off; a corner in the drawing is further


@dataclass(frozen=True, eq=False)
class DrawnPlan:
    """A drawn headstock in the instrument's frame: x below 0, as seen from above.

    curve: the whole of it. join: where its sides and the taper's have met, mm from the nut.
    """

    curve: Curve
    join: float

    @property
    def tip(self) -> float:
        """Where it ends, mm from the nut, negative."""
        return float(polygon(self.curve, CURVE_CHORD)[:, 0].min())

    @property
    def widest(self) -> float:
        """Greatest distance from the centre line in mm."""
        return float(np.abs(polygon(self.curve, CURVE_CHORD)[:, 1]).max())

    def beyond(self, x: float, chord_error: float) -> Array:
        """(k, 2) mm of the drawn line beyond x, from the treble side round the tip to the bass.

        Without its points at x themselves.
        """
        return _beyond(polygon(self.curve, chord_error), x)

    def error(self, x: float, chord_error: float) -> float:
        """How far in mm the chords beyond x are from the drawn line."""
        fine, coarse = (self.beyond(x, error) for error in (chord_error / 16, chord_error))
        chain = np.vstack([fine[:1], coarse, fine[-1:]])
        there = np.r_[True, (np.diff(chain, axis=0) != 0).any(axis=1)]
        return float(to_chain(fine, chain[there]).max())


def drawn_sides(
    curve: Curve, join: float, flat: float, nut: tuple[float, float, float]
) -> tuple[PiecewisePolynomial, PiecewisePolynomial]:
    """Half widths of the bass and the treble side over x, from where the drawing takes over.

    curve: as in ``DrawnPlan``. join: mm from the nut. flat: where the back has become flat; the
    sides begin there or at ``join``, whichever is further. nut: where the taper ends, mm from
    the nut, 0 or less; its half width there; its growth per mm.
    Raises ShapeError where a side is no function of x, too steep, or has a corner.
    """
    line = polygon(curve, CURVE_CHORD)
    first = min(flat, join)
    end, half, flare = nut
    curves = []
    both: tuple[tuple[float, HeadSide], ...] = ((-1.0, "bass"), (1.0, "treble"))
    for sign, name in both:
        side = _Side(line, sign, name)
        y, slope, bend = side.at(join)
        knots, values = np.array([join, end]), np.array([y, half])
        pieces = [quintics(knots, values, np.array([slope, flare]), np.array([bend, 0.0]))]
        if first < join:
            pieces.insert(0, side.spline(first, join, (y, slope, bend)))
        if end < 0:
            straight = np.array([half, half - flare * end])
            pieces.append(
                quintics(np.array([end, 0.0]), straight, np.array([flare, flare]), np.zeros(2))
            )
        curves.append(in_turn(*pieces))
    return curves[0], curves[1]


class _Side:
    """One side of a drawn line, as its half width over x."""

    def __init__(self, line: Array, sign: float, name: HeadSide) -> None:
        self._line, self._sign, self._name = line, sign, name

    def at(self, x: float) -> tuple[float, float, float]:
        """Half width at x in mm, its growth per mm, and that growth's per mm."""
        near = np.linspace(x - 2 * SPLINE_STEP, x + 2 * SPLINE_STEP, 9)
        values = np.array([self.half(float(one)) for one in near])
        # the parabola nearest to nine places: a drawing's own pieces may meet at this very place
        bend, slope, value = np.polyfit(near - x, values, 2)
        if abs(slope) > STEEPEST_SIDE:
            raise ShapeError(DrawnSideAcross(self._name, -x))
        return float(value), float(slope), float(2 * bend)

    def half(self, x: float) -> float:
        """Half width at x in mm."""
        ahead = self._line[:, 0] - x
        crossing = np.flatnonzero((ahead <= 0) != (np.roll(ahead, -1) <= 0))
        a, b = self._line[crossing], np.roll(self._line, -1, axis=0)[crossing]
        y = self._sign * (a[:, 1] + (x - a[:, 0]) / (b[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1]))
        out = y[y > 0]
        if len(out) != 1 or len(y) != 2:
            raise ShapeError(NoSingleDrawnSide(self._name, -x))
        return float(out[0])

    def spline(
        self, first: float, last: float, end: tuple[float, float, float]
    ) -> PiecewisePolynomial:
        """The drawn side from one place to another, ending with a value, slope and curvature."""
        # loaded where a side is followed so alone: no other neck needs these
        from scipy.interpolate import BPoly, PPoly, make_interp_spline

        count = max(6, math.ceil((last - first) / SPLINE_STEP)) + 1
        x = np.linspace(first, last, count)
        y = np.array([*(self.half(float(one)) for one in x[:-1]), end[0]])
        _, slope, bend = self.at(first)
        # scipy's own types know of fewer conditions than it takes
        ends: Any = ([(1, slope), (2, bend)], [(1, end[1]), (2, end[2])])
        spline = make_interp_spline(x, y, k=5, bc_type=ends)
        whole = BPoly.from_power_basis(PPoly.from_spline((spline.t, spline.c, spline.k)))
        # a spline's first and last knots are repeated, and pieces between them have no length
        pieces = np.diff(whole.x) > 0
        curve = PiecewisePolynomial(whole.c[:, pieces], np.unique(whole.x))
        fine = np.linspace(first, last, 8 * count)
        off = np.abs(curve(fine) - np.array([self.half(float(one)) for one in fine]))
        if off.max() > FIT:
            raise ShapeError(DrawnCorner(self._name, -float(fine[int(off.argmax())])))
        return curve


def _beyond(line: Array, x: float) -> Array:
    """The part of a closed line (n, 2), counter-clockwise, that lies beyond x toward the tip.

    From treble to bass, the points at x themselves left out. Raises ShapeError where it comes
    back over x.
    """
    beyond = line[:, 0] < x - 1e-9
    starts = np.flatnonzero(beyond & ~np.roll(beyond, 1))
    if len(starts) != 1:
        raise ShapeError(DrawnComesBack(-x))
    return np.roll(line, -int(starts[0]), axis=0)[: int(beyond.sum())]
