"""What is wrong with how neck, strings and body stand together, in words."""

import math

from carve.design.rules.assembly import said_out_of_reach
from carve.design.values.units import Unit, show_length
from carve.parts.sentences.dispatch import sentence
from carve.shape.assembly.problems import (
    AngleUnsettled,
    BodyAboveGlueFace,
    BridgeOutOfReach,
    CarvedHeelLeansForward,
)


@sentence.register
def _(problem: BridgeOutOfReach, unit: Unit) -> str:
    return said_out_of_reach(problem.bridge, unit)  # as for a flat top, which a rule looks at


@sentence.register
def _(problem: AngleUnsettled, unit: Unit) -> str:
    return (
        "body.top.neck_plane: with it neck angle and arch don't come to agree; give "
        "bridge.top_height, or joint.angle"
    )


@sentence.register
def _(problem: CarvedHeelLeansForward, unit: Unit) -> str:
    return (
        f"joint.angle: {math.degrees(problem.angle):.2f}° is not allowed with a carved heel, whose "
        "face stands against the body's side; a level neck or one that leans back, 0° or more, so "
        "make joint.height less or take a higher bridge"
    )


@sentence.register
def _(problem: BodyAboveGlueFace, unit: Unit) -> str:
    return (
        "joint.height: on a through-neck the body's top would stand "
        f"{show_length(problem.above, unit)} above the neck's glue face beyond the fretboard's "
        "end; it lies in its plane or below it, so make the neck stand higher over the body or "
        "lean back further"
    )
