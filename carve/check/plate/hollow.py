"""The tightest hollow of a carved plate against the ball cutter that finishes it."""

from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.reading.carved_faces import carved_faces
from carve.check.reading.keys import CARVED_FACES
from carve.check.reading.places import show_body_place
from carve.check.tolerances import CUTTER
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape

FLAT = 1e-6  # 1/mm; a hollow of a kilometre's radius is none


@looks_at(each=BodyShape, keys=("limits.ball_radius", "units", *CARVED_FACES))
def check(job: Job) -> Iterator[Finding]:
    """One finding a carved face: a ball of a larger radius would leave wood in the hollow."""
    limit, unit = job.design.limits.ball_radius, job.design.units
    for face in carved_faces(job):
        bend, (x, y) = face.carving.most(face.carving.jet.curvatures[1])
        radius = 1 / max(bend, FLAT)
        yield at_least(radius, limit, tolerance=CUTTER).finding(
            part=face.part.name,
            name=f"tightest-hollow:{face.name}",
            check=f"tightest hollow of the {face.name}",
            place=show_body_place(job.design, x, y),
            point=face.point(x, y, face.read_surface(x, y)),
            source="limits.ball_radius, the cutter's; common practice",
            advice=f"take a ball of {show_length(radius, unit)} radius at most "
            f"(limits.ball_radius), or lead recurve and ledge further apart ({face.key}.recurve, "
            f"{face.key}.ledge)",
        )
