"""The arch as asked: its stations and cross templates, measured on the mesh."""

from collections.abc import Iterator

import numpy as np

from carve.check.finding import Finding, Verdict
from carve.check.reading.carved_faces import CUT_AWAY, MeasuredFace, carved_faces
from carve.check.reading.places import show_body_place
from carve.design.schema.design import Design
from carve.parts.job import Job


def check(job: Job) -> Iterator[Finding]:
    """A finding for each station of a long arch, and for the worst place of each template."""
    for face in carved_faces(job):
        for number, station in enumerate(face.plate.stations):
            name, key = f"station {number + 1}", f"stations[{number}].height"
            yield _finding(job.design, face, name, key, ((station.x, 0.0, station.height),))
        for number, template in enumerate(face.plate.templates):
            name, key = f"template {number + 1}", f"templates[{number}].heights"
            asked = tuple((template.x, y, height) for y, height in template.heights)
            yield _finding(job.design, face, name, key, asked)


def _finding(
    design: Design,
    face: MeasuredFace,
    name: str,
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
    good = abs(height - target) <= limit
    return Finding(
        part=face.part.name,
        check=f"{face.name}'s arch at {name}",
        verdict=Verdict.GOOD if good else Verdict.FAILED,
        value=height,
        target=target,
        limit=limit,
        sense="within",
        place=show_body_place(design, x, y),
        point=face.point(x, y, height),
        source=f"{face.key}.{key}, limits.arch; common practice",
        advice="" if good else "export with a smaller chord error",
        detail=CUT_AWAY if gone[worst] else "",
    )
