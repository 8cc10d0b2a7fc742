"""The carved heel: how a shaft's back sweeps down to a small flat cap beside the body's edge.

Seen from the side the keel leaves the shaft with its slope and without curvature, and its slope
grows evenly (as 3s^2 - 2s^3) to where the cap begins: it bends one way only. Beyond that it
would go straight on down; one plane, the cap, takes off what lies below it. So the cap's outline
is where a smooth surface meets a plane, and the flanks run past it without knowing of it. Another
plane ends the heel: the body's side, which leans by the neck angle against the glue face.

Across, the section turns by even shares (10s^3 - 15s^4 + 6s^5) from the shaft's into the heel's:
both are half-sections of one degree, and their control points are mixed. The heel's own has its
control points at fixed heights; their places outward are linear in one figure, how far the
flanks come in, which follows from the cap's width.
"""

import math
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.schema.heel import Heel
from carve.design.values.tolerances import LEAST_WOOD
from carve.errors import ShapeError
from carve.shape.neck.heel_blend import STEEPEST_BACK
from carve.shape.neck.problems import CapWidth, CarvedHeelShallow, CarvedHeelSteep, TongueWide
from carve.shape.neck.section import DEGREE, bernstein
from carve.shape.numeric.monotone_spline import quintics
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial
from carve.shape.numeric.root import root_between

MOST_INWARD = 0.9  # of the half width by which flanks come in; beyond it they meet
CONTROL_HEIGHTS = np.array(
    [0.0, -0.22, -0.46, -0.72, -1.0, -1.0]
)  # of the control points, in depths
BOW = np.array([0.0, 0.9, 0.44, 0.0])  # share of its way in that a point moves by the dial
LAST_LEG = 0.75  # of the straight flank's half width at the keel's level
_STRAIGHT = -CONTROL_HEIGHTS[:4]


@dataclass(frozen=True, eq=False)
class CapShape:
    """A flat cap and the heel above it.

    depth: mm of the cap below the glue face. blend, nose, foot, edge: mm from the nut to where
    the shaft begins to flow into the heel, where the cap begins on the centre line, where it ends
    against the body, and to the body's edge at the glue face. deepest: mm below the glue face to
    which the keel would go on at the foot. section: (6, 2) control points there, in half widths
    and depths. lean: of the face against the body, mm toward the nut per mm down.
    """

    depth: float
    blend: float
    nose: float
    foot: float
    edge: float
    deepest: float
    section: Array
    lean: float

    def share(self, x: Array) -> Array:
        """(n,) how much of the heel's section is in that at x (n,), 0 to 1."""
        s = np.clip((np.asarray(x, dtype=float) - self.blend) / (self.foot - self.blend), 0.0, 1.0)
        return np.asarray(s**3 * (10 - 15 * s + 6 * s**2))

    def turned(self, shaft: Array, x: Array) -> Array:
        """Half-sections (n, 6, 2) of the shaft at x (n,), as far turned into the heel's.

        The keel's curvature goes evenly from one to the other and is the same on both sides.
        """
        share = self.share(x)
        mixed = (1 - share)[:, None, None] * shaft + share[:, None, None] * self.section
        curvature = (1 - share) * _keel(shaft) + share * _keel(self.section)
        mixed[:, 3, 1] = -1 + curvature * mixed[:, 4, 0] ** 2 * DEGREE / (DEGREE - 1)
        return np.asarray(mixed)

    @property
    def uncut(self) -> float:
        """Depth in mm to which the keel would go on at the body's edge."""
        steep = (self.deepest - self.depth) / (self.foot - self.nose)
        return self.deepest + steep * (self.edge - self.foot)

    def face_depth(self, x: Array) -> Array:
        """(n,) depth of the face against the body in mm at x (n,), infinite where there is none."""
        x = np.asarray(x, dtype=float)
        if self.lean == 0:
            return np.full_like(x, np.inf)
        return np.where(x <= self.edge, (self.edge - x) / self.lean, np.inf)

    def half_width(self, depth: float, half: float) -> float:
        """Half width in mm at the foot, at a depth in mm. half: mm, of the glue face."""
        return half * _aside(self.section, depth / self.deepest)


