"""How the neck stands on the body: its angle, and its height at the body's edge."""

import math
from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_least, at_most, first_missed
from carve.check.reading.keys import SIDE_VIEW
from carve.check.tolerances import ANGLE, STRING
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.side_view import side_view


@looks_at(keys=("limits.neck_angle", "units", *SIDE_VIEW))
def check(job: Job) -> Iterator[Finding]:
    """Two findings where the design has a joint."""
    design, side = job.design, side_view(job.design)
    if side is None or design.joint is None:
        return
    unit = design.units
    angle = math.degrees(side.angle)
    where = f"{show_length(side.edge, unit)} from the nut, at the body's edge"
    judged = first_missed(
        at_most(angle, design.limits.neck_angle, tolerance=ANGLE, missed=Verdict.WARNING),
        at_least(angle, 0.0, tolerance=ANGLE, missed=Verdict.WARNING),
    )
    forward = judged.sense == "at least"
    yield judged.finding(
        part="assembly",
        name="neck-angle",
        check="neck angle",
        quantity="angle",
        place=where,
        point=(side.edge, 0.0, 0.0),
        source="no lean forward; common practice"
        if forward
        else "limits.neck_angle; common practice",
        advice="the neck leans forward; make the neck's height over the body less (joint.height), "
        "or take a higher bridge"
        if forward
        else "make the neck's height over the body greater (joint.height), or take a lower bridge",
        detail="as given (joint.angle)"
        if design.joint.angle is not None
        else "follows from the bridge's height and joint.height",
    )
    height = at_least(side.neck_height, 0.0, tolerance=STRING, missed=Verdict.WARNING)
    yield height.finding(
        part="assembly",
        name="neck-height",
        check="neck height over the body's edge",
        place=where,
        point=(side.edge, 0.0, 0.0),
        source="the fretboard's glue face above the body's edge plane; common practice",
        advice=f"raise the neck {show_length(-side.neck_height, unit)} (joint.height), "
        "or let the fretboard into the body",
        detail="as given (joint.height)"
        if design.joint.height is not None
        else "follows from joint.angle and the bridge's height",
    )
