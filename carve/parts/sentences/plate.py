"""What is wrong with a carved plate, in words. ``where`` is the plate's key in the design file."""

from typing import assert_never

from carve.design.values.units import Unit, show_length
from carve.parts.sentences.dispatch import sentence
from carve.shape.plate.problems import (
    FalloffOutOfReach,
    FalloffSaidTwice,
    HeightsAtOnePlace,
    NothingFallsOff,
    PadBesideBody,
    PadNoPolygon,
    PadsTooNear,
    ProfileRunsBack,
    RecurveOnLedge,
    RecurveTooFar,
    StationBesideArch,
    StationOffPad,
    TemplateBesideArch,
    TemplateHeightBesideArch,
)


@sentence.register
def _(problem: RecurveOnLedge, unit: Unit) -> str:
    return (
        f"{problem.where}.recurve: {show_length(problem.recurve, unit)} must be more than the "
        f"ledge's width ({show_length(problem.ledge, unit)}), since the recurve runs inside the "
        "ledge"
    )


@sentence.register
def _(problem: RecurveTooFar, unit: Unit) -> str:
    start = f"{problem.where}.recurve: {show_length(problem.recurve, unit)} from the edge"
    match problem.centre_line:
        case "parted":
            return (
                f"{start} the body is parted on its centre line, so the long arch cannot run from "
                "end to end; make it less"
            )
        case "nothing left":
            return (
                f"{start} nothing is left of the body on its centre line; it must be less than "
                "half the body's width"
            )
        case _:
            assert_never(problem.centre_line)


@sentence.register
def _(problem: TemplateBesideArch, unit: Unit) -> str:
    low, high = problem.reach
    return (
        f"{problem.where}.templates: at x = {show_length(problem.x, unit)} the body is nowhere "
        f"inside the recurve line, which runs from {show_length(low, unit)} to "
        f"{show_length(high, unit)}"
    )


@sentence.register
def _(problem: PadNoPolygon, unit: Unit) -> str:
    return (
        f"{problem.where}.pads[{problem.pad}].points: it must have at least 3 corners, and its "
        "sides may not cross"
    )


@sentence.register
def _(problem: PadBesideBody, unit: Unit) -> str:
    return (
        f"{problem.where}.pads[{problem.pad}].points: the pad lies beside the body and would "
        "hold nothing"
    )


@sentence.register
def _(problem: PadsTooNear, unit: Unit) -> str:
    return (
        f"{problem.where}.pads[{problem.pad}].points: the pad lies less than "
        f"{show_length(problem.least, unit)} from pads[{problem.other}], too near for the plate to "
        "come from one plane to the other"
    )


@sentence.register
def _(problem: StationBesideArch, unit: Unit) -> str:
    low, high = problem.reach
    return (
        f"{problem.where}.stations[{problem.station}].x: {show_length(problem.x, unit)} is not on "
        f"the long arch, which runs from recurve to recurve, from {show_length(low, unit)} to "
        f"{show_length(high, unit)}"
    )


@sentence.register
def _(problem: StationOffPad, unit: Unit) -> str:
    return (
        f"{problem.where}.stations[{problem.station}].height: {show_length(problem.height, unit)} "
        f"stands on the pad {problem.pad}, which is {show_length(problem.plane, unit)} high there; "
        "leave the station out or make them agree"
    )


@sentence.register
def _(problem: HeightsAtOnePlace, unit: Unit) -> str:
    of = "stations" if problem.template is None else f"templates[{problem.template}].heights"
    return (
        f"{problem.where}.{of}: two heights stand at {problem.axis} = "
        f"{show_length(problem.at, unit)}; a template has one at each place"
    )


@sentence.register
def _(problem: TemplateHeightBesideArch, unit: Unit) -> str:
    low, high = problem.span
    return (
        f"{problem.where}.templates[{problem.template}]: y = {show_length(problem.y, unit)} must "
        f"lie between the recurve lines, from {show_length(low, unit)} to "
        f"{show_length(high, unit)}, and not on the centre line, where the long arch's height holds"
    )


@sentence.register
def _(problem: FalloffSaidTwice, unit: Unit) -> str:
    return (
        f"{problem.where}.falloff: the cross template at x = {show_length(problem.x, unit)} says "
        f"already how the widest section (x = {show_length(problem.widest, unit)}) rises; leave "
        "one of them out"
    )


@sentence.register
def _(problem: NothingFallsOff, unit: Unit) -> str:
    return (
        f"{problem.where}.falloff: on the widest section, at x = "
        f"{show_length(problem.widest, unit)}, the long arch does not rise above the recurve, so "
        "nothing falls off; leave it out"
    )


@sentence.register
def _(problem: FalloffOutOfReach, unit: Unit) -> str:
    return (
        f"{problem.where}.falloff: {show_length(problem.falloff, unit)} is out of reach; with "
        f"these heights it cannot be {'less' if problem.least else 'more'} than "
        f"{show_length(problem.limit, unit)} at x = {show_length(problem.widest, unit)}, the "
        "widest section"
    )


@sentence.register
def _(problem: ProfileRunsBack, unit: Unit) -> str:
    return (
        f"{problem.where}.contours[{problem.contour}]: {show_length(problem.at, unit)} from the "
        f"edge must be more than {show_length(problem.before, unit)}, the one before it or the "
        "ledge's width"
    )
