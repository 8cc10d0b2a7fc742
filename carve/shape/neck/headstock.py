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
from scipy.interpolate import BPoly
from scipy.optimize import brentq

from carve.arrays import Array
from carve.design.schema.headstock import DrawnHead, HeadOutline, Headstock
from carve.design.values.circle import sagitta
from carve.design.values.curve import Curve, moved_pieces
from carve.errors import DesignError
from carve.shape.neck.headstock_drawn import KEY as DRAWN
from carve.shape.neck.headstock_drawn import DrawnPlan, drawn_sides
from carve.shape.neck.heel import Hole
from carve.shape.neck.volute import VoluteShape
from carve.shape.numeric.blend import StraightLine, between, chain, in_turn, toward_nut
from carve.shape.numeric.monotone_spline import smooth_through
from carve.shape.planar.drawn_outline import behind_nut, placed
from carve.shape.planar.rounded_polygon import arc_pieces, area, to_chain

LONGEST_BLEND = 400.0  # mm; longer than any headstock
NARROWEST = 0.75  # of the half width at the nut; where the back is still round it would fold
LEAST_FLAT = 5.0  # mm of flat back before the tip's round corners
DRILL_OUT = 1.0  # mm that a drill goes on beyond the back
HOLE_CHORD = 0.01  # mm; an outline is that close when wood beside a hole is measured
NUT_STEP = 1.0  # mm between points of a side where the back is not yet flat
SIDE_LOOKS = 401  # places at which a side's bend and its distance from its chords are looked at
SIDE_SHARE = 0.8  # of the chord error that a side takes up, so that it holds where bends change


@dataclass(frozen=True, eq=False)
class HeadShape:
    """A headstock, built once from a design and then only evaluated. Lengths in mm.

    tilt: radians. seat: behind x = 0, a slanted nut's reach in it. drop, ramp, thickness: as the
    design has them. flat: where the back
    has become flat, mm from the nut, negative. bass, treble: half widths from the tip to the
    nut, each outward. corner: radius of the tip's corners; corners: those, bass and treble.
    holes: seen along their axes where those meet the face. scarfed: whether it is glued on.
    reach: of a slanted nut's rear corner behind x = 0, where the headstock begins. drawn: its
    builder's own outline, which then takes the corners' place.
    """

    tilt: float
    seat: float
    drop: float
    ramp: float
    thickness: float
    flat: float
    bass: BPoly
    treble: BPoly
    corner: float
    corners: tuple["Corner", "Corner"] | None
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
        return _back_line(self.tilt, self.seat, self.drop, self.thickness)

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
        return _tip(self.bass, self.treble, self.drawn)

    @property
    def _far(self) -> float:
        return self.tip - 2.0

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
            raise DesignError(
                [
                    f"neck.headstock.outline.corner_radius: {self.corner:g} mm is too much for a "
                    f"tip {float(np.linalg.norm(along)):.2f} mm wide; make it smaller"
                ]
            )
        return np.vstack([treble, treble_arc, bass_arc[::-1], bass[::-1]])

    def rim_error(self, chord_error: float) -> float:
        """How far in mm the rim is from the outline, at its sides or at its round corners."""
        worst = 0.0
        if self.drawn is not None:
            for side in (self.treble, self.bass):
                x = np.linspace(self.flat, min(self.flat, self.drawn.join), SIDE_LOOKS)
                nodes = np.r_[self._nodes(side, self.drawn, chord_error)[::-1], self.flat]
                worst = max(worst, float(np.abs(np.interp(x, nodes, side(nodes)) - side(x)).max()))
            return max(worst, self.drawn.error(min(self.flat, self.drawn.join), chord_error))
        for (side, sign), (points, arc) in zip(
            ((self.treble, 1.0), (self.bass, -1.0)), self._halves(chord_error), strict=True
        ):
            start = np.array([[self.flat, sign * float(side(self.flat))]])
            x = np.linspace(self.flat, float(arc[0, 0]), SIDE_LOOKS)
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

    def _nodes(self, side: BPoly, drawn: DrawnPlan, chord_error: float) -> Array:
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
                raise DesignError(
                    [
                        f"neck.headstock.outline.corner_radius: {self.corner:g} mm lets the tip's "
                        f"round corner begin {-arc[0, 0]:.2f} mm behind the nut, where the back is "
                        f"still in its blend, which ends {-self.flat:.2f} mm behind it; make it "
                        "smaller or the headstock longer"
                    ]
                )
            x = _crowded(side, self.flat, float(arc[0, 0]), chord_error * SIDE_SHARE)
            halves.append((np.stack([x, sign * side(x)], 1), arc))
        return halves[0], halves[1]


