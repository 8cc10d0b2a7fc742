"""How steep a carved plate is: steeper than habit allows asks for a look, not for another carve."""

import math
from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_most
from carve.check.reading.carved_faces import carved_faces
from carve.check.reading.keys import CARVED_FACES
from carve.check.reading.places import show_body_place
from carve.check.tolerances import ANGLE
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape


@looks_at(each=BodyShape, keys=("limits.steepest", "units", *CARVED_FACES))
def check(job: Job) -> Iterator[Finding]:
    """One finding a carved face."""
    limit = job.design.limits.steepest
    for face in carved_faces(job):
        slope, (x, y) = face.carving.most(face.carving.jet.steepness)
        steepest = math.degrees(math.atan(slope))
        height = face.read_surface(x, y)
        yield at_most(steepest, limit, tolerance=ANGLE, missed=Verdict.WARNING).finding(
            part=face.part.name,
            name=f"steepest-slope:{face.name}",
            check=f"steepest slope of the {face.name}",
            quantity="angle",
            place=show_body_place(job.design, x, y),
            point=face.point(x, y, height),
            source="limits.steepest; common practice",
            advice=f"make the arch lower there, or let it rise over a longer way ({face.key})",
        )
