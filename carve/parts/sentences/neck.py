"""What is wrong with a neck, in words."""

import math

from carve.design.values.units import Unit
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
        f"neck.heel.blend: the heel begins to flow out of the shaft {problem.heel:.2f} mm from the "
        f"nut, before the first station at {problem.station:.2f} mm; make neck.heel.blend shorter "
        "or move that station toward the nut"
    )


@sentence.register
def _(problem: CarvedHeelShallow, unit: Unit) -> str:
    return (
        f"neck.heel.depth: {problem.depth:g} mm is not deep enough for a carved heel; the shaft is "
        f"{problem.shaft:.2f} mm deep where it begins to flow into it, and the back sweeps down "
        "from there"
    )


@sentence.register
def _(problem: CarvedHeelSteep, unit: Unit) -> str:
    return (
        f"neck.heel.blend: {problem.blend:g} mm is too short for a heel {problem.depth:g} mm deep "
        f"(neck.heel.depth); its back would be steeper than {math.degrees(problem.steepest):.0f}°; "
        f"at least {problem.shortest:.2f} mm is needed"
    )


@sentence.register
def _(problem: CapWidth, unit: Unit) -> str:
    return (
        f"neck.heel.cap_width: {problem.width:g} mm is not allowed with a cap {problem.length:g} "
        f"mm long (neck.heel.cap_length) on this heel; from {problem.least:.2f} mm to "
        f"{problem.most:.2f} mm, or make the cap {'longer' if problem.too_wide else 'shorter'}"
    )


@sentence.register
def _(problem: TongueWide, unit: Unit) -> str:
    return (
        f"neck.heel.tongue.width: {problem.width:g} mm is not allowed; the heel's flanks leave "
        f"{problem.most:.2f} mm at the tongue's depth of {problem.depth:g} mm "
        f"(neck.heel.tongue.depth), with a shoulder of {problem.shoulder:g} mm on each side"
    )


@sentence.register
def _(problem: HeadRunsOut, unit: Unit) -> str:
    return (
        f"{HEAD_PARTS[problem.part]}: reaches {problem.reaches:.2f} mm behind the nut, and the "
        f"headstock has {problem.available:.2f} mm before its tip; make it less or the headstock "
        "longer"
    )


@sentence.register
def _(problem: HeadNarrow, unit: Unit) -> str:
    return (
        f"{HEAD}.outline.width: the headstock is {problem.half:.2f} mm wide beside the centre line "
        f"before its back is flat, {problem.flat:.2f} mm behind the nut; at least "
        f"{problem.least:.2f} mm is needed, {problem.share:g} of the half width at the nut"
    )


@sentence.register
def _(problem: CornersTooRound, unit: Unit) -> str:
    return (
        f"{CORNER}: {problem.radius:g} mm is too much for a tip {problem.tip:.2f} mm wide; make it "
        "smaller"
    )


@sentence.register
def _(problem: CornerInBlend, unit: Unit) -> str:
    return (
        f"{CORNER}: {problem.radius:g} mm lets the tip's round corner begin {problem.begins:.2f} "
        f"mm behind the nut, where the back is still in its blend, which ends {problem.flat:.2f} "
        "mm behind it; make it smaller or the headstock longer"
    )


@sentence.register
def _(problem: CornerMisfit, unit: Unit) -> str:
    return f"{CORNER}: {problem.radius:g} mm does not fit the tip's corners; make it smaller"


def _row(problem: HoleProblem, otherwise: str) -> str:
    """The key to a hole's place. otherwise: the one where holes are not given one by one."""
    return f"{HEAD}.tuners[{problem.row}].{'places' if problem.one_by_one else otherwise}"


@sentence.register
def _(problem: HoleInBlend, unit: Unit) -> str:
    return (
        f"{_row(problem, 'behind')}: the hole {problem.behind:.2f} mm behind the nut reaches into "
        f"the blend of the back, which ends {problem.flat:.2f} mm behind it; move the hole toward "
        "the tip, or make blend, transition or volute shorter"
    )


@sentence.register
def _(problem: HoleOut, unit: Unit) -> str:
    return (
        f"{_row(problem, 'aside')}: the hole {problem.behind:.2f} mm behind the nut and "
        f"{problem.aside:.2f} mm aside stands {problem.out:.2f} mm out of the headstock; move it "
        "inward"
    )


@sentence.register
def _(problem: DrawnSideAcross, unit: Unit) -> str:
    return (
        f"{DRAWN}.flare: {problem.behind:.2f} mm behind the nut, where the sides have come to the "
        f"drawn line, its {problem.side} side runs across the neck more than along it; make it "
        "longer or shorter"
    )


@sentence.register
def _(problem: NoSingleDrawnSide, unit: Unit) -> str:
    return (
        f"{DRAWN}: {problem.behind:.2f} mm behind the nut the outline has no single "
        f"{problem.side} side; between the nut and where the back is flat it must run along the "
        "neck once on either side of the centre line"
    )


@sentence.register
def _(problem: DrawnCorner, unit: Unit) -> str:
    return (
        f"{DRAWN}: the outline's {problem.side} side has a corner near {problem.behind:.2f} mm "
        "behind the nut, where the back is still round; round it in the drawing, or let the sides "
        f"come to the drawn line beyond it ({DRAWN}.flare)"
    )


@sentence.register
def _(problem: DrawnComesBack, unit: Unit) -> str:
    return (
        f"{DRAWN}: the outline comes back toward the nut past {problem.behind:.2f} mm behind it, "
        "where its back is not flat yet; draw it so that it does so further from the nut"
    )
