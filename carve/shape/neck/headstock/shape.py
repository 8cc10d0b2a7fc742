"""The headstock: its outline, its face, its back and its holes.

It stands in the instrument's frame, where the nut's line crosses the centre line at x = 0. A
slanted nut reaches further back on one side: up to that corner everything is still shaft, and
seat, flare and blend begin there, square to the centre line. Along its face everything is
measured on the slant, so seen from above it is shorter by the cosine of the tilt. Its sides
are square to the glue face, as a three-axis machine leaves them that cuts neck and headstock
in one setup; its holes are square to the face, as tuners stand.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely

from carve.arrays import Array
from carve.design.values.circle import sagitta
from carve.errors import ShapeError
from carve.shape.neck.headstock.drawn import DrawnPlan
from carve.shape.neck.headstock.outline import Corner
from carve.shape.neck.heel import Hole
from carve.shape.neck.problems import CornerInBlend, CornersTooRound
from carve.shape.numeric.blend import StraightLine
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial
from carve.shape.planar.rounded_polygon import area, to_chain

NUT_STEP = 1.0  # mm between points of a side where the back is not yet flat
SIDE_SAMPLES = 401  # places at which a side's bend and its distance from its chords are looked at
SIDE_SHARE = 0.8  # of the chord error that a side takes up, so that it holds where bends change
BEYOND_TIP = 2.0  # mm that the face's line goes on


@dataclass(frozen=True, eq=False)
class HeadShape:
    """A headstock, built once from a design and then only evaluated. Lengths in mm.

    tilt: radians. seat: mm behind x = 0 up to which the face lies in the glue plane, a slanted
    nut's reach in it. drop, ramp: mm that the face steps down, and over which. thickness: mm,
    square to the face. flat: where the back has become flat, mm from the nut, negative. bass,
    treble: over x the half widths from the tip to the nut, mm outward. corner: radius of the
    tip's corners in mm; corners: those, bass and treble, None where the outline is drawn. holes:
    seen along their axes where those meet the face. scarfed: whether it is glued on. reach: mm of
    a slanted nut's rear corner behind x = 0, where the headstock begins. drawn: its builder's own
    outline, which then takes the corners' place.
    """

    tilt: float
    seat: float
    drop: float
    ramp: float
    thickness: float
    flat: float
    bass: PiecewisePolynomial
    treble: PiecewisePolynomial
    corner: float
    corners: tuple[Corner, Corner] | None
    holes: tuple[Hole, ...]
    scarfed: bool = False
    reach: float = 0.0
    drawn: DrawnPlan | None = None

    def face_depth(self, x: Array) -> Array:
        """(n,) depth of the face below the glue plane in mm at x (n,), 0 on the seat and before."""
        behind = np.maximum(-np.asarray(x, dtype=float) - self.seat, 0.0)
        if self.tilt:
            return np.asarray(math.tan(self.tilt) * behind)
        if self.ramp == 0:
            return np.where(behind > 0, self.drop, 0.0)
        s = np.minimum(behind / self.ramp, 1.0)
        return np.asarray(self.drop * s**3 * (10 - 15 * s + 6 * s**2))

    @property
    def back(self) -> StraightLine:
        """Depth of the flat back below the glue plane: at x = 0, and its growth per mm."""
        return back_line(self.tilt, self.seat, self.drop, self.thickness)

    def back_depth(self, x: Array) -> Array:
        """(n,) depth of the flat back below the glue plane in mm at x (n,)."""
        level, slope = self.back
        return np.asarray(level + slope * np.asarray(x, dtype=float))

    def face_chain(self, chord_error: float) -> Array:
        """(k, 2) x, z in mm of the face on the centre line, from the seat to beyond the tip."""
        far = self._far
        if self.tilt or self.ramp == 0:
            steps = np.array([[-self.seat, 0.0]])
            if self.drop:
                steps = np.vstack([steps, [[-self.seat, -self.drop]]])
        else:
            # the ramp bends most by 10 / sqrt(3) of drop / ramp^2; a chord over a length d is
            # off by bend d^2 / 8
            bend = 10 / math.sqrt(3) * self.drop / self.ramp**2
            pieces = max(2, math.ceil(self.ramp * math.sqrt(bend / (8 * chord_error))))
            x = -self.seat - self.ramp * np.linspace(0, 1, pieces + 1)
            steps = np.stack([x, -self.face_depth(x)], 1)
        return np.vstack([steps, [[far, -float(self.face_depth(np.array([far]))[0])]]])

    @property
    def scarf_out(self) -> float:
        """Where the scarf joint comes out of the glue face, mm from the nut.

        The joint is the plane of the headstock's flat back, carried on.
        """
        level, slope = self.back
        return -level / slope

    @property
    def tip(self) -> float:
        """Where the headstock ends, mm from the nut, negative; corners not yet rounded."""
        if self.drawn is not None:
            return self.drawn.tip
        return float(min(self.bass.x[0], self.treble.x[0]))

    @property
    def _far(self) -> float:
        return self.tip - BEYOND_TIP

    @property
    def widest(self) -> float:
        """Greatest half width in mm on either side."""
        drawn = 0.0 if self.drawn is None else self.drawn.widest
        x = [np.linspace(side.x[0], 0.0, 201) for side in (self.bass, self.treble)]
        return float(max(self.bass(x[0]).max(), self.treble(x[1]).max(), drawn))

    def rim(self, chord_error: float) -> Array:
        """(k, 2) x, y in mm: the plan beyond ``flat``, counter-clockwise from above.

        From the treble side round the tip to the bass side, without the two points at
        ``flat`` themselves. chord_error: of curves and round corners, mm.
        """
        if self.drawn is not None:
            treble, bass = self._to_drawn(self.drawn, chord_error)
            around = self.drawn.beyond(min(self.flat, self.drawn.join), chord_error)
            return np.vstack([treble, around, bass[::-1]])
        (treble, treble_arc), (bass, bass_arc) = self._halves(chord_error)
        along = self._tips()[0] - self._tips()[1]
        if float((bass_arc[-1] - treble_arc[-1]) @ along) <= 0:
            raise ShapeError(CornersTooRound(self.corner, float(np.linalg.norm(along))))
        return np.vstack([treble, treble_arc, bass_arc[::-1], bass[::-1]])

    def rim_error(self, chord_error: float) -> float:
        """How far in mm the rim is from the outline, at its sides or at its round corners."""
        worst = 0.0
        if self.drawn is not None:
            for side in (self.treble, self.bass):
                x = np.linspace(self.flat, min(self.flat, self.drawn.join), SIDE_SAMPLES)
                nodes = np.r_[self._nodes(side, self.drawn, chord_error)[::-1], self.flat]
                worst = max(worst, float(np.abs(np.interp(x, nodes, side(nodes)) - side(x)).max()))
            return max(worst, self.drawn.error(min(self.flat, self.drawn.join), chord_error))
        for (side, sign), (points, arc) in zip(
            ((self.treble, 1.0), (self.bass, -1.0)), self._halves(chord_error), strict=True
        ):
            start = np.array([[self.flat, sign * float(side(self.flat))]])
            x = np.linspace(self.flat, float(arc[0, 0]), SIDE_SAMPLES)
            fine = np.stack([x, sign * side(x)], 1)
            worst = max(worst, float(to_chain(fine, np.vstack([start, points, arc[:1]])).max()))
            if self.corner:
                half_chord = float(np.linalg.norm(np.diff(arc, axis=0), axis=1).max()) / 2
                worst = max(worst, sagitta(self.corner, half_chord))
        return worst

    def outline(self, chord_error: float) -> Array:
        """(k, 2) x, y in mm: the plan from the nut line to the tip, counter-clockwise."""
        x = np.linspace(0.0, self.flat, max(2, math.ceil(-self.flat / NUT_STEP)) + 1)
        treble, bass = np.stack([x, self.treble(x)], 1), np.stack([x, -self.bass(x)], 1)
        return np.vstack([treble, self.rim(chord_error), bass[::-1]])

    def volume_beyond(self, chord_error: float) -> float:
        """Volume in mm^3 of the part whose back is flat, holes taken out."""
        start = np.array([self.flat])
        ends = np.array(
            [
                [self.flat, float(self.treble(start)[0])],
                [self.flat, -float(self.bass(start)[0])],
            ]
        )
        plan = area(np.vstack([ends[:1], self.rim(chord_error), ends[1:]]))
        holes = sum(math.pi * hole.radius**2 for hole in self.holes)
        return plan * self.thickness / math.cos(self.tilt) - holes * self.thickness

    def _to_drawn(self, drawn: DrawnPlan, chord_error: float) -> tuple[Array, Array]:
        """Treble and bass side from ``flat`` to where the drawing takes over, (k, 2) each."""
        sides = []
        for side, sign in ((self.treble, 1.0), (self.bass, -1.0)):
            x = self._nodes(side, drawn, chord_error)
            sides.append(np.stack([x, sign * side(x)], 1))
        return sides[0], sides[1]

    def _nodes(self, side: PiecewisePolynomial, drawn: DrawnPlan, chord_error: float) -> Array:
        """(k,) places along a side beyond ``flat`` where the drawing has not taken over yet."""
        if drawn.join >= self.flat:
            return np.empty(0)
        inner = _crowded(side, self.flat, drawn.join, chord_error * SIDE_SHARE)
        return np.append(inner, drawn.join)

    def _tips(self) -> tuple[Array, Array]:
        """The tip's corners before they are rounded, bass and treble, (2,) each."""
        bass, treble = self.bass.x[0], self.treble.x[0]
        return (
            np.array([bass, -float(self.bass(bass))]),
            np.array([treble, float(self.treble(treble))]),
        )

    def _halves(self, chord_error: float) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
        """Treble and bass: the side's points (k, 2) beyond ``flat``, and the corner's (n, 2)."""
        halves = []
        assert self.corners is not None
        for side, sign, corner in (
            (self.treble, 1.0, self.corners[1]),
            (self.bass, -1.0, self.corners[0]),
        ):
            arc = corner.points(chord_error)
            if arc[0, 0] >= self.flat:
                raise ShapeError(CornerInBlend(self.corner, -float(arc[0, 0]), -self.flat))
            x = _crowded(side, self.flat, float(arc[0, 0]), chord_error * SIDE_SHARE)
            halves.append((np.stack([x, sign * side(x)], 1), arc))
        return halves[0], halves[1]


