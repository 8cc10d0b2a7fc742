"""The screws of each cover: wood around their holes, wood they hold in, holes in one line."""

import math
from collections.abc import Iterator

import numpy as np
import shapely

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import OUR_FAULT, Finding
from carve.check.judge import at_least, at_most
from carve.check.reading.covers import Covered, covers, middle_of_hole
from carve.check.reading.places import show_body_place
from carve.check.tolerances import MEASURED, WOOD
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.shape.cover.shape import CoverShape
from carve.solid.body import surface_of
from carve.solid.cover import hole_name


@looks_at(
    together=(BodyShape, CoverShape),
    keys=(
        "limits.wood_around_cover_screws",
        "limits.cover_screw_hold",
        "limits.cover_screw_line",
        "units",
    ),
)
def check(job: Job) -> Iterator[Finding]:
    """Three findings a cover with screws, each about the worst of them, and a fourth where there
    are pilot holes.
    """
    for covered in covers(job):
        if covered.shape.screws:
            yield _in_cover(job.design, covered)
            yield _in_floor(job.design, covered)
            yield _hold(job.design, covered)
            yield from _in_line(job.design, covered)


def _in_cover(design: Design, covered: Covered) -> Finding:
    """From each hole, or the countersink about it, to the cover's edge and to the next one."""
    shape = covered.shape
    spots, radii = _spots(covered), np.array([hole.head for hole in shape.screws])
    wood = shapely.distance(shape.polygon.exterior, spots) - radii
    if len(spots) > 1:
        apart = shapely.distance(spots[:, None], spots[None]) - radii[:, None] - radii
        apart[np.diag_indices(len(spots))] = np.inf
        wood = np.minimum(wood, apart.min(axis=1))
    return _least(
        design,
        covered,
        "wood-around-screw-holes",
        "wood around its screw holes",
        wood,
        "wood_around_cover_screws",
        f"move it inward or apart from the next ({shape.where}.cover.screws), or make its hole "
        "smaller",
    )


def _in_floor(design: Design, covered: Covered) -> Finding:
    """From each pilot hole to where the recess's floor is gone: a cavity, or the outside."""
    shape = covered.shape
    wood = covered.floor
    spots = _spots(covered)
    away = shapely.distance(wood.boundary, spots)
    away = np.where(shapely.contains(wood, spots), away, -away) - shape.pilot / 2
    return _least(
        design,
        covered,
        "wood-around-pilot-holes",
        "wood around its pilot holes",
        away,
        "wood_around_cover_screws",
        f"move it over more wood ({shape.where}.cover.screws), or make the recess wider there",
    )


def _hold(design: Design, covered: Covered) -> Finding:
    """How much wood each pilot hole goes through before it ends, or comes out in something."""
    shape = covered.shape
    wood = np.array([_through_wood(covered, number) for number in range(len(shape.screws))])
    return _least(
        design,
        covered,
        "wood-that-screws-hold-in",
        "wood that its screws hold in",
        wood,
        "cover_screw_hold",
        f"make {shape.where}.cover.screws.pilot_depth more, or move it to where more wood lies "
        "under it",
    )


def _through_wood(covered: Covered, number: int) -> float:
    """Wood in mm from the recess's floor on along a screw's pilot hole, to its end at most."""
    shape, pilot = covered.shape, covered.pilots[number]
    here = np.array([[shape.screws[number].x, shape.screws[number].y]])
    wood = abs((pilot.low if shape.face == "front" else pilot.high) - shape.floor)
    for taken, plan in covered.others:
        if not shapely.contains_xy(plan, *here.T).all():
            continue
        low, high = (float(heights[0]) for heights in taken.heights(here))
        # how far down from the floor what is taken there begins and ends
        first, last = sorted((shape.up * (shape.floor - high), shape.up * (shape.floor - low)))
        if last > 0:
            wood = min(wood, max(first, 0.0))
    return wood


def _in_line(design: Design, covered: Covered) -> Iterator[Finding]:
    """How far each hole's middle, on the cover's mesh, is from its pilot hole's on the body's.

    A pilot hole that finds no wood has no middle; that no screw holds there is told by ``_hold``.
    """
    shape, limit, unit = covered.shape, design.limits.cover_screw_line, design.units
    laid, body = covered.laid, covered.body.mesh
    off = {}
    for number, pilot in enumerate(covered.pilots):
        wide, narrow = shape.screws[number].radius, shape.pilot / 2
        hole = middle_of_hole(laid.only(hole_name(number + 1)).points[:, :2], wide)
        under = middle_of_hole(body.only(surface_of(pilot)).points[:, :2], narrow)
        if hole is not None and under is not None:
            off[number] = math.dist(hole, under)
    if not off:
        return
    at = max(off, key=lambda number: off[number])
    judged, screw = at_most(off[at], limit, tolerance=MEASURED).rounded(9), shape.screws[at]
    yield judged.finding(
        part=covered.cover.name,
        name="screw-holes-in-line",
        check="screw holes over their pilot holes",
        place=_place(design, covered, at),
        point=covered.point(screw.x, screw.y, shape.floor),
        source="limits.cover_screw_line; common practice",
        advice=OUR_FAULT,
        detail=f"holes {show_length(2 * screw.radius, unit)} over {show_length(shape.pilot, unit)}",
    )


def _least(
    design: Design,
    covered: Covered,
    name: str,
    check: str,
    wood: Array,
    limit: str,
    advice: str,
) -> Finding:
    """The finding about the screw with the least wood. wood: (k,) mm. limit: its key."""
    shape, at = covered.shape, int(np.argmin(wood))
    least = float(getattr(design.limits, limit))
    judged, hole = at_least(float(wood[at]), least, tolerance=WOOD), shape.screws[at]
    missing = show_length(least - float(wood[at]), design.units)
    return judged.finding(
        part=covered.cover.name,
        name=name,
        check=check,
        place=_place(design, covered, at),
        point=covered.point(hole.x, hole.y, shape.floor),
        source=f"limits.{limit}; common practice",
        advice=f"{missing} more is needed: {advice}",
        detail=f"the least of {len(wood)}" if judged.good and len(wood) > 1 else "",
    )


def _place(design: Design, covered: Covered, number: int) -> str:
    hole = covered.shape.screws[number]
    return f"screw {number + 1}, {show_body_place(design, hole.x, hole.y)}"


def _spots(covered: Covered) -> Array:
    spots: Array = shapely.points([[hole.x, hole.y] for hole in covered.shape.screws])
    return spots
