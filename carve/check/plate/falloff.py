"""The falloff of an arch, as a builder measures it."""

from collections.abc import Iterator

from carve.check.finding import OUR_FAULT, Finding, Verdict
from carve.check.reading.carved_faces import carved_faces
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.plate.arch import ArchSurface, falloff_of


def check(job: Job) -> Iterator[Finding]:
    """One finding a face whose falloff is asked for."""
    limit, unit = job.design.limits.arch_falloff, job.design.units
    for face in carved_faces(job):
        asked, surface = face.plate.falloff, face.carving.surface
        if asked is None or not isinstance(surface, ArchSurface):
            continue
        found = falloff_of(surface)
        good = abs(found - asked) <= limit
        yield Finding(
            part=face.part.name,
            check=f"falloff of the {face.name}",
            verdict=Verdict.GOOD if good else Verdict.FAILED,
            value=found,
            target=asked,
            limit=limit,
            sense="within",
            place=f"on the widest section, {show_length(surface.foundation.widest, unit)} from the "
            "body's edge, from the recurve's line to half of the rise",
            source=f"{face.key}.falloff, limits.arch_falloff; common practice",
            advice="" if good else OUR_FAULT,
        )
