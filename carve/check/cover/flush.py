"""Whether each cover's outside is level with the face around it, on the meshes."""

from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_most
from carve.check.reading.covers import Covered, covers
from carve.check.reading.places import show_body_place
from carve.check.tolerances import MEASURED
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.shape.cover.shape import CoverShape
from carve.solid.cover import OUTSIDE


@looks_at(together=(BodyShape, CoverShape), keys=("limits.cover_flush", "units"))
def check(job: Job) -> Iterator[Finding]:
    """One finding a cover whose recess opens at a face.

    A recess's depth counts from the edge plane, so on a carved face a plate as thick as it is
    deep lies below the arch; and where the arch falls across the recess no flat plate lies flush.
    """
    for covered in covers(job):
        rim = covered.rim()
        if len(rim):
            yield _finding(job.design, covered, rim)


def _finding(design: Design, covered: Covered, rim: Array) -> Finding:
    shape, unit, limit = covered.shape, design.units, design.limits.cover_flush
    outside = covered.laid.only(OUTSIDE).points[:, 2].mean()
    proud = shape.up * (outside - rim[:, 2])
    at = int(np.argmax(np.abs(proud)))
    x, y, z = (float(value) for value in rim[at])
    judged = at_most(float(abs(proud[at])), limit, tolerance=MEASURED)
    return judged.finding(
        part=covered.cover.name,
        name="flush",
        check="flush with the face around it",
        place=show_body_place(design, x, y),
        point=covered.point(x, y, z),
        source="limits.cover_flush; common practice",
        advice=_advice(design, covered, proud),
        detail=""
        if judged.good
        else f"from {show_length(float(proud.min()), unit)} to "
        f"{show_length(float(proud.max()), unit)} above the {_face(covered)} around the recess",
    )


def _advice(design: Design, covered: Covered, proud: Array) -> str:
    """What to change: the thickness where that is enough, the place where the face falls."""
    shape, unit = covered.shape, design.units
    falls = float(np.ptp(proud))
    if falls <= 2 * design.limits.cover_flush:
        right = shape.thickness - float(proud.max() + proud.min()) / 2
        return f"make {shape.where}.cover.thickness {show_length(right, unit)}"
    return (
        f"the {_face(covered)} falls {show_length(falls, unit)} across the recess, where no flat "
        "plate lies flush; move the recess to a level place or to a flat face, or allow it "
        "(limits.cover_flush)"
    )


def _face(covered: Covered) -> str:
    return "top" if covered.shape.face == "front" else "back"
