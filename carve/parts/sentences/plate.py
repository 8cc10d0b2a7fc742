"""What is wrong with a carved plate, in words. ``where`` is the plate's key in the design file."""

from typing import assert_never

from carve.design.values.units import Unit
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
        f"{problem.where}.recurve: {problem.recurve:g} mm must be more than the ledge's width "
        f"({problem.ledge:g} mm), since the recurve runs inside the ledge"
    )


@sentence.register
def _(problem: RecurveTooFar, unit: Unit) -> str:
    start = f"{problem.where}.recurve: {problem.recurve:g} mm from the edge"
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
        f"{problem.where}.templates: at x = {problem.x:g} mm the body is nowhere inside the "
        f"recurve line, which runs from {low:.1f} to {high:.1f} mm"
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
        f"{problem.where}.pads[{problem.pad}].points: the pad lies less than {problem.least:g} mm "
        f"from pads[{problem.other}], too near for the plate to come from one plane to the other"
    )


@sentence.register
def _(problem: StationBesideArch, unit: Unit) -> str:
    low, high = problem.reach
    return (
        f"{problem.where}.stations[{problem.station}].x: {problem.x:g} mm is not on the long arch, "
        f"which runs from recurve to recurve, from {low:.1f} to {high:.1f} mm"
    )


@sentence.register
def _(problem: StationOffPad, unit: Unit) -> str:
    return (
        f"{problem.where}.stations[{problem.station}].height: {problem.height:g} mm stands on the "
        f"pad {problem.pad}, which is {problem.plane:.2f} mm high there; leave the station out or "
        "make them agree"
    )


@sentence.register
def _(problem: HeightsAtOnePlace, unit: Unit) -> str:
    of = "stations" if problem.template is None else f"templates[{problem.template}].heights"
    return (
        f"{problem.where}.{of}: two heights stand at {problem.axis} = {problem.at:g} mm; a "
        "template has one at each place"
    )


@sentence.register
def _(problem: TemplateHeightBesideArch, unit: Unit) -> str:
    low, high = problem.span
    return (
        f"{problem.where}.templates[{problem.template}]: y = {problem.y:g} mm must lie between the "
        f"recurve lines, from {low:.1f} to {high:.1f} mm, and not on the centre line, where the "
        "long arch's height holds"
    )


@sentence.register
def _(problem: FalloffSaidTwice, unit: Unit) -> str:
    return (
        f"{problem.where}.falloff: the cross template at x = {problem.x:g} mm says already how the "
        f"widest section (x = {problem.widest:g} mm) rises; leave one of them out"
    )


@sentence.register
def _(problem: NothingFallsOff, unit: Unit) -> str:
    return (
        f"{problem.where}.falloff: on the widest section, at x = {problem.widest:g} mm, the long "
        "arch does not rise above the recurve, so nothing falls off; leave it out"
    )


@sentence.register
def _(problem: FalloffOutOfReach, unit: Unit) -> str:
    return (
        f"{problem.where}.falloff: {problem.falloff:g} mm is out of reach; with these heights it "
        f"cannot be {'less' if problem.least else 'more'} than {problem.limit:.1f} mm at "
        f"x = {problem.widest:g} mm, the widest section"
    )


@sentence.register
def _(problem: ProfileRunsBack, unit: Unit) -> str:
    return (
        f"{problem.where}.contours[{problem.contour}]: {problem.at:g} mm from the edge must be "
        f"more than {problem.before:g} mm, the one before it or the ledge's width"
    )
