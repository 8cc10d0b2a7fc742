"""The highest point of a carved plate as against the highest height asked for.

The plate is held to its lines and free beside them. On an outline that is not the same on both
sides of the centre line it may rise beside it above all that was asked.
"""

from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import within
from carve.check.reading.carved_faces import MeasuredFace, carved_faces, highest_point_of
from carve.check.reading.keys import CARVED_FACES
from carve.check.reading.places import show_body_place
from carve.check.tolerances import MEASURED
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.shape.plate.fairness import highest_asked


@looks_at(each=BodyShape, keys=("limits.arch_highest", "units", *CARVED_FACES))
def check(job: Job) -> Iterator[Finding]:
    """One finding a carved face.

    The limit is what a depth gauge shows beyond doubt and the last scraping and sanding no longer
    hide.
    """
    limit, unit = job.design.limits.arch_highest, job.design.units
    for face in carved_faces(job):
        asked = highest_asked(face.carving)
        highest = highest_point_of(face.carving)
        judged = within(highest.value, asked, limit, tolerance=MEASURED, missed=Verdict.WARNING)
        yield judged.finding(
            part=face.part.name,
            name=f"highest-point:{face.name}",
            check=f"highest point of the {face.name}",
            place=show_body_place(job.design, *highest.at),
            point=face.point(*highest.at, highest.value),
            source="limits.arch_highest; common practice",
            advice=f"the highest height asked for is {show_length(asked, unit)}: {_change(face)}",
        )


def _change(face: MeasuredFace) -> str:
    if face.plate.contours:
        return f"no place lies as far from the edge as the highest of {face.key}.contours asks"
    return f"say what the arch is beside the centre line there ({face.key}.templates)"