def _crowded(side: BPoly, start: float, stop: float, chord_error: float) -> Array:
    """(k,) places between two along a side, closer where it bends. stop < start, mm.

    A chord over a length d is off by bend d^2 / 8; where it is straight there are none.
    """
    x = np.linspace(start, stop, SIDE_LOOKS)
    density = np.sqrt(np.abs(side.derivative(2)(x)) / (8 * chord_error))
    steps = (density[1:] + density[:-1]) / 2 * (start - stop) / (SIDE_LOOKS - 1)
    grown = np.r_[0.0, np.cumsum(steps)]
    y, count = side(x), max(1, math.ceil(grown[-1] - 1e-9))
    while True:
        inner = np.interp(np.linspace(0, grown[-1], count + 1)[1:-1], grown, x)
        nodes = np.r_[start, inner, stop][::-1]
        near = np.abs(np.interp(x, nodes, side(nodes)) - y).max() <= chord_error
        if near or count >= SIDE_LOOKS:  # as many as were looked at: no side is worth more
            return np.asarray(inner)
        count += 1 + count // 4  # few chords over a bend that changes are too far apart


def _back_line(tilt: float, seat: float, drop: float, thickness: float) -> StraightLine:
    """The flat back's depth below the glue plane: at x = 0 in mm, and its growth per mm."""
    if tilt == 0:
        return drop + thickness, 0.0
    return thickness / math.cos(tilt) - math.tan(tilt) * seat, -math.tan(tilt)


def along_face(behind: float, tilt: float, reach: float) -> float:
    """Where, as x in mm, a place lies that is ``behind`` mm from the nut.

    Level to the nut's rear corner, and from there on the slant. tilt: radians. reach: mm from
    the nut, on the centre line, to that corner.
    """
    return -behind if behind <= reach else -reach - (behind - reach) * math.cos(tilt)


def sides(
    outline: HeadOutline, tilt: float, nut_half: float, flare: float, reach: float = 0.0
) -> tuple[BPoly, BPoly]:
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
        if outline.family == "straight":
            slope = (widest - end) / (run_out - tip)
            beyond = chain((tip, run_out), (end, widest), (slope, slope))
        else:
            waist = (outline.waist or 0.0) / 2 + sign * (outline.aside + outline.end_aside) / 2
            x = np.array([tip, (tip + run_out) / 2, run_out])
            beyond = smooth_through(x, np.array([end, waist, widest]), (tip, run_out), "level")
            slope = 0.0
        pieces = [beyond, chain((run_out, -reach), (widest, taper_end), (slope, flare))]
        if reach:
            pieces.append(chain((-reach, 0.0), (taper_end, nut_half), (flare, flare)))
        curves.append(in_turn(*pieces))
    return curves[0], curves[1]


