"""How the neck stands on the body: its angle, and its height at the body's edge."""

import math
from collections.abc import Iterator

from carve.check.finding import Finding, Verdict
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.side_view import side_view


def check(job: Job) -> Iterator[Finding]:
    """Two findings where the design has a joint."""
    design, side = job.design, side_view(job.design)
    if side is None or design.joint is None:
        return
    unit, limit = design.units, design.limits.neck_angle
    angle = math.degrees(side.angle)
    where = f"{show_length(side.edge, unit)} from the nut, at the body's edge"
    forward, steep = angle < -1e-9, angle > limit + 1e-9
    yield Finding(
        part="assembly",
        check="neck angle",
        verdict=Verdict.WARNING if forward or steep else Verdict.GOOD,
        value=angle,
        limit=0.0 if forward else limit,
        sense="at least" if forward else "at most",
        quantity="angle",
        place=where,
        point=(side.edge, 0.0, 0.0),
        source="no lean forward; common practice"
        if forward
        else "limits.neck_angle; common practice",
        advice=_advice(forward=forward, steep=steep),
        detail="as given (joint.angle)"
        if design.joint.angle is not None
        else "follows from the bridge's height and joint.height",
    )
    sunk = side.neck_height < -1e-9
    yield Finding(
        part="assembly",
        check="neck height over the body's edge",
        verdict=Verdict.WARNING if sunk else Verdict.GOOD,
        value=side.neck_height,
        limit=0.0,
        sense="at least",
        place=where,
        point=(side.edge, 0.0, 0.0),
        source="the fretboard's glue face above the body's edge plane; common practice",
        advice=f"raise the neck {show_length(-side.neck_height, unit)} (joint.height), "
        "or let the fretboard into the body"
        if sunk
        else "",
        detail="as given (joint.height)"
        if design.joint.height is not None
        else "follows from joint.angle and the bridge's height",
    )


def _advice(*, forward: bool, steep: bool) -> str:
    if forward:
        return (
            "the neck leans forward; make the neck's height over the body less (joint.height), "
            "or take a higher bridge"
        )
    if steep:
        return "make the neck's height over the body greater (joint.height), or take a lower bridge"
    return ""
