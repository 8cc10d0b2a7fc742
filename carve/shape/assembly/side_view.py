"""The side view on the centre line: how neck, strings, bridge and body stand to one another.

A string is a straight line from the nut to the saddle, given by its height at the nut and
over the 12th fret. Where it ends, the saddle must be. The body's edge plane passes under
the saddle in the bridge's height, and under the neck's glue plane at the body's edge in
the neck's height; the angle between the two planes is the neck angle:

    bridge + top = neck height + D sin(angle) + z cos(angle)

with the saddle's contact D mm beyond the body's edge along the glue plane, and z mm above
it. All of it is plane trigonometry, nothing is taken as small.

Under the strings' pull the neck bows. It is held by the body, so it is straight there and
round from the body's edge to the nut: a moment that is the same everywhere bends a beam
into an arc of a circle (Euler and Bernoulli's beam; any text on strength of materials).
Its relief is what a straightedge over the first and the last fret shows at their middle.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import assert_never

import numpy as np

from carve.arrays import Array
from carve.design.derived.board_plan import BoardPlan, board_plan
from carve.design.derived.bridge_reach import bridge_out_of_reach
from carve.design.schema.assembly import Action, Bridge, Joint
from carve.design.schema.design import Design
from carve.design.values.circle import sagitta
from carve.design.values.fan import SlantedLine
from carve.errors import ShapeError
from carve.shape.assembly.frames import instrument_to_body, moved
from carve.shape.assembly.problems import (
    AngleUnsettled,
    BodyAboveGlueFace,
    BridgeOutOfReach,
    CarvedHeelLeansForward,
)
from carve.shape.neck.finish import neck_film
from carve.shape.neck.heel import BodyPlane
from carve.shape.numeric.root import root_between

STRAIGHTEDGE = 0.25  # of the scale; a shorter one shows no relief
FLUSH = 1e-6  # mm; planes that are no further apart are one
MOST_TURNS = 40
SETTLED_TOLERANCE = 1e-7  # mm
OCTAVE = 0.5  # of the scale: where the 12th fret is


@dataclass(frozen=True)
class Bow:
    """The neck's bow: straight over the body, an arc of a circle before it.

    edge: mm from the nut to the body's edge. curvature: of the arc, per mm; 0 is straight.
    """

    edge: float
    curvature: float

    def rise(self, x: Array) -> Array:
        """(n,) mm by which the neck at x (n,) stands above where it would be if straight."""
        ahead = np.maximum(self.edge - np.asarray(x, dtype=float), 0.0)
        radius = np.inf if self.curvature == 0 else 1 / self.curvature
        return sagitta(np.full_like(ahead, radius), ahead)

    def gap(self, first: float, last: float) -> float:
        """Gap in mm half way under a straightedge from first to last (mm from the nut).

        Measured square to the straightedge; negative where the neck is humped.
        """
        middle = (first + last) / 2
        start, stop, low = self.rise(np.array([first, last, middle]))
        return float(((start + stop) / 2 - low) * math.cos(math.atan2(stop - start, last - first)))


def bow_with(relief: float, edge: float, first: float, last: float) -> Bow:
    """The bow that shows a relief under a straightedge from first to last. All in mm."""
    if relief == 0:
        return Bow(edge, 0.0)
    tightest = 0.95 / edge  # per mm; the neck would be most of a quarter circle

    def off(curvature: float) -> float:
        return Bow(edge, curvature).gap(first, last) - relief

    return Bow(edge, root_between(off, 0.0, tightest, 1e-18, 1e-14))


@dataclass(frozen=True)
class StringLine:
    """A straight line through two points of the side view. x, z in mm."""

    first: tuple[float, float]
    second: tuple[float, float]

    def height(self, x: Array) -> Array:
        """(n,) mm above the glue plane at x (n,)."""
        (x0, z0), (x1, z1) = self.first, self.second
        return np.asarray(z0 + (z1 - z0) * (np.asarray(x, dtype=float) - x0) / (x1 - x0))


@dataclass(frozen=True)
class Playing:
    """What the strings run over, and where they are measured, on the centre line.

    crown: mm of the board's finished surface above the glue plane. fret_height: mm.
    frets: places in mm from the nut. twelfth: where action is measured. saddle: the
    saddle's place. bow: the neck's. action: what is asked at the 12th fret on the centre
    line. nut: place and height of what the nut gives: over the board, or over the 1st fret.
    nut_line, twelfth_line, saddle_line: the three places from above, for every string.
    """

    plan: BoardPlan
    crown: float
    fret_height: float
    frets: Array
    twelfth: float
    saddle: float
    bow: Bow
    action: float
    nut: tuple[float, float]
    twelfth_line: SlantedLine
    saddle_line: SlantedLine
    nut_line: SlantedLine

    def fret_top(self, x: Array) -> Array:
        """(n,) mm of a fret's top above the glue plane at x (n,), on the centre line."""
        return self.crown + self.fret_height + self.bow.rise(x)

    def string(self, action: float | None = None) -> StringLine:
        """The string with the action that is asked, or with another. action: mm."""
        over = float(self.fret_top(np.array([self.twelfth]))[0])
        return StringLine(
            self.nut, (self.twelfth, over + (self.action if action is None else action))
        )


