"""The arch as asked: its stations and cross templates, measured on the mesh."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import FINER, Finding
from carve.check.judge import within
from carve.check.reading.carved_faces import CUT_AWAY, MeasuredFace, carved_faces
from carve.check.reading.keys import CARVED_FACES
from carve.check.reading.places import show_body_place
from carve.check.tolerances import MEASURED
from carve.design.schema.design import Design
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape


@looks_at(each=BodyShape, keys=("limits.arch", "units", *CARVED_FACES))
def check(job: Job) -> Iterator[Finding]:
    """A finding for each station of a long arch, and for the worst place of each template."""
    for face in carved_faces(job):
        for number, station in enumerate(face.plate.stations):
            said, key = f"station {number + 1}", f"stations[{number}].height"
            yield _finding(job.design, face, said, key, ((station.x, 0.0, station.height),))
        for number, template in enumerate(face.plate.templates):
            said, key = f"template {number + 1}", f"templates[{number}].heights"
            asked = tuple((template.x, y, height) for y, height in template.heights)
            yield _finding(job.design, face, said, key, asked)


def _finding(
    design: Design,
    face: MeasuredFace,
    said: str,
    key: str,
    asked: tuple[tuple[float, float, float], ...],
) -> Finding:
    """asked: x, y and height in mm, of places of which the worst is told."""
    limit = design.limits.arch
    wanted = np.array(asked)
    heights, gone = face.read(wanted[:, :2])
    worst = int(np.argmax(np.abs(heights - wanted[:, 2])))
    x, y, target = asked[worst]
    height = float(heights[worst])
    return within(height, target, limit, tolerance=MEASURED).finding(
        part=face.part.name,
        name=f"arch-height:{face.name}.{key.partition('.')[0]}",
        check=f"{face.name}'s arch at {said}",
        place=show_body_place(design, x, y),
        point=face.point(x, y, height),
        source=f"{face.key}.{key}, limits.arch; common practice",
        advice=FINER,
        detail=CUT_AWAY if gone[worst] else "",
    )
