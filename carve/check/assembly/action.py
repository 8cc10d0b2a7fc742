"""The action at the 12th fret that comes out, with the bridge where it shall stand."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import within
from carve.check.reading.keys import SIDE_VIEW
from carve.check.tolerances import STRING
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.side_view import side_view


@looks_at(keys=("limits.action", "units", *SIDE_VIEW))
def check(job: Job) -> Iterator[Finding]:
    """One finding where the design has a joint: computed from the saddle back to the fret."""
    design, side = job.design, side_view(job.design)
    if side is None:
        return
    unit, limit, over = design.units, design.limits.action, side.playing
    yield within(side.action, over.action, limit, tolerance=STRING).finding(
        part="assembly",
        name="action",
        check="action at the 12th fret",
        place=f"{show_length(over.twelfth, unit)} from the nut, on the centre line",
        point=(over.twelfth, 0.0, float(over.fret_top(np.array([over.twelfth]))[0])),
        source="action.bass and action.treble (their mean), limits.action; common practice",
        advice=f"set the bridge to {show_length(side.needed, unit)} (bridge.height), "
        f"or leave bridge.height, joint.angle or joint.height out, and it follows",
        detail=f"bridge at {show_length(side.stands, unit)}",
    )
