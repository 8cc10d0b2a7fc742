"""Whether the heel's blend, as long as the stations leave it, is one that the hand does not feel.

Spoken of where it is not as long as asked for, or where nothing was asked.
"""

from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.reading.keys import PLACE
from carve.check.tolerances import ROUNDING
from carve.design.derived.heel_blend import SHORTEST_BLEND
from carve.parts.job import Job
from carve.shape.neck.shape import NeckShape

KEPT = 1e-6  # mm; a blend that is shorter by less is as long as asked


@looks_at(each=NeckShape, keys=("neck.heel", "neck.stations", *PLACE))
def check(job: Job) -> Iterator[Finding]:
    """One finding of a blend that a station cuts short, or whose length is not asked for."""
    design, heel = job.design, job.design.neck.heel
    for part in job.parts_with_shape(NeckShape):
        shape = part.shape
        if heel is None or shape.heel is None:
            continue
        long = shape.heel.blend_end - shape.heel.blend
        if heel.blend is not None and long >= heel.blend - KEPT:
            continue
        x = shape.heel.blend
        at = [s.at.show(design.units) for s in design.neck.stations if design.place(s.at) == x]
        asked = "" if heel.blend is None else f"{design.show(heel.blend)} asked; "
        begins = f"the station at {at[0]}" if at else f"{design.show(x)} from the nut"
        yield at_least(long, SHORTEST_BLEND, tolerance=ROUNDING).finding(
            part=part.name,
            name="heel-blend",
            check="length of the heel's blend",
            place=begins,
            point=(x, 0.0, -float(shape.depth_curve(x))),
            source="neck.heel.blend; common practice",
            detail=f"{asked}it begins there",
            advice="move the station toward the nut, or make the heel shorter",
        )