def _crowded(side: PiecewisePolynomial, start: float, stop: float, chord_error: float) -> Array:
    """(k,) places between two along a side, closer where it bends. stop < start, mm.

    A chord over a length d is off by bend d^2 / 8; where it is straight there are none.
    """
    x = np.linspace(start, stop, SIDE_SAMPLES)
    density = np.sqrt(np.abs(side.derivative(2)(x)) / (8 * chord_error))
    steps = (density[1:] + density[:-1]) / 2 * (start - stop) / (SIDE_SAMPLES - 1)
    grown = np.r_[0.0, np.cumsum(steps)]
    y, count = side(x), max(1, math.ceil(grown[-1] - 1e-9))
    while True:
        inner = np.interp(np.linspace(0, grown[-1], count + 1)[1:-1], grown, x)
        nodes = np.r_[start, inner, stop][::-1]
        near = np.abs(np.interp(x, nodes, side(nodes)) - y).max() <= chord_error
        if near or count >= SIDE_SAMPLES:  # as many as were looked at: no side is worth more
            return np.asarray(inner)
        count += 1 + count // 4  # few chords over a bend that changes are too far apart


def back_line(tilt: float, seat: float, drop: float, thickness: float) -> StraightLine:
    """The flat back's depth below the glue plane: at x = 0 in mm, and its growth per mm."""
    if tilt == 0:
        return drop + thickness, 0.0
    return thickness / math.cos(tilt) - math.tan(tilt) * seat, -math.tan(tilt)


def wood_around(outline: Array, hole: Hole) -> float:
    """Least wood in mm between a hole's rim and an outline (n, 2), negative where it comes out."""
    plan = shapely.Polygon(outline)
    away = float(plan.exterior.distance(shapely.Point(hole.x, hole.y)))
    return (away if shapely.contains_xy(plan, hole.x, hole.y) else -away) - hole.radius
