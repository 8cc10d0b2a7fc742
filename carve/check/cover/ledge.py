"""The floor of the recess that each cover lies on."""

from collections.abc import Iterator

import shapely

from carve.check.finding import Finding, Verdict
from carve.check.reading.covers import covers
from carve.check.reading.places import show_body_place
from carve.design.values.units import show_length
from carve.parts.job import Job


def check(job: Job) -> Iterator[Finding]:
    """One finding a cover: the floor under it, as a ledge of one width along all of its edge."""
    limit, unit = job.design.limits.cover_ledge, job.design.units
    for covered in covers(job):
        plan = covered.shape.polygon
        wide = float(shapely.intersection(plan, covered.floor).area / plan.exterior.length)
        good = wide >= limit
        x, y = covered.shape.middle
        yield Finding(
            part=covered.cover.name,
            check="ledge that it lies on",
            verdict=Verdict.GOOD if good else Verdict.FAILED,
            value=wide,
            limit=limit,
            sense="at least",
            place=f"along its edge, its middle {show_body_place(job.design, x, y)}",
            point=covered.point(x, y, covered.shape.floor),
            source="limits.cover_ledge; common practice",
            advice=""
            if good
            else f"{show_length(limit - wide, unit)} more is needed: make the recess wider than "
            "the cavity under it",
        )