def carved_heel_curve(
    heel: Heel,
    shaft: PiecewisePolynomial,
    reach: tuple[float, float],
    bend: float,
    taper: tuple[float, float],
    lean: float,
) -> tuple[PiecewisePolynomial, CapShape]:
    """Depth of the keel from the blend to the body's edge, the cap not taken off, and the cap.

    shaft: depth before it, bend: its second derivative where the blend begins, per mm. reach: mm
    from the nut to where the blend begins and to the body's edge. taper: the neck's half width
    at the nut in mm and its growth per mm. lean: as the cap's.
    Raises ShapeError where heel, cap and tongue do not go together.
    """
    length, width = heel.cap_length or 0.0, heel.cap_width or 0.0
    blend, start = reach
    foot = start - heel.depth * lean
    half = taper[0] + taper[1] * foot
    nose = foot - length
    long = nose - blend
    value, slope = float(shaft(blend)), float(shaft.derivative()(blend))
    steep = steepest(heel, shaft, blend, nose)
    if steep <= max(slope, 0.0):
        raise ShapeError(CarvedHeelShallow(heel.depth, value))
    if steep > STEEPEST_BACK:
        # the shaft goes on straight to the cap: from a shorter blend it has less way down
        straight = value + slope * long
        shortest = math.ceil(200 * (heel.depth - straight) / (STEEPEST_BACK - slope)) / 100
        raise ShapeError(CarvedHeelSteep(long, heel.depth, math.atan(STEEPEST_BACK), shortest))
    deepest = heel.depth + steep * length
    section = _section(heel, heel.depth / deepest, width / 2 / half, half)
    keel = quintics(
        np.array([blend, nose, start]),
        np.array([value, heel.depth, heel.depth + steep * (start - nose)]),
        np.array([slope, steep, steep]),
        np.array([bend, 0.0, 0.0]),
    )
    cap = CapShape(heel.depth, blend, nose, foot, start, deepest, section, lean)
    _tongue_fits(heel, cap, half)
    return keel, cap


def steepest(heel: Heel, shaft: PiecewisePolynomial, blend: float, nose: float) -> float:
    """Slope of the keel where the cap begins, mm down per mm along.

    The mean of both slopes, over the blend, is the way down. blend, nose: mm from the nut.
    """
    slope = float(shaft.derivative()(blend))
    return 2 * (heel.depth - float(shaft(blend))) / (nose - blend) - slope


def _section(heel: Heel, level: float, aside: float, half: float) -> Array:
    """Control points of the heel's half-section. level, aside: of the cap's edge, in depths and
    half widths. half: mm.
    """
    # y at the level is reach - inward * loss: linear in how far the flanks come in
    way = _STRAIGHT * (1 - heel.flank * BOW)
    weights = bernstein(np.array([_parameter(level)]))[0]
    reach = float(weights[:4].sum() + LAST_LEG * weights[4])
    loss = float(weights[:4] @ way + LAST_LEG * weights[4])
    inward = (reach - aside) / loss
    if not 0 <= inward <= MOST_INWARD:
        low, high = (2 * half * (reach - most * loss) for most in (MOST_INWARD, 0.0))
        raise ShapeError(
            CapWidth(2 * half * aside, heel.cap_length or 0.0, max(low, 0.0), high, inward < 0)
        )
    points = np.empty((6, 2))
    points[:, 1] = CONTROL_HEIGHTS
    points[:4, 0] = 1 - inward * way
    points[4:, 0] = LAST_LEG * (1 - inward), 0.0
    return points


def _tongue_fits(heel: Heel, cap: CapShape, half: float) -> None:
    """The tongue stands within the face that butts against the body, shoulders around it."""
    tongue = heel.tongue
    if tongue is None:
        return
    most = 2 * (cap.half_width(tongue.depth, half) - LEAST_WOOD)
    if tongue.width > most:
        raise ShapeError(TongueWide(tongue.width, tongue.depth, most, LEAST_WOOD))


def _keel(section: Array) -> Array:
    """(...) curvature at the keel of half-sections (..., 6, 2), in depth / half width squared."""
    rise = (section[..., 3, 1] + 1) * (DEGREE - 1) / DEGREE
    return np.asarray(rise / section[..., 4, 0] ** 2)


def _parameter(level: float) -> float:
    """Where along the heel's half-section it lies ``level`` depths below the glue face."""
    if level >= 1:
        return 1.0

    def off(u: float) -> float:
        return float(bernstein(np.array([u]))[0] @ CONTROL_HEIGHTS) + level

    return root_between(off, 0.0, 1.0, 1e-14)


def _aside(section: Array, level: float) -> float:
    return float(bernstein(np.array([_parameter(level)]))[0] @ section[:, 0])