def playing(design: Design, action: Action) -> Playing:
    """What the strings run over. The neck bows up to the body's edge, or to its heel end.

    The straightedge lies on the first and the last fret; where frets are too few for it, or
    the first is too near to the body's edge to show the bow, on the nut and the body's edge.
    """
    plan = board_plan(design)
    frets = np.array(plan.frets)
    joint, bridge = design.joint, design.bridge
    edge = design.place(design.neck.heel_end if joint is None else joint.at)
    enough = (
        len(frets) > 1
        and frets[-1] - frets[0] >= STRAIGHTEDGE * design.saddle_line.at
        and frets[0] <= edge / 2
    )
    first, last = (frets[0], frets[-1]) if enough else (0.0, edge)
    bow = bow_with(action.relief, edge, float(first), float(last))
    crown = design.fretboard.thickness + neck_film(design.finish).board_top
    match action.nut_over:
        case "1st fret":
            nut_line, under_nut = plan.lines[0], action.fret_height
        case "board":
            nut_line, under_nut = plan.nut, 0.0
        case _:
            assert_never(action.nut_over)
    place = nut_line.at
    twelfth_line = plan.lines[11] if len(frets) > 11 else design.line_at(OCTAVE)
    saddle_line = design.saddle_line.moved(0.0 if bridge is None else bridge.compensation)
    level = crown + under_nut + action.nut_height
    return Playing(
        plan=plan,
        crown=crown,
        fret_height=action.fret_height,
        frets=frets,
        twelfth=twelfth_line.at,
        saddle=saddle_line.at,
        bow=bow,
        action=(action.bass + action.treble) / 2,
        nut=(place, level + float(bow.rise(np.array([place]))[0])),
        twelfth_line=twelfth_line,
        saddle_line=saddle_line,
        nut_line=nut_line,
    )


def neck_angle(reach: float, saddle: float, rise: float) -> float:
    """Neck angle in radians.

    reach: mm along the glue plane from the body's edge to the saddle. saddle: mm of its
    contact above the glue plane. rise: mm of that contact above a line along the body's
    edge plane, in the height of the glue plane at the body's edge: bridge + top - neck
    height. From rise = reach sin(angle) + saddle cos(angle), written as one sine.
    """
    away = math.hypot(reach, saddle)
    return math.asin(rise / away) - math.atan2(saddle, reach)


def contact_rise(reach: float, saddle: float, angle: float) -> float:
    """The other way round: rise in mm of the contact for an angle in radians."""
    return reach * math.sin(angle) + saddle * math.cos(angle)


@dataclass(frozen=True)
class SideView:
    """Neck, strings, bridge and body on the centre line.

    edge: mm from the nut to the body's edge. angle: radians. neck_height: mm of the glue
    plane above the body's edge plane at the body's edge. top: mm of the body's top at the
    bridge above the edge plane. lowest, highest: the bridge's range, needed: its height
    that gives the action asked for, stands: where it is set, all mm above the top.
    action: mm at the 12th fret with the bridge where it stands.
    """

    playing: Playing
    edge: float
    angle: float
    neck_height: float
    top: float
    lowest: float
    highest: float
    needed: float
    stands: float
    action: float

    @property
    def reach(self) -> float:
        """Mm along the glue plane from the body's edge to the saddle."""
        return self.playing.saddle - self.edge

    @property
    def outside(self) -> float:
        """How far the needed height is outside the bridge's range, in mm.

        Positive above its highest, negative below its lowest, 0 within.
        """
        return max(self.needed - self.highest, 0.0) + min(self.needed - self.lowest, 0.0)

    def to_body(self) -> Array:
        """From the instrument's frame to the body's, (4, 4)."""
        return instrument_to_body(self.edge, self.angle, self.neck_height)

    def action_with(self, bridge: float) -> float:
        """Action in mm at the 12th fret with the bridge at a height in mm above the top."""
        return _action(self.playing, self.reach, self.angle, bridge + self.top - self.neck_height)

    def wedge(self, bridge: float, heel: float) -> tuple[float, float] | None:
        """A tapered shim under the heel that brings the bridge to a height, the action kept.

        bridge: mm above the top. heel: mm from the nut to where the heel ends.
        Returns its thickness in mm at the body's edge and at the heel's end, one of them 0;
        None where no wedge does it. Where it is thicker at the heel's end the neck turns
        about the body's edge, else about the heel's end.
        """
        saddle = float(self.playing.string().height(np.array([self.playing.saddle]))[0])
        length = heel - self.edge
        steeper = bridge > self.needed
        pivot = self.edge if steeper else heel
        level = self.neck_height + (pivot - self.edge) * math.sin(self.angle)
        reach = self.playing.saddle - pivot
        rise = bridge + self.top - level
        if abs(rise) >= math.hypot(reach, saddle):
            return None
        turn = neck_angle(reach, saddle, rise) - self.angle
        thick = length * math.tan(abs(turn))
        return (0.0, thick) if steeper else (thick, 0.0)


