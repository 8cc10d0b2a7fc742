"""A body's outline from its bouts: one closed cubic B-spline, C2 all around.

Its control points stand around the body like the corners of a fair polygon, and the curve never
leaves their hulls and crosses no straight line more often than their polygon does (variation
diminishing; de Boor, A Practical Guide to Splines, from memory): no wiggle comes in that is not
drawn. Where the builder gave a measure the control point beside it is moved until the curve
itself has it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, assert_never

import numpy as np
import shapely

from carve.arrays import Array
from carve.design.schema.bouts import Bouts, Cutaway
from carve.design.values.curve import Curve
from carve.errors import Problem, ShapeError
from carve.shape.outlines.problems import (
    Bout,
    BoutNarrow,
    BoutsOutOfOrder,
    CutawayDeep,
    CutawaySide,
    HornPastNotch,
    LowerBoutBehindTail,
    NoFairOutline,
    NotchWide,
)
from carve.shape.planar.curves import as_pieces

SAMPLES_PER_SPAN = 48  # places looked at in each span
MOST_ROUNDS = 200  # of moving control points
MEASURE_TOLERANCE = 0.01  # mm, how well the measures are met
DAMPING = 0.8  # of what is missing, that a control point is moved by in a round

LEAST_HORN = 10.0  # mm from the bottom of its notch to a horn's end
WIDEST_NOTCH = 0.6  # of what a bout is wider than the edge at the neck, on one side
STANDS_OUT = 1.08  # times the waist's width

# a span of a uniform cubic B-spline as a Bezier piece, from its four control points
_TO_BEZIER = np.array([[1, 4, 1, 0], [0, 4, 2, 0], [0, 2, 4, 0], [0, 1, 4, 1]]) / 6


Measure = Literal[
    "tail", "horn", "notch", "upper", "upper at", "waist", "waist at", "lower", "lower at"
]
"""What of a side is measured: how far it goes, how wide it is, or where it is so wide."""


@dataclass(frozen=True)
class _Aim:
    """A measure of the curve and the control points that bring it about.

    points, axis: the control points' numbers on their side, and the axis they are moved on.
    after: the control point from which on the measure is looked for, a horn's tip.
    """

    points: tuple[int, ...]
    axis: int
    target: float
    measure: Measure
    after: int = 0


def bouts_curve(bouts: Bouts, name: str) -> Curve:
    """The outline in the body's frame: x from the edge that meets the neck, y to the treble side.

    name: of the curve. Raises ShapeError where the measures do not go together.
    """
    _hold_together(bouts)
    treble, treble_aims = _side(bouts, bouts.treble, bouts.offset / 2)
    bass, bass_aims = _side(bouts, bouts.bass, -bouts.offset / 2)
    count = len(treble)
    # from the joint down the treble side to the tail and up the bass side, mirrored
    control = np.concatenate([treble, (bass * [1, -1])[::-1]])
    last = len(control) - 1
    aims = [(aim, 1.0, aim.points) for aim in treble_aims]
    aims += [(aim, -1.0, tuple(last - p for p in aim.points)) for aim in bass_aims]
    missing = np.inf
    for _ in range(MOST_ROUNDS):
        points = _curve_points(control)
        treble_side = points[: count * SAMPLES_PER_SPAN]
        bass_side = points[(count - 1) * SAMPLES_PER_SPAN : last * SAMPLES_PER_SPAN + 1][::-1] * [
            1,
            -1,
        ]
        sides = {1.0: treble_side, -1.0: bass_side}
        missing = 0.0
        moved = control.copy()
        for aim, sign, where in aims:
            found = _measured(aim, sides[sign], bouts, sign)
            short = aim.target - found
            missing = max(missing, abs(short))
            moved[list(where), aim.axis] += DAMPING * short * (sign if aim.axis else 1.0)
        control = moved
        if missing < MEASURE_TOLERANCE:
            break
    curve = Curve(name, as_pieces(_bezier(control)))
    ring = shapely.LinearRing(_curve_points(control))
    if not missing < MEASURE_TOLERANCE or not ring.is_simple:
        raise ShapeError(NoFairOutline())
    return curve


def _hold_together(bouts: Bouts) -> None:
    """Raises ShapeError where measures contradict one another."""
    problems = [*_out_of_order(bouts), *_too_narrow(bouts)]
    sides: tuple[tuple[CutawaySide, Cutaway | None], ...] = (
        ("bass", bouts.bass),
        ("treble", bouts.treble),
    )
    for side, cut in sides:
        if cut is not None:
            problems += _wrong_cutaway(bouts, side, cut)
    if problems:
        raise ShapeError(*problems)


def _out_of_order(bouts: Bouts) -> Iterator[Problem]:
    """Upper bout, waist and lower bout follow one another from the neck to the tail."""
    aside = before = abs(bouts.offset) / 2
    places: tuple[tuple[Bout, float], ...] = (
        ("upper", bouts.upper_at),
        ("waist", bouts.waist_at),
        ("lower", bouts.lower_at),
    )
    for bout, place in places:
        if not before < place:
            yield BoutsOutOfOrder(bout, place, before)
        before = max(before, place)
    if bouts.lower_at + aside >= bouts.length:
        yield LowerBoutBehindTail(bouts.lower_at, bouts.length - aside)


def _too_narrow(bouts: Bouts) -> Iterator[Problem]:
    """All are wider than the edge that meets the neck."""
    widths: tuple[tuple[Bout, float], ...] = (
        ("upper", bouts.upper),
        ("waist", bouts.waist),
        ("lower", bouts.lower),
    )
    for bout, width in widths:
        if width <= bouts.joint:
            yield BoutNarrow(bout, width, bouts.joint)


def _wrong_cutaway(bouts: Bouts, side: CutawaySide, cut: Cutaway) -> Iterator[Problem]:
    """A cutaway ends before the waist, and leaves a horn beside its notch."""
    if cut.depth + cut.horn < LEAST_HORN:
        yield HornPastNotch(side, cut.horn, cut.depth, LEAST_HORN)
    waist = bouts.waist_at - abs(bouts.offset) / 2
    if cut.depth >= waist:
        yield CutawayDeep(side, cut.depth, waist)
    widest = WIDEST_NOTCH * ((bouts.upper - bouts.joint) / 2)
    if cut.notch > widest:
        yield NotchWide(side, cut.notch, widest)


def _side(bouts: Bouts, cut: Cutaway | None, aside: float) -> tuple[Array, list[_Aim]]:
    """Control points (n, 2) of one side from the joint to the tail, y outward, and its aims."""
    upper, waist, lower = bouts.upper / 2, bouts.waist / 2, bouts.lower / 2
    upper_at, waist_at = bouts.upper_at + aside, bouts.waist_at + aside
    lower_at = bouts.lower_at + aside
    joint = bouts.joint / 2
    tail = bouts.length
    points: list[tuple[float, float]] = [(0.0, joint / 3), (0.0, joint)]
    aims: list[_Aim] = []
    if cut is None:
        points += [
            (0.04 * upper_at, joint + 0.45 * (upper - joint)),
            (0.35 * upper_at, joint + 0.9 * (upper - joint)),
        ]
    else:
        room = upper - joint
        inner = joint + cut.notch
        tip = inner + 0.42 * (upper - inner)
        reach = cut.depth + cut.horn
        number = len(points)
        points += [
            (0.35 * cut.depth, joint + 0.04 * room),
            (cut.depth, joint + 0.1 * cut.notch),
            (cut.depth, joint + 0.75 * cut.notch),
            (cut.depth - 0.5 * reach, inner),
            (-cut.horn, tip - 0.28 * (upper - inner)),
            (-cut.horn, tip + 0.3 * (upper - inner)),
            (-cut.horn + 0.45 * (upper_at + cut.horn), upper - 0.06 * (upper - inner)),
        ]
        aims += [
            _Aim((number + 1, number + 2), 0, cut.depth, "notch"),
            _Aim((number + 4, number + 5), 0, -cut.horn, "horn"),
        ]
    here = len(points)
    points += [
        (upper_at, upper),
        (waist_at, waist),
        (lower_at, lower),
        (lower_at + 0.64 * (tail - lower_at), 0.86 * lower),
        (lower_at + 0.96 * (tail - lower_at), 0.5 * lower),
        (tail, 0.16 * lower),
    ]
    tip = here - 2 if cut is not None else 0
    aims += [
        _Aim((here,), 1, upper, "upper", tip),
        _Aim((here + 1,), 1, waist, "waist", tip),
        _Aim((here + 2,), 1, lower, "lower", tip),
        _Aim((len(points) - 2, len(points) - 1), 0, tail, "tail"),
    ]
    if _stands_out(bouts.upper, bouts.waist):
        aims.append(_Aim((here,), 0, upper_at, "upper at", tip))
    if _stands_out(bouts.lower, bouts.waist):
        aims.append(_Aim((here + 2,), 0, lower_at, "lower at", tip))
    if _stands_out(min(bouts.upper, bouts.lower), bouts.waist):
        aims.append(_Aim((here + 1,), 0, waist_at, "waist at", tip))
    return np.array(points), aims


def _stands_out(bout: float, waist: float) -> bool:
    """Whether a bout is enough wider than the waist that one sees where each of them is.

    Where they are nearly alike each has its width at its place and no summit of its own there.
    """
    return bout > STANDS_OUT * waist


def _measured(aim: _Aim, side: Array, bouts: Bouts, sign: float) -> float:
    """What a measure is on one side of the curve, (n, 2) from the joint to the tail, y outward."""
    aside = sign * bouts.offset / 2
    x = side[:, 0]
    near = slice(
        max(aim.points[0] - 1, 0) * SAMPLES_PER_SPAN, (aim.points[-1] + 1) * SAMPLES_PER_SPAN
    )
    match aim.measure:
        case "tail":
            return float(x.max())
        case "horn":
            return float(_summit(side, near.start + int(np.argmin(x[near])), 0)[0])
        case "notch":
            return float(_summit(side, near.start + int(np.argmax(x[near])), 0)[0])
        case "upper" | "upper at":
            return _measured_bout(aim, side, bouts, aside, "upper")
        case "waist" | "waist at":
            return _measured_bout(aim, side, bouts, aside, "waist")
        case "lower" | "lower at":
            return _measured_bout(aim, side, bouts, aside, "lower")
        case _:
            assert_never(aim.measure)


def _measured_bout(aim: _Aim, side: Array, bouts: Bouts, aside: float, name: Bout) -> float:
    """Half width in mm of a bout or the waist, or its place where the aim is at that.

    aside: mm that the side's places are shifted by. side: as for ``_measured``.
    """
    x, y = side.T
    outer = np.arange(len(x)) >= aim.after * SAMPLES_PER_SPAN
    upper_at, waist_at, lower_at = (
        place + aside for place in (bouts.upper_at, bouts.waist_at, bouts.lower_at)
    )
    if name == "lower" and _stands_out(bouts.lower, bouts.waist):
        at = int(np.argmax(np.where(outer & (x > waist_at), y, -np.inf)))
    elif name == "upper" and _stands_out(bouts.upper, bouts.waist):
        at = int(np.argmax(np.where(outer & (x < waist_at), y, -np.inf)))
    elif name == "waist" and _stands_out(min(bouts.upper, bouts.lower), bouts.waist):
        at = int(np.argmin(np.where(outer & (x > upper_at) & (x < lower_at), y, np.inf)))
    else:
        places: dict[Bout, float] = {"upper": upper_at, "waist": waist_at, "lower": lower_at}
        place = places[name]
        at = int(np.argmax(outer & (x >= place)))
        share = (place - x[at - 1]) / (x[at] - x[at - 1])
        return float(y[at - 1] + share * (y[at] - y[at - 1]))
    return float(_summit(side, at, 1)[0 if aim.measure.endswith(" at") else 1])


def _summit(side: Array, at: int, axis: int) -> Array:
    """The point (2,) of a side where it goes furthest along an axis, near its point ``at``.

    By the parabolas through three points, which are closer to it than the points themselves.
    """
    at = min(max(at, 1), len(side) - 2)
    before, here, after = side[at - 1 : at + 2]
    slope, bend = (after - before) / 2, after - 2 * here + before
    t = -slope[axis] / bend[axis] if bend[axis] else 0.0
    t = min(max(t, -1.0), 1.0)
    return np.asarray(here + slope * t + bend / 2 * t**2)


def _bezier(control: Array) -> Array:
    """(n, 4, 2) Bezier pieces of a closed uniform B-spline, each from control point i to i + 1."""
    four = np.stack([np.roll(control, shift, axis=0) for shift in (1, 0, -1, -2)], 1)
    return np.asarray(_TO_BEZIER @ four)


def _curve_points(control: Array) -> Array:
    """(n * LOOKS, 2) points of the curve, LOOKS to a span."""
    t = np.arange(SAMPLES_PER_SPAN) / SAMPLES_PER_SPAN
    weights = np.stack([(1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3], 1)
    return np.asarray((weights @ _bezier(control)).reshape(-1, 2))
