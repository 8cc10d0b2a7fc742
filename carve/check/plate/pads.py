"""Pads of a carved plate: flat, and in their own plane, measured on the mesh."""

from collections.abc import Iterator

import numpy as np
import shapely

from carve.check.finding import Finding, Verdict
from carve.check.reading.carved_faces import MeasuredFace, carved_faces
from carve.check.reading.places import show_body_place
from carve.design.schema.design import Design
from carve.parts.job import Job
from carve.shape.plate.request import Pad


def check(job: Job) -> Iterator[Finding]:
    """One finding a pad of which something is left."""
    for face in carved_faces(job):
        for pad in face.carving.pads:
            yield from _pad(job.design, face, pad)


def _pad(design: Design, face: MeasuredFace, pad: Pad) -> Iterator[Finding]:
    limit = design.limits.pad_flat
    points = face.skin.points
    on_pad = points[shapely.contains_xy(pad.region, points[:, 0], points[:, 1])]
    if not len(on_pad):
        return
    x, y, z = on_pad.T
    height = z if face.name == "top" else -face.part.shape.thickness - z
    off = np.abs(height - pad.at(x, y))
    worst = int(np.argmax(off))
    good = bool(off[worst] <= limit)
    yield Finding(
        part=face.part.name,
        check=f"{pad.name} of the {face.name} flat",
        verdict=Verdict.GOOD if good else Verdict.FAILED,
        value=float(off[worst]),
        limit=limit,
        sense="at most",
        place=show_body_place(design, float(x[worst]), float(y[worst])),
        point=(float(x[worst]), float(y[worst]), float(z[worst])),
        source="limits.pad_flat; common practice",
        advice=""
        if good
        else "bring the pad's height nearer to the arch's, or export with a smaller chord error",
        detail=f"{len(on_pad)} points of the mesh on it",
    )
