"""A headstock's outline by its measures: its two sides and the round corners of its tip."""

import math
from dataclasses import dataclass
from typing import assert_never

import numpy as np

from carve.arrays import Array
from carve.design.schema.headstock import HeadOutline
from carve.errors import ShapeError
from carve.shape.neck.problems import CornerMisfit
from carve.shape.numeric.blend import chain, in_turn
from carve.shape.numeric.monotone_spline import smooth_through
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial
from carve.shape.numeric.root import root_between
from carve.shape.planar.rounded_polygon import arc_pieces


def along_face(behind: float, tilt: float, reach: float) -> float:
    """Where, as x in mm, a place lies that is ``behind`` mm from the nut.

    Level to the nut's rear corner, and from there on the slant. tilt: radians. reach: mm from
    the nut, on the centre line, to that corner.
    """
    return -behind if behind <= reach else -reach - (behind - reach) * math.cos(tilt)


def sides(
    outline: HeadOutline, tilt: float, nut_half: float, flare: float, reach: float = 0.0
) -> tuple[PiecewisePolynomial, PiecewisePolynomial]:
    """Half widths of the bass and the treble side over x, from tip to nut.

    tilt: radians. nut_half: half width at the nut in mm, flare: its growth per mm toward the
    heel. reach: mm behind the nut that the taper goes on. Both sides leave it in its line and
    without curvature.
    """
    taper_end = nut_half - flare * reach
    curves = []
    for sign, length in ((-1.0, outline.length), (1.0, outline.length + outline.slant)):
        widest = outline.width / 2 + sign * outline.aside
        end = outline.end_width / 2 + sign * outline.end_aside
        tip = along_face(length, tilt, reach)
        run_out = along_face(reach + outline.flare, tilt, reach)
        match outline.family:
            case "straight":
                slope = (widest - end) / (run_out - tip)
                beyond = chain((tip, run_out), (end, widest), (slope, slope))
            case "waisted":
                waist = (outline.waist or 0.0) / 2 + sign * (outline.aside + outline.end_aside) / 2
                x = np.array([tip, (tip + run_out) / 2, run_out])
                beyond = smooth_through(x, np.array([end, waist, widest]), (tip, run_out), "level")
                slope = 0.0
            case _:
                assert_never(outline.family)
        pieces = [beyond, chain((run_out, -reach), (widest, taper_end), (slope, flare))]
        if reach:
            pieces.append(chain((-reach, 0.0), (taper_end, nut_half), (flare, flare)))
        curves.append(in_turn(*pieces))
    return curves[0], curves[1]


@dataclass(frozen=True, eq=False)
class Corner:
    """The tip's corner on one side, as round as asked.

    start: (2,) mm, where it leaves the side. middle: (2,) mm, of the arc. turn: radians to
    where it meets the tip's edge, signed. radius: mm, 0 for a sharp one.
    """

    start: Array
    middle: Array
    turn: float
    radius: float

    def points(self, chord_error: float) -> Array:
        """(k, 2) mm from the side to the tip's edge."""
        if self.radius == 0:
            return self.start[None].copy()
        pieces = arc_pieces(self.radius, abs(self.turn), chord_error)
        out = self.start - self.middle
        angles = math.atan2(out[1], out[0]) + self.turn * np.linspace(0, 1, pieces + 1)
        return np.asarray(self.middle + self.radius * np.stack([np.cos(angles), np.sin(angles)], 1))


def corners_of(
    bass: PiecewisePolynomial, treble: PiecewisePolynomial, radius: float
) -> tuple[Corner, Corner]:
    """The tip's corners on the bass and on the treble side, rounded by a radius in mm.

    Raises ShapeError where no arc of that radius fits them.
    """
    tips = [
        np.array([side.x[0], sign * float(side(side.x[0]))])
        for side, sign in ((bass, -1.0), (treble, 1.0))
    ]
    return (
        _round_corner(bass, -1.0, tips[0], tips[1], radius),
        _round_corner(treble, 1.0, tips[1], tips[0], radius),
    )


def _round_corner(
    side: PiecewisePolynomial, sign: float, tip: Array, other: Array, radius: float
) -> Corner:
    """An arc that touches the side and the tip's edge, or the corner itself."""
    if radius == 0:
        return Corner(tip, tip, 0.0, 0.0)
    edge = (other - tip) / np.linalg.norm(other - tip)
    inward = np.array([edge[1], -edge[0]])
    inward = inward * math.copysign(1.0, inward[0])  # toward the nut
    slope = side.derivative()

    def centre(x: float) -> Array:
        rise = float(slope(x))
        normal = np.array([rise, -1.0]) / math.hypot(1.0, rise)
        return np.array([x, sign * float(side(x))]) + radius * normal * [1.0, sign]

    def beyond(x: float) -> float:
        return float((centre(x) - tip) @ inward) - radius

    nearest, furthest = float(side.x[0]), float(side.x[0]) + 4 * radius
    if furthest > side.x[-1] or beyond(nearest) > 0 or beyond(furthest) < 0:
        raise ShapeError(CornerMisfit(radius))
    x = root_between(beyond, nearest, furthest, 1e-10)
    middle = centre(x)
    start = np.array([x, sign * float(side(x))]) - middle
    stop = -radius * inward
    turn = math.acos(float(np.clip(start @ stop / radius**2, -1, 1)))
    way = math.copysign(1.0, float(start[0] * stop[1] - start[1] * stop[0]))
    return Corner(start + middle, middle, way * turn, radius)