def joined_head(
    head: Headstock,
    shaft: BPoly,
    volute: VoluteShape | None,
    nut_half: float,
    flare: float,
    reach: float = 0.0,
) -> tuple[BPoly, HeadShape]:
    """The depth behind the nut, from where the back is flat, and the headstock.

    shaft: the depth before the nut. nut_half, flare, reach: as for ``sides``.
    Raises DesignError where blend or holes find no room on the headstock.
    """
    tilt = math.radians(head.tilt)
    plan, room = None, 0.0
    if head.drawn is not None:
        plan = _drawn_plan(head.drawn, tilt, reach)
        room = -plan.tip - LEAST_FLAT
    elif head.outline is not None:
        bass, treble = sides(head.outline, tilt, nut_half, flare, reach)
        room = -max(float(bass.x[0]), float(treble.x[0])) - head.outline.corner_radius - LEAST_FLAT
    own: StraightLine = (float(shaft(0.0)), float(shaft.derivative()(0.0)))
    back = _back_line(tilt, head.seat + reach, head.drop, head.thickness)
    shaft_line, head_line = ((level - slope * reach, slope) for level, slope in (own, back))
    blend = toward_nut(shaft_line, head_line, head.blend_radius, LONGEST_BLEND)
    end, start = blend[0] - reach, blend[1] - reach
    reaches = {
        "neck.headstock.blend_radius": -end,
        "neck.headstock.transition": reach + head.transition,
        "neck.headstock.ramp": reach + head.seat + head.ramp if head.drop else 0.0,
        "neck.headstock.volute.length": 0.0 if volute is None else -volute.reach[0],
    }
    key = max(reaches, key=lambda name: reaches[name])
    if reaches[key] > room:
        raise DesignError(
            [
                f"{key}: reaches {reaches[key]:.2f} mm behind the nut, and the headstock has "
                f"{max(room, 0.0):.2f} mm before its tip; make it less or the headstock longer"
            ]
        )
    flat = -reaches[key]
    pieces = [between(end, start, back, own)]
    if flat < end:
        pieces.insert(0, between(flat, end, back, back))
    if start < 0:
        pieces.append(between(start, 0.0, own, own))
    if plan is not None:
        nut = (-reach, nut_half - flare * reach, flare)
        bass, treble = drawn_sides(plan.curve, plan.join, flat, nut)
    _wide_enough(bass, treble, flat, nut_half)
    shape = _head_shape(head, flat, (bass, treble), reach, plan)
    _holes_have_room(head, shape)
    return in_turn(*pieces), shape


def _wide_enough(bass: BPoly, treble: BPoly, flat: float, nut_half: float) -> None:
    x = np.linspace(flat, 0.0, 200)
    narrowest = float(min(bass(x).min(), treble(x).min()))
    if narrowest < NARROWEST * nut_half:
        raise DesignError(
            [
                f"neck.headstock.outline.width: the headstock is {narrowest:.2f} mm wide beside "
                f"the centre line before its back is flat, {-flat:.2f} mm behind the nut; at least "
                f"{NARROWEST * nut_half:.2f} mm is needed, {NARROWEST:g} of the half width at the "
                "nut"
            ]
        )


def _drawn_plan(drawn: DrawnHead, tilt: float, reach: float) -> DrawnPlan:
    """The drawing laid behind the nut, as seen from above."""
    curve = behind_nut(placed(drawn, DRAWN, headstock=True).outline)
    # level to a slanted nut's rear corner, and from there on the slant, as ``along_face`` has it
    shorter = math.cos(tilt)
    laid = moved_pieces(curve.pieces, (shorter, 0.0, 0.0, 1.0, -reach * (1 - shorter), 0.0))
    return DrawnPlan(Curve(curve.name, laid), along_face(reach + drawn.flare, tilt, reach))


def _tip(bass: BPoly, treble: BPoly, drawn: DrawnPlan | None) -> float:
    return float(min(bass.x[0], treble.x[0])) if drawn is None else drawn.tip


def _head_shape(
    head: Headstock,
    flat: float,
    both: tuple[BPoly, BPoly],
    reach: float,
    plan: DrawnPlan | None,
) -> HeadShape:
    tilt = math.radians(head.tilt)
    corner = 0.0 if head.outline is None else head.outline.corner_radius
    return HeadShape(
        tilt=tilt,
        seat=head.seat + reach,
        drop=head.drop,
        ramp=head.ramp if head.drop else 0.0,
        thickness=head.thickness,
        flat=flat,
        bass=both[0],
        treble=both[1],
        corner=corner,
        corners=_corners(*both, corner) if plan is None else None,
        holes=tuple(
            Hole(along_face(behind, tilt, reach), aside, row.diameter / 2)
            for row in head.tuners
            for behind, aside in row.holes()
        ),
        scarfed=head.joint == "scarfed",
        reach=reach,
        drawn=plan,
    )


