"""The floor of the recess that each cover lies on."""

from collections.abc import Iterator

import shapely

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.reading.covers import covers
from carve.check.reading.places import show_body_place
from carve.check.tolerances import WOOD
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.shape.cover.shape import CoverShape


@looks_at(together=(BodyShape, CoverShape), keys=("limits.cover_ledge", "units"))
def check(job: Job) -> Iterator[Finding]:
    """One finding a cover: the floor under it, as a ledge of one width along all of its edge."""
    for covered in covers(job):
        plan = covered.shape.polygon
        wide = float(shapely.intersection(plan, covered.floor).area / plan.exterior.length)
        judged = at_least(wide, job.design.limits.cover_ledge, tolerance=WOOD)
        x, y = covered.shape.middle
        yield judged.finding(
            part=covered.cover.name,
            name="ledge",
            check="ledge that it lies on",
            place=f"along its edge, its middle {show_body_place(job.design, x, y)}",
            point=covered.point(x, y, covered.shape.floor),
            source="limits.cover_ledge; common practice",
            advice=f"{show_length(judged.missing, job.design.units)} more is needed: make the "
            "recess wider than the cavity under it",
        )
