"""Wood left between the holes of headstock and heel and the edges around them."""

from collections.abc import Iterator, Sequence

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.tolerances import WOOD
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.neck.headstock.shape import wood_around
from carve.shape.neck.heel import Hole
from carve.shape.neck.shape import NeckShape

OUTLINE_CHORD = 0.005  # mm


@looks_at(each=NeckShape, keys=("limits.wood_around_holes", "units"))
def check(job: Job) -> Iterator[Finding]:
    """One finding for the tuners' holes and one for the heel's: the thinnest place."""
    for part in job.parts_with_shape(NeckShape):
        head, heel = part.shape.head, part.shape.heel
        if head is not None and head.holes:
            outline = head.outline(OUTLINE_CHORD)
            yield _thinnest(job, part.name, "tuner holes", outline, head.holes, "in the headstock")
        if heel is not None and heel.holes:
            outline = heel.outline(OUTLINE_CHORD)
            yield _thinnest(job, part.name, "bolt holes", outline, heel.holes, "in the heel")


def _thinnest(
    job: Job, part: str, name: str, outline: Array, holes: Sequence[Hole], where: str
) -> Finding:
    limit, unit = job.design.limits.wood_around_holes, job.design.units
    wood = [wood_around(outline, hole) for hole in holes]
    worst = int(np.argmin(wood))
    hole, judged = holes[worst], at_least(wood[worst], limit, tolerance=WOOD)
    return judged.finding(
        part=part,
        name=f"wood-around-{name.replace(' ', '-')}",
        check=f"wood around the {name}",
        place=f"hole {worst + 1} of {len(holes)} {where}",
        point=(hole.x, hole.y, 0.0),
        source="limits.wood_around_holes; common practice",
        advice=f"move the hole {show_length(judged.missing, unit)} inward",
    )
