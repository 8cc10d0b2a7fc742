"""Whether the bridge reaches the height that the action asks for, and can still be adjusted."""

from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_least, at_most
from carve.check.reading.keys import SIDE_VIEW
from carve.check.tolerances import STRING
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.side_view import SideView, side_view

FIXED = 1e-6  # mm of travel; a bridge with no more doesn't adjust, and has none to spare


@looks_at(keys=("limits.bridge_spare", "units", "neck.heel", *SIDE_VIEW))
def check(job: Job) -> Iterator[Finding]:
    """One finding where the design has a joint: the bridge's height against its nearer end."""
    design, side = job.design, side_view(job.design)
    if side is None:
        return
    unit, spare = design.units, design.limits.bridge_spare
    down, up = side.needed - side.lowest, side.highest - side.needed
    low = down < up
    fixed = side.highest - side.lowest <= FIXED
    if low:
        kept = None if fixed else side.lowest + spare
        judged = at_least(side.needed, side.lowest, warning=kept, tolerance=STRING)
    else:
        kept = None if fixed else side.highest - spare
        judged = at_most(side.needed, side.highest, warning=kept, tolerance=STRING)
    warned = judged.verdict is Verdict.WARNING
    yield judged.finding(
        part="assembly",
        name="bridge-height",
        check="bridge height for the action asked",
        place=f"{show_length(side.playing.saddle, unit)} from the nut, above the body's top",
        point=(side.playing.saddle, 0.0, 0.0),
        source=f"bridge.height_{'lowest' if low else 'highest'}"
        + (", limits.bridge_spare; common practice" if warned else ""),
        advice="" if judged.good else _advice(design, side),
        detail=_left(side, design)
        if not fixed
        else f"the bridge stands {show_length(side.lowest, unit)} high and does not adjust",
    )


def _left(side: SideView, design: Design) -> str:
    unit = design.units
    low, high = side.action_with(side.lowest), side.action_with(side.highest)
    reach = (
        f"its range gives {show_length(low, unit) if low > 0 else 'strings on the frets'} to "
        f"{show_length(high, unit) if high > 0 else 'strings on the frets'} at the 12th fret"
    )
    if side.outside > 0:
        return f"{show_length(side.outside, unit)} above the bridge's highest; {reach}"
    if side.outside < 0:
        return f"{show_length(-side.outside, unit)} below the bridge's lowest; {reach}"
    return (
        f"{show_length(side.needed - side.lowest, unit)} left downward, "
        f"{show_length(side.highest - side.needed, unit)} upward; {reach}"
    )


def _advice(design: Design, side: SideView) -> str:
    """What brings the bridge to the middle of its range: a flat shim or a wedge."""
    unit = design.units
    middle = (side.lowest + side.highest) / 2
    lift = middle - side.needed
    heel = design.neck.heel
    if heel is not None and heel.kind == "through":  # nothing goes under a neck that goes on
        way = "more" if lift > 0 else "less"
        return (
            f"to stand in the middle of its range, make the neck's height over the body "
            f"{show_length(abs(lift), unit)} {way} (joint.height), or leave joint.height or "
            "joint.angle out, and it follows"
        )
    way = "raise" if lift > 0 else "lower"
    said = f"to stand in the middle of its range, {way} the neck {show_length(abs(lift), unit)}"
    said += " (a flat shim, or joint.height)" if lift > 0 else " (a deeper pocket, or joint.height)"
    wedge = side.wedge(middle, design.place(design.neck.heel_end))
    if wedge is None:
        return said
    at_edge, at_heel = wedge
    thick, there, thin = (
        (at_heel, "at the heel's end", "the body's edge")
        if at_heel
        else (at_edge, "at the body's edge", "the heel's end")
    )
    return (
        f"{said}, or change the neck angle by a wedge of {show_length(thick, unit)} {there}, "
        f"thinning to nothing at {thin}"
    )
