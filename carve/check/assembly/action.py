"""The action at the 12th fret that comes out, with the bridge where it shall stand."""

from collections.abc import Iterator

import numpy as np

from carve.check.finding import Finding, Verdict
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.side_view import side_view


def check(job: Job) -> Iterator[Finding]:
    """One finding where the design has a joint: reckoned from the saddle back to the fret."""
    design, side = job.design, side_view(job.design)
    if side is None:
        return
    unit, limit, over = design.units, design.limits.action, side.playing
    off = side.action - over.action
    good = abs(off) <= limit
    yield Finding(
        part="assembly",
        check="action at the 12th fret",
        verdict=Verdict.GOOD if good else Verdict.FAILED,
        value=side.action,
        target=over.action,
        limit=limit,
        sense="within",
        place=f"{show_length(over.twelfth, unit)} from the nut, on the centre line",
        point=(over.twelfth, 0.0, float(over.fret_top(np.array([over.twelfth]))[0])),
        source="action.bass and action.treble (their mean), limits.action; common practice",
        advice=""
        if good
        else f"set the bridge to {show_length(side.needed, unit)} (bridge.height), "
        f"or leave bridge.height, joint.angle or joint.height out, and it follows",
        detail=f"bridge at {show_length(side.stands, unit)}",
    )
