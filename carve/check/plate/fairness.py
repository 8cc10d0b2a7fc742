"""Whether an arch is fair: what rises or falls on it that nobody asked for."""

from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_most
from carve.check.reading.carved_faces import MeasuredFace, carved_faces, unasked_of
from carve.check.reading.keys import CARVED_FACES
from carve.check.reading.places import show_body_place
from carve.check.tolerances import MEASURED
from carve.design.schema.design import Design
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.shape.plate.arch import ArchSurface
from carve.shape.plate.fairness import Sort

_SAID: dict[Sort, str] = {
    "top": "a second top",
    "pit": "a pit",
    "hollow along": "a hollow in the section along the body",
    "hollow across": "a hollow in the section across the body",
}


@looks_at(each=BodyShape, keys=("limits.arch_fair", "units", *CARVED_FACES))
def check(job: Job) -> Iterator[Finding]:
    """One finding a face with an arch: the most that stands out.

    The limit is a scraper's shaving: what is less goes when the plate is scraped.
    """
    for face in carved_faces(job):
        if isinstance(face.carving.surface, ArchSurface):
            yield _finding(job.design, face)


def _finding(design: Design, face: MeasuredFace) -> Finding:
    found = unasked_of(face.carving)
    worst = found[0] if found else None
    held = ("stations", "templates", "pads") if face.plate.pads else ("stations", "templates")
    keys = [f"{face.key}.{name}" for name in held]
    value = 0.0 if worst is None else worst.prominence
    return at_most(
        value, design.limits.arch_fair, tolerance=MEASURED, missed=Verdict.WARNING
    ).finding(
        part=face.part.name,
        name=f"fairness:{face.name}",
        check=f"unasked highs and lows of the {face.name}",
        place="everywhere" if worst is None else show_body_place(design, *worst.at),
        point=None if worst is None else face.point(*worst.at, face.read_surface(*worst.at)),
        source="limits.arch_fair; common practice",
        advice=f"ask for another height near it ({', '.join(keys)}), or for another falloff "
        f"({face.key}.falloff)",
        detail="" if worst is None else _SAID[worst.sort],
    )
