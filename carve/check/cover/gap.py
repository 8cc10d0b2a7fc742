"""The gap around each cover, on the meshes of cover and body."""

from collections.abc import Iterator

import numpy as np
import shapely

from carve.check.finding import OUR_FAULT, Finding, Verdict
from carve.check.reading.covers import Covered, covers
from carve.check.reading.places import show_body_place
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.solid.cover import EDGE
from carve.solid.measure import slice_level, to_segments


def check(job: Job) -> Iterator[Finding]:
    """One finding a cover: the gap that is furthest from the one asked for."""
    for covered in covers(job):
        yield _finding(job.design, covered)


def _finding(design: Design, covered: Covered) -> Finding:
    shape = covered.shape
    z = shape.floor + shape.up * min(shape.thickness, abs(shape.floor - _edge(covered))) / 2
    walls, edge = covered.walls(z), slice_level(covered.laid.only(EDGE), z)
    points = edge[:, 0]
    gaps = to_segments(points, walls) if len(walls) else np.full(len(points), np.inf)
    gaps = np.where(shapely.contains_xy(covered.recess.polygon, *points.T), gaps, -gaps)
    # an inward corner of the recess may come nearest between two points of the edge
    back = to_segments(walls[:, 0], edge) if len(walls) else np.full(1, np.inf)
    at = points[int(np.argmax(np.abs(gaps - shape.gap)))]
    value = float(gaps[np.argmax(np.abs(gaps - shape.gap))])
    if back.min() < min(value, gaps.min()):
        value, at = float(back.min()), walls[int(np.argmin(back)), 0]
    limit = design.limits.cover_gap + covered.cover.chord_error + covered.body.chord_error
    good = abs(value - shape.gap) <= limit
    return Finding(
        part=covered.cover.name,
        check="gap around the cover",
        verdict=Verdict.GOOD if good else Verdict.FAILED,
        value=value,
        target=shape.gap,
        limit=limit,
        sense="within",
        place=show_body_place(design, float(at[0]), float(at[1])),
        point=covered.point(float(at[0]), float(at[1]), z),
        source="limits.cover_gap and the chord errors of both meshes; common practice",
        advice="" if good else OUR_FAULT,
        detail=f"from {show_length(float(min(gaps.min(), back.min())), design.units)} to "
        f"{show_length(float(gaps.max()), design.units)} all around",
    )


def _edge(covered: Covered) -> float:
    """Height of the edge plane of the face that the recess opens at."""
    return 0.0 if covered.shape.face == "front" else -covered.body.shape.thickness
