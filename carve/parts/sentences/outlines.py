"""What is wrong with a builder's outline, in words."""

import math

from carve.design.values.curve import Point
from carve.design.values.quote import quoted
from carve.design.values.units import Unit, show_length
from carve.parts.sentences.dispatch import sentence
from carve.shape.outlines.problems import (
    BoutNarrow,
    BoutsOutOfOrder,
    CentreLineLeans,
    CentreLineMisses,
    CurveCrosses,
    CurveEmpty,
    CurveNarrow,
    CurveOutside,
    CurveSize,
    CurveWithin,
    CutawayDeep,
    HornPastNotch,
    LayerProblem,
    LengthDisagrees,
    LowerBoutBehindTail,
    Misread,
    NeighboursAlike,
    NoDrawing,
    NoFairOutline,
    NotchWide,
    OutlineAlone,
    Owner,
    SeveralOuterCurves,
)

KEYS: dict[Owner, str] = {"body": "body.outline", "headstock": "neck.headstock.drawn"}
BOUTS = f"{KEYS['body']}.bouts"
MOST_NAMED = 3  # curves that a sentence lists

MISREAD: dict[Misread, str] = {
    "inches": "inches were taken for millimetres on one of the two ways",
    "pixels": "it was drawn in pixels of 1/96 in",
    "points": "it was drawn in points of 1/72 in",
    "dots": "72 and 96 dots an inch were mixed up",
    "centimetres": "centimetres and millimetres were mixed up",
    "metres": "metres and millimetres were mixed up",
    "half": "it was drawn at half size, or twice",
    "quarter": "it was drawn at a quarter of its size, or four times",
}


def _place(at: Point, unit: Unit) -> str:
    return f"x {show_length(at[0], unit)}, y {show_length(at[1], unit)}"


def _size(size: tuple[float, float], unit: Unit) -> str:
    return " x ".join(show_length(side, unit) for side in size)


def _curve(problem: CurveSize | CurveCrosses | CurveEmpty) -> tuple[str, str]:
    """The key that asks for a curve, and what the curve is called."""
    key = KEYS[problem.of]
    if problem.where is not None:
        return f"{problem.where}.layer", quoted(problem.curve)
    if problem.curve is None:
        return f"{key}.points", quoted(key)
    return f"{key}.file", quoted(problem.curve)


@sentence.register
def _(problem: NeighboursAlike, unit: Unit) -> str:
    return f"{KEYS[problem.of]}.points: points {problem.one} and {problem.other} are the same"


@sentence.register
def _(problem: SeveralOuterCurves, unit: Unit) -> str:
    curves, layer = problem.curves, problem.layer
    named = "; ".join(
        f"{quoted(one.name) if one.name is not None else 'one'}, {_size(one.size, unit)}, at "
        f"{_place(one.at, unit)}"
        for one in curves[:MOST_NAMED]
    )
    where = f"layer {quoted(layer)}" if layer else "the drawing"
    return (
        f"{KEYS[problem.of]}.{'curve' if layer else 'layer'}: {where} has {len(curves)} outer "
        f"curves: {named}{'; ...' if len(curves) > MOST_NAMED else ''}; say which is the outline"
    )


@sentence.register
def _(problem: CurveSize, unit: Unit) -> str:
    key, name = _curve(problem)
    return (
        f"{key}: the curve {name} is {_size(problem.size, unit)}; one from "
        f"{show_length(problem.smallest, unit)} to {show_length(problem.largest, unit)} long is "
        "allowed"
    )


@sentence.register
def _(problem: CurveCrosses, unit: Unit) -> str:
    key, name = _curve(problem)
    return f"{key}: the curve {name} crosses or touches itself at {_place(problem.at, unit)}"


@sentence.register
def _(problem: CurveEmpty, unit: Unit) -> str:
    key, name = _curve(problem)
    return f"{key}: the curve {name} encloses nothing, it runs there and back on itself"


@sentence.register
def _(problem: CentreLineLeans, unit: Unit) -> str:
    return (
        f"{KEYS[problem.of]}.neck_toward: the centre line runs {math.degrees(problem.lean):.1f}° "
        f"off {quoted(problem.toward)} on the page; at most {math.degrees(problem.most):g}° are "
        "allowed"
    )


@sentence.register
def _(problem: CentreLineMisses, unit: Unit) -> str:
    name = "centre_layer" if problem.by_layer else "centre_at"
    return (
        f"{KEYS[problem.of]}.{name}: the centre line does not meet the outline, it is "
        f"{show_length(problem.beside, unit)} beside it"
    )