def _holes_have_room(head: Headstock, shape: HeadShape) -> None:
    rows = [n for n, row in enumerate(head.tuners) for _ in row.holes()]
    outline = shape.outline(HOLE_CHORD)  # which says whether the corners fit
    for row, hole in zip(rows, shape.holes, strict=True):
        key, one_by_one = f"neck.headstock.tuners[{row}]", head.tuners[row].places
        # a leaning hole comes out of the back further toward the nut
        out = hole.x + (head.thickness + DRILL_OUT) * math.sin(shape.tilt) + hole.radius
        if out > shape.flat:
            raise DesignError(
                [
                    f"{key}.{'places' if one_by_one else 'behind'}: the hole {-hole.x:.2f} mm "
                    "behind the nut reaches into the blend of the back, which ends "
                    f"{-shape.flat:.2f} mm behind it; move the hole toward the tip, or make blend, "
                    "transition or volute shorter"
                ]
            )
        spare = wood_around(outline, hole)
        if spare <= 0:
            raise DesignError(
                [
                    f"{key}.{'places' if one_by_one else 'aside'}: the hole {-hole.x:.2f} mm "
                    f"behind the nut and {hole.y:.2f} mm aside stands {-spare:.2f} mm out of the "
                    "headstock; move it inward"
                ]
            )


def wood_around(outline: Array, hole: Hole) -> float:
    """Least wood in mm between a hole's rim and an outline (n, 2), negative where it comes out."""
    plan = shapely.Polygon(outline)
    away = float(plan.exterior.distance(shapely.Point(hole.x, hole.y)))
    return (away if shapely.contains_xy(plan, hole.x, hole.y) else -away) - hole.radius


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


def _corners(bass: BPoly, treble: BPoly, radius: float) -> tuple[Corner, Corner]:
    """The tip's corners on the bass and on the treble side."""
    tips = [
        np.array([side.x[0], sign * float(side(side.x[0]))])
        for side, sign in ((bass, -1.0), (treble, 1.0))
    ]
    return (
        _round_corner(bass, -1.0, tips[0], tips[1], radius),
        _round_corner(treble, 1.0, tips[1], tips[0], radius),
    )


def _round_corner(side: BPoly, sign: float, tip: Array, other: Array, radius: float) -> Corner:
    """An arc that touches the side and the tip's edge, or the corner itself."""
    if radius == 0:
        return Corner(tip, tip, 0.0, 0.0)
    edge = (other - tip) / np.linalg.norm(other - tip)
    inward = np.array([edge[1], -edge[0]])
    inward = inward * math.copysign(1.0, inward[0])  # toward the nut
    slope = side.derivative()

    def centre(x: float) -> Array:
        normal = np.array([float(slope(x)), -1.0]) / math.hypot(1.0, float(slope(x)))
        return np.array([x, sign * float(side(x))]) + radius * normal * [1.0, sign]

    def beyond(x: float) -> float:
        return float((centre(x) - tip) @ inward) - radius

    nearest, furthest = float(side.x[0]), float(side.x[0]) + 4 * radius
    if furthest > side.x[-1] or beyond(nearest) > 0 or beyond(furthest) < 0:
        raise DesignError(
            [
                f"neck.headstock.outline.corner_radius: {radius:g} mm does not fit the tip's "
                "corners; make it smaller"
            ]
        )
    x = float(brentq(beyond, nearest, furthest, xtol=1e-10))
    middle = centre(x)
    start = np.array([x, sign * float(side(x))]) - middle
    stop = -radius * inward
    turn = math.acos(float(np.clip(start @ stop / radius**2, -1, 1)))
    way = math.copysign(1.0, float(start[0] * stop[1] - start[1] * stop[0]))
    return Corner(start + middle, middle, way * turn, radius)
