"""Pads of a carved plate: flat, and in their own plane, measured on the mesh."""

from collections.abc import Iterator

import numpy as np
import shapely

from carve.check.declare import looks_at
from carve.check.finding import FINER, Finding
from carve.check.judge import at_most
from carve.check.reading.carved_faces import MeasuredFace, carved_faces
from carve.check.reading.keys import CARVED_FACES
from carve.check.reading.places import show_body_place
from carve.check.tolerances import MEASURED
from carve.design.schema.design import Design
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.shape.plate.request import Pad


@looks_at(each=BodyShape, keys=("limits.pad_flat", "units", *CARVED_FACES))
def check(job: Job) -> Iterator[Finding]:
    """One finding a pad of which something is left."""
    for face in carved_faces(job):
        asked = len(face.plate.pads)
        for number, pad in enumerate(face.carving.pads):
            key = f"pads[{number}]" if number < asked else "neck_plane"
            yield from _pad(job.design, face, pad, f"pad-flat:{face.name}.{key}")


def _pad(design: Design, face: MeasuredFace, pad: Pad, name: str) -> Iterator[Finding]:
    limit = design.limits.pad_flat
    points = face.skin.points
    on_pad = points[shapely.contains_xy(pad.region, points[:, 0], points[:, 1])]
    if not len(on_pad):
        return
    x, y, z = on_pad.T
    height = z if face.name == "top" else -face.part.shape.thickness - z
    off = np.abs(height - pad.at(x, y))
    worst = int(np.argmax(off))
    yield at_most(float(off[worst]), limit, tolerance=MEASURED).finding(
        part=face.part.name,
        name=name,
        check=f"{pad.name} of the {face.name} flat",
        place=show_body_place(design, float(x[worst]), float(y[worst])),
        point=on_pad[worst],
        source="limits.pad_flat; common practice",
        advice=f"bring the pad's height nearer to the arch's, or {FINER}",
        detail=f"{len(on_pad)} points of the mesh on it",
    )
