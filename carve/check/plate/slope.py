"""How steep a carved plate is: steeper than habit allows asks for a look, not for another carve."""

import math
from collections.abc import Iterator

from carve.check.finding import Finding, Verdict
from carve.check.reading.carved_faces import carved_faces
from carve.check.reading.places import show_body_place
from carve.parts.job import Job


def check(job: Job) -> Iterator[Finding]:
    """One finding a carved face."""
    limit = job.design.limits.steepest
    for face in carved_faces(job):
        slope, (x, y) = face.carving.most(face.carving.jet.steepness)
        steepest = math.degrees(math.atan(slope))
        good = steepest <= limit
        height = face.read_surface(x, y)
        yield Finding(
            part=face.part.name,
            check=f"steepest slope of the {face.name}",
            verdict=Verdict.GOOD if good else Verdict.WARNING,
            value=steepest,
            limit=limit,
            sense="at most",
            quantity="angle",
            place=show_body_place(job.design, x, y),
            point=face.point(x, y, height),
            source="limits.steepest; common practice",
            advice=""
            if good
            else f"make the arch lower there, or let it rise over a longer way ({face.key})",
        )
