"""The gap around each cover, on the meshes of cover and body."""

from collections.abc import Iterator

import numpy as np
import shapely

from carve.check.declare import looks_at
from carve.check.finding import OUR_FAULT, Finding
from carve.check.judge import within
from carve.check.reading.covers import Covered, covers
from carve.check.reading.places import show_body_place
from carve.check.tolerances import MEASURED
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.shape.cover.shape import CoverShape
from carve.solid.body import surface_of
from carve.solid.cover import EDGE
from carve.solid.measure import slice_level, to_segments

ALIKE = 1e-6  # mm; of two gaps so near each other the tight one is told


@looks_at(together=(BodyShape, CoverShape), keys=("limits.cover_gap", "units"))
def check(job: Job) -> Iterator[Finding]:
    """One finding a cover: the gap that is furthest from the one asked for.

    None where no wall of the recess is left beside it; the check of its ledge speaks of that.
    """
    for covered in covers(job):
        z = _beside_walls(covered)
        if z is not None:
            yield _finding(job.design, covered, z)


def _beside_walls(covered: Covered) -> float | None:
    """A height in mm where the cover's edge has walls beside it: half way up it, if it may be."""
    shape, mesh = covered.shape, covered.body.mesh
    if surface_of(covered.recess) not in mesh.names:
        return None
    high = min(shape.thickness, abs(shape.floor - _edge(covered)))
    # where a chamber or another cut has taken the walls there, they may go on above or below
    ends = np.unique(mesh.only(surface_of(covered.recess)).points[:, 2])
    heights = shape.up * ((ends[:-1] + ends[1:]) / 2 - shape.floor)
    between = heights[(heights > 0) & (heights < high)]
    for up in (high / 2, *between[np.argsort(np.abs(between - high / 2))]):
        z = shape.floor + shape.up * float(up)
        if len(covered.walls(z)):
            return z
    return None


def _finding(design: Design, covered: Covered, z: float) -> Finding:
    """z: mm, where the gap is measured."""
    shape = covered.shape
    walls, edge = covered.walls(z), slice_level(covered.laid.only(EDGE), z)
    spots = np.concatenate([edge[:, 0], walls[:, 0]])
    # from the cover's points to the wall, and where that has an inward corner, from it back
    gaps = np.concatenate([to_segments(edge[:, 0], walls), to_segments(walls[:, 0], edge)])
    inside = shapely.contains_xy(covered.recess.polygon, *edge[:, 0].T)
    gaps[: len(edge)] *= np.where(inside, 1.0, -1.0)
    tight, wide = int(np.argmin(gaps)), int(np.argmax(gaps[: len(edge)]))
    at = tight if shape.gap - gaps[tight] > gaps[wide] - shape.gap - ALIKE else wide
    (x, y), value = (float(place) for place in spots[at]), float(gaps[at])
    limit = design.limits.cover_gap + covered.cover.chord_error + covered.body.chord_error
    return within(value, shape.gap, limit, tolerance=MEASURED).finding(
        part=covered.cover.name,
        name="gap",
        check="gap around the cover",
        place=show_body_place(design, x, y),
        point=covered.point(x, y, z),
        source="limits.cover_gap and the chord errors of both meshes; common practice",
        advice=OUR_FAULT
        if value < shape.gap
        else "another cut has taken the recess's wall away there; make the recess wider than it",
        detail=f"from {show_length(float(gaps[tight]), design.units)} to "
        f"{show_length(float(gaps[wide]), design.units)} all around",
    )


def _edge(covered: Covered) -> float:
    """Height of the edge plane of the face that the recess opens at."""
    return 0.0 if covered.shape.face == "front" else -covered.body.shape.thickness