@sentence.register
def _(problem: LengthDisagrees, unit: Unit) -> str:
    return (
        f"{KEYS[problem.of]}.length: {show_length(problem.measured, unit)} by your measure, but "
        f"the drawing's {quoted(problem.curve)} is {show_length(problem.drawn, unit)} long"
        f"{_cause(problem, unit)}"
        f"{f'; other curves there are not shown: {problem.unseen}' if problem.unseen else ''}"
    )


def _cause(problem: LengthDisagrees, unit: Unit) -> str:
    """What may be behind it."""
    if problem.across is not None:
        return (
            f"; across the page it is {show_length(problem.across, unit)}: is `neck_toward` "
            f"right, which is {quoted(problem.toward)}?"
        )
    way = "more" if problem.drawn > problem.measured else "less"
    known = (
        f"; that is {ratio:.4g} times {way}: {MISREAD[why]}?" for ratio, why in problem.misread
    )
    return "".join(known) or f"; at most {100 * problem.agrees:g} % between them are allowed"


@sentence.register
def _(problem: NoDrawing, unit: Unit) -> str:
    layer, key = quoted(problem.layer), KEYS[problem.of]
    return f"{problem.where}.layer: {layer} is a layer of a drawing, and {key} has none"


@sentence.register
def _(problem: OutlineAlone, unit: Unit) -> str:
    return f"{problem.where}.layer: layer {quoted(problem.layer)} holds nothing but the outline"


def _on_layer(problem: LayerProblem, at: Point, unit: Unit) -> str:
    return (
        f"{problem.where}.layer: the curve at {_place(at, unit)} on layer {quoted(problem.layer)}"
    )


@sentence.register
def _(problem: CurveOutside, unit: Unit) -> str:
    return f"{_on_layer(problem, problem.at, unit)} lies outside the outline"


@sentence.register
def _(problem: CurveNarrow, unit: Unit) -> str:
    least = show_length(problem.least, unit)
    return f"{_on_layer(problem, problem.at, unit)} is nowhere wider than {least}"


@sentence.register
def _(problem: CurveWithin, unit: Unit) -> str:
    return (
        f"{_on_layer(problem, problem.at, unit)} lies within or upon another one there, and both "
        "would be cut away; take it out, or put it on a layer of its own"
    )


@sentence.register
def _(problem: BoutsOutOfOrder, unit: Unit) -> str:
    return (
        f"{BOUTS}.{problem.bout}_at: {show_length(problem.at, unit)} is not allowed; more than "
        f"{show_length(problem.before, unit)}, since upper bout, waist and lower bout follow one "
        "another from the neck to the tail"
    )


@sentence.register
def _(problem: LowerBoutBehindTail, unit: Unit) -> str:
    return (
        f"{BOUTS}.lower_at: {show_length(problem.at, unit)} is not allowed; with the offset it "
        f"lies before the tail, at less than {show_length(problem.most, unit)}"
    )


@sentence.register
def _(problem: BoutNarrow, unit: Unit) -> str:
    return (
        f"{BOUTS}.{problem.bout}: {show_length(problem.width, unit)} is not allowed; it is wider "
        f"than the edge that meets the neck, {show_length(problem.joint, unit)}"
    )


@sentence.register
def _(problem: HornPastNotch, unit: Unit) -> str:
    return (
        f"{BOUTS}.{problem.side}.horn: {show_length(problem.horn, unit)} is not allowed; the horn "
        f"ends at least {show_length(problem.least, unit)} before the bottom of the notch, which "
        f"lies {show_length(problem.depth, unit)} from the edge"
    )


@sentence.register
def _(problem: CutawayDeep, unit: Unit) -> str:
    return (
        f"{BOUTS}.{problem.side}.depth: {show_length(problem.depth, unit)} is not allowed; less "
        f"than the waist's place, {show_length(problem.waist, unit)}"
    )


@sentence.register
def _(problem: NotchWide, unit: Unit) -> str:
    return (
        f"{BOUTS}.{problem.side}.notch: {show_length(problem.notch, unit)} is not allowed; at most "
        f"{show_length(problem.most, unit)}, so that a horn is left beside it"
    )


@sentence.register
def _(problem: NoFairOutline, unit: Unit) -> str:
    return (
        f"{BOUTS}: no smooth outline goes through these measures; bring bouts and waist closer to "
        "one another in width, or further apart along the body, or make a horn shorter"
    )
