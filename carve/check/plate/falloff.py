"""The falloff of an arch, as a builder measures it."""

from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import OUR_FAULT, Finding
from carve.check.judge import within
from carve.check.reading.carved_faces import carved_faces
from carve.check.reading.keys import CARVED_FACES
from carve.check.tolerances import MEASURED
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.shape.plate.arch import ArchSurface, falloff_of


@looks_at(each=BodyShape, keys=("limits.arch_falloff", "units", *CARVED_FACES))
def check(job: Job) -> Iterator[Finding]:
    """One finding a face whose falloff is asked for."""
    limit, unit = job.design.limits.arch_falloff, job.design.units
    for face in carved_faces(job):
        asked, surface = face.plate.falloff, face.carving.surface
        if asked is None or not isinstance(surface, ArchSurface):
            continue
        yield within(falloff_of(surface), asked, limit, tolerance=MEASURED).finding(
            part=face.part.name,
            name=f"falloff:{face.name}",
            check=f"falloff of the {face.name}",
            place=f"on the widest section, {show_length(surface.foundation.widest, unit)} from the "
            "body's edge, from the recurve's line to half of the rise",
            source=f"{face.key}.falloff, limits.arch_falloff; common practice",
            advice=OUR_FAULT,
        )