def side_view(design: Design) -> SideView | None:
    """The side view of a design, or None where it has no joint, action or bridge.

    Raises ValueError where the top is carved and its height at the bridge is not filled in
    (``parts.settle.resolve_top_height``).
    """
    if design.joint is None or design.action is None or design.bridge is None:
        return None
    carved = design.body is not None and design.body.top is not None
    if carved and design.bridge.top_height is None:
        raise ValueError("how high a carved top is at the bridge must be settled first")
    return solved(
        playing(design, design.action), design.joint, design.bridge, design.place(design.joint.at)
    )


def top_at_bridge(design: Design, height: Callable[[float, float, float], float]) -> float:
    """Height in mm of a carved top at the bridge, square under the saddle's contact.

    height: from x in mm from the body's edge, neck angle in radians and neck height in mm to the
    top's on the centre line. Angle and place hang on it in turn, and little: it is found by turns.
    Raises ShapeError where no neck angle reaches the bridge.
    """
    joint, bridge = design.joint, design.bridge
    if joint is None or bridge is None or design.action is None:
        return 0.0
    over, edge = playing(design, design.action), design.place(joint.at)
    top = 0.0
    for _ in range(MOST_TURNS):
        problems = [BridgeOutOfReach(away) for away in bridge_out_of_reach(design, top)]
        if problems:
            raise ShapeError(*problems)
        side = solved(over, joint, bridge.model_copy(update={"top_height": top}), edge)
        contact = over.string(side.action).height(np.array([over.saddle]))[0]
        place = moved(np.array([[over.saddle, 0.0, contact]]), side.to_body())
        before, top = top, height(float(place[0, 0]), side.angle, side.neck_height)
        if abs(top - before) < SETTLED_TOLERANCE:
            return top
    raise ShapeError(AngleUnsettled())


def body_plane(design: Design) -> BodyPlane | None:
    """How the body lies to a through-neck or to a carved heel; None for any other.

    Raises ShapeError where the body's top would lie above the glue face beyond the fretboard,
    and where a carved heel would have to reach under the body.
    """
    heel, side = design.neck.heel, side_view(design)
    if heel is None or side is None:
        return None
    match heel.kind:
        case "bolted" | "tenon":
            return None
        case "carved":
            if side.angle < -FLUSH:
                raise ShapeError(CarvedHeelLeansForward(side.angle))
            return BodyPlane(side.edge, side.angle, 0.0, 0.0)
        case "through":
            body = BodyPlane(side.edge, side.angle, side.neck_height, side.playing.plan.end)
            ends = np.array([body.board_end, design.place(design.neck.heel_end)])
            above = float(-body.below(ends).min())
            if above > FLUSH:
                raise ShapeError(BodyAboveGlueFace(above))
            return body
        case _:
            assert_never(heel.kind)


def solved(over: Playing, joint: Joint, bridge: Bridge, edge: float) -> SideView:
    """Angle, neck height or bridge height, whichever of the three the design leaves open.

    edge: mm from the nut to the body's edge.
    """
    reach, top = over.saddle - edge, bridge.top_height or 0.0
    saddle = float(over.string().height(np.array([over.saddle]))[0])
    middle = (bridge.height_lowest + bridge.height_highest) / 2
    wanted = middle if bridge.height is None else bridge.height
    angle = None if joint.angle is None else math.radians(joint.angle)
    height = joint.height
    if angle is None:
        height = 0.0 if height is None else height
        angle = neck_angle(reach, saddle, wanted + top - height)
    elif height is None:
        height = wanted + top - contact_rise(reach, saddle, angle)
    needed = height + contact_rise(reach, saddle, angle) - top
    stands = needed if bridge.height is None else bridge.height
    return SideView(
        playing=over,
        edge=edge,
        angle=angle,
        neck_height=height,
        top=top,
        lowest=bridge.height_lowest,
        highest=bridge.height_highest,
        needed=needed,
        stands=stands,
        action=_action(over, reach, angle, stands + top - height),
    )


def _action(over: Playing, reach: float, angle: float, rise: float) -> float:
    """Action in mm at the 12th fret that a saddle in a given rise gives."""
    saddle = (rise - reach * math.sin(angle)) / math.cos(angle)
    string = StringLine(over.nut, (over.saddle, saddle))
    twelfth = np.array([over.twelfth])
    return float((string.height(twelfth) - over.fret_top(twelfth))[0])
