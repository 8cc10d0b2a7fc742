"""What is wrong with a neck, in words."""

import math

from carve.design.values.units import Unit, show_length
from carve.parts.sentences.dispatch import sentence
from carve.shape.neck.problems import (
    CapWidth,
    CarvedHeelShallow,
    CarvedHeelSteep,
    CornerInBlend,
    CornerMisfit,
    CornersTooRound,
    DrawnComesBack,
    DrawnCorner,
    DrawnSideAcross,
    HeadNarrow,
    HeadPart,
    HeadRunsOut,
    HeelBeforeStation,
    HoleInBlend,
    HoleOut,
    HoleProblem,
    NoSingleDrawnSide,
    TongueWide,
)

HEAD = "neck.headstock"
CORNER = f"{HEAD}.outline.corner_radius"
DRAWN = f"{HEAD}.drawn"

HEAD_PARTS: dict[HeadPart, str] = {
    "blend": f"{HEAD}.blend_radius",
    "transition": f"{HEAD}.transition",
    "ramp": f"{HEAD}.ramp",
    "volute": f"{HEAD}.volute.length",
}


@sentence.register
def _(problem: HeelBeforeStation, unit: Unit) -> str:
    return (
        "neck.heel.blend: the heel begins to flow out of the shaft "
        f"{show_length(problem.heel, unit)} from the nut, before the first station at "
        f"{show_length(problem.station, unit)}; make neck.heel.blend shorter or move that station "
        "toward the nut"
    )


@sentence.register
def _(problem: CarvedHeelShallow, unit: Unit) -> str:
    return (
        f"neck.heel.depth: {show_length(problem.depth, unit)} is not deep enough for a carved "
        f"heel; the shaft is {show_length(problem.shaft, unit)} deep where it begins to flow into "
        "it, and the back sweeps down from there"
    )


@sentence.register
def _(problem: CarvedHeelSteep, unit: Unit) -> str:
    return (
        f"neck.heel.blend: {show_length(problem.blend, unit)} is too short for a heel "
        f"{show_length(problem.depth, unit)} deep (neck.heel.depth); its back would be steeper "
        f"than {math.degrees(problem.steepest):.0f}°; at least "
        f"{show_length(problem.shortest, unit)} is needed"
    )


@sentence.register
def _(problem: CapWidth, unit: Unit) -> str:
    return (
        f"neck.heel.cap_width: {show_length(problem.width, unit)} is not allowed with a cap "
        f"{show_length(problem.length, unit)} long (neck.heel.cap_length) on this heel; from "
        f"{show_length(problem.least, unit)} to {show_length(problem.most, unit)}, or make the cap "
        f"{'longer' if problem.too_wide else 'shorter'}"
    )


@sentence.register
def _(problem: TongueWide, unit: Unit) -> str:
    return (
        f"neck.heel.tongue.width: {show_length(problem.width, unit)} is not allowed; the heel's "
        f"flanks leave {show_length(problem.most, unit)} at the tongue's depth of "
        f"{show_length(problem.depth, unit)} (neck.heel.tongue.depth), with a shoulder of "
        f"{show_length(problem.shoulder, unit)} on each side"
    )


@sentence.register
def _(problem: HeadRunsOut, unit: Unit) -> str:
    return (
        f"{HEAD_PARTS[problem.part]}: reaches {show_length(problem.reaches, unit)} behind the nut, "
        f"and the headstock has {show_length(problem.available, unit)} before its tip; make it "
        "less or the headstock longer"
    )


@sentence.register
def _(problem: HeadNarrow, unit: Unit) -> str:
    return (
        f"{HEAD}.outline.width: the headstock is {show_length(problem.half, unit)} wide beside the "
        f"centre line before its back is flat, {show_length(problem.flat, unit)} behind the nut; "
        f"at least {show_length(problem.least, unit)} is needed, {problem.share:g} of the half "
        "width at the nut"
    )


@sentence.register
def _(problem: CornersTooRound, unit: Unit) -> str:
    return (
        f"{CORNER}: {show_length(problem.radius, unit)} is too much for a tip "
        f"{show_length(problem.tip, unit)} wide; make it smaller"
    )


@sentence.register
def _(problem: CornerInBlend, unit: Unit) -> str:
    return (
        f"{CORNER}: {show_length(problem.radius, unit)} lets the tip's round corner begin "
        f"{show_length(problem.begins, unit)} behind the nut, where the back is still in its "
        f"blend, which ends {show_length(problem.flat, unit)} behind it; make it smaller or the "
        "headstock longer"
    )


@sentence.register
def _(problem: CornerMisfit, unit: Unit) -> str:
    radius = show_length(problem.radius, unit)
    return f"{CORNER}: {radius} does not fit the tip's corners; make it smaller"


def _row(problem: HoleProblem, otherwise: str) -> str:
    """The key to a hole's place. otherwise: the one where holes are not given one by one."""
    return f"{HEAD}.tuners[{problem.row}].{'places' if problem.one_by_one else otherwise}"


@sentence.register
def _(problem: HoleInBlend, unit: Unit) -> str:
    return (
        f"{_row(problem, 'behind')}: the hole {show_length(problem.behind, unit)} behind the nut "
        f"reaches into the blend of the back, which ends {show_length(problem.flat, unit)} behind "
        "it; move the hole toward the tip, or make blend, transition or volute shorter"
    )


@sentence.register
def _(problem: HoleOut, unit: Unit) -> str:
    return (
        f"{_row(problem, 'aside')}: the hole {show_length(problem.behind, unit)} behind the nut "
        f"and {show_length(problem.aside, unit)} aside stands {show_length(problem.out, unit)} out "
        "of the headstock; move it inward"
    )


@sentence.register
def _(problem: DrawnSideAcross, unit: Unit) -> str:
    return (
        f"{DRAWN}.flare: {show_length(problem.behind, unit)} behind the nut, where the sides have "
        f"come to the drawn line, its {problem.side} side runs across the neck more than along it; "
        "make it longer or shorter"
    )


@sentence.register
def _(problem: NoSingleDrawnSide, unit: Unit) -> str:
    return (
        f"{DRAWN}: {show_length(problem.behind, unit)} behind the nut the outline has no single "
        f"{problem.side} side; between the nut and where the back is flat it must run along the "
        "neck once on either side of the centre line"
    )


@sentence.register
def _(problem: DrawnCorner, unit: Unit) -> str:
    return (
        f"{DRAWN}: the outline's {problem.side} side has a corner near "
        f"{show_length(problem.behind, unit)} behind the nut, where the back is still round; round "
        f"it in the drawing, or let the sides come to the drawn line beyond it ({DRAWN}.flare)"
    )


@sentence.register
def _(problem: DrawnComesBack, unit: Unit) -> str:
    return (
        f"{DRAWN}: the outline comes back toward the nut past {show_length(problem.behind, unit)} "
        "behind it, where its back is not flat yet; draw it so that it does so further from the "
        "nut"
    )
