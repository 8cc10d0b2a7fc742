"""Where the screws of a cover stand, seen from above in the body's frame.

Cover and body compute the places by the same function, so the holes of both lie in one line.
"""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely

from carve.arrays import Array
from carve.design.schema.body import Pocket
from carve.design.schema.cover import CoverScrews
from carve.design.values.tolerances import TINY
from carve.errors import ShapeError
from carve.shape.cover.problems import (
    CoverParted,
    PointBesideCover,
    ScrewAtEdge,
    ScrewLineTooFar,
    ScrewsMeet,
)
from carve.shape.planar.inset import AnyPlan, Plan, PlanParted, finely, inset_plan
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE, SAME_POINT, RoundedPolygon, turns

SCREW_HOLE: Final = "screw hole"
"""The kind of the pilot holes among the body's cuts."""


def pilot_name(recess: str, number: int) -> str:
    """What the hole under a cover's screw is called. number: from 1."""
    return f"{recess} screw {number}"


def cover_plans(pocket: Pocket, where: str, recesses: Sequence[Plan]) -> list[AnyPlan]:
    """The outlines of the covers in a pocket's recesses, the gap inside of them.

    pocket: the recess as the design has it. where: its label. recesses: the plans it takes out.
    Raises ShapeError where a recess is too narrow for a cover.
    """
    cover = pocket.cover
    assert cover is not None  # who asks has seen it
    try:
        return [inset_plan(recess, cover.gap) for recess in recesses]
    except PlanParted as parted:
        raise ShapeError(CoverParted(where, cover.gap, parted.pieces)) from None


def screw_places(
    pocket: Pocket, where: str, recesses: Sequence[Plan], plans: Sequence[AnyPlan]
) -> list[Array]:
    """Where the screws of each recess's cover stand: (k, 2) mm for each of them.

    pocket: the recess as the design has it. where: its label. recesses, plans: of each cover the
    outline around it, and its own. Raises ShapeError where a screw finds no room.
    """
    cover = pocket.cover
    assert cover is not None  # who asks has seen it
    if cover.screws is None:
        return [np.empty((0, 2)) for _ in plans]
    if cover.screws.points is not None:
        found = _at_points(pocket, where, cover.screws.points, plans)
    else:
        found = [_along_edge(pocket, where, cover.screws, recess) for recess in recesses]
    widest = max(cover.screws.diameter, cover.screws.head or 0.0) / 2
    for plan, places in zip(plans, found, strict=True):
        _require_room(where, cover.screws.points is not None, plan, places, widest)
    return found


def _at_points(
    pocket: Pocket, where: str, points: Sequence[tuple[float, float]], plans: Sequence[AnyPlan]
) -> list[Array]:
    """Each of the builder's points in the cover that it lies in."""
    turn = math.radians(pocket.angle or 0.0)
    sine, cosine = math.sin(turn), math.cos(turn)
    there = np.array(points) @ np.array([[cosine, sine], [-sine, cosine]])
    there += [pocket.x or 0.0, pocket.y or 0.0]
    grounds = [shapely.Polygon(finely(plan, CURVE_TOLERANCE)) for plan in plans]
    inside = np.array([shapely.contains_xy(ground, *there.T) for ground in grounds])
    for number in np.flatnonzero(~inside.any(axis=0)).tolist():
        raise ShapeError(PointBesideCover(where, number + 1, *points[number]))
    return [there[within] for within in inside]


def _along_edge(pocket: Pocket, where: str, screws: CoverScrews, recess: Plan) -> Array:
    """Places at the corners of a recess, or evenly along the edge of its cover."""
    assert screws.from_edge is not None  # the rules see to it
    assert pocket.cover is not None
    try:
        line = inset_plan(recess, pocket.cover.gap + screws.from_edge)
    except PlanParted:
        raise ShapeError(ScrewLineTooFar(where, screws.from_edge)) from None
    if screws.count is not None:
        return _evenly(line, screws.count)
    assert isinstance(recess, RoundedPolygon)  # the rules see to it
    return _in_corners(recess, line)


def _in_corners(recess: RoundedPolygon, line: AnyPlan) -> Array:
    """The place on a line inside a recess that is nearest to each corner pointing outward."""
    outward = turns(recess.corners) > SAME_POINT
    if not isinstance(line, RoundedPolygon):
        ring = shapely.LinearRing(finely(line, CURVE_TOLERANCE))
        corners = shapely.points(recess.corners[outward])
        nearest = shapely.shortest_line(ring, corners)
        return np.array([shapely.get_coordinates(way)[0] for way in nearest])
    into = line.corners - np.roll(line.corners, 1, axis=0)
    into = into / np.hypot(*into.T)[:, None]
    inward = np.roll(into, -1, axis=0) - into
    inward = inward / np.maximum(np.hypot(*inward.T), SAME_POINT)[:, None]
    # from the corner to the middle of the arc that rounds it
    away = line.radii * (1 / np.cos(turns(line.corners) / 2) - 1)
    return np.asarray((line.corners + away[:, None] * inward)[outward])


def _evenly(line: AnyPlan, count: int) -> Array:
    """(count, 2) places at even distances along a closed line.

    The first lies at its end toward the neck; where a whole side lies there, in that one's middle.
    """
    ring = shapely.LinearRing(finely(line, CURVE_TOLERANCE))
    points = shapely.get_coordinates(ring)
    first = points[points[:, 0] < points[:, 0].min() + SAME_POINT]
    start = ring.project(shapely.Point(*((first.min(axis=0) + first.max(axis=0)) / 2)))
    along = (start + ring.length * np.arange(count) / count) % ring.length
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(ring, along)))


def _require_room(where: str, by_points: bool, plan: AnyPlan, places: Array, radius: float) -> None:
    """That there is a wall around each hole, and between each two. radius: of the widest, mm."""
    if not len(places):
        return
    ring = shapely.LinearRing(finely(plan, CURVE_TOLERANCE))
    spots = shapely.points(places)
    to_edge = shapely.distance(ring, spots) - radius
    if to_edge.min() < TINY:
        screw = int(np.argmin(to_edge)) + 1
        raise ShapeError(ScrewAtEdge(where, by_points, float(to_edge.min()), TINY, screw))
    apart = shapely.distance(spots[:, None], spots[None]) - 2 * radius
    apart[np.diag_indices(len(spots))] = np.inf
    if apart.min() < TINY:
        one, other = sorted(int(i) + 1 for i in np.unravel_index(np.argmin(apart), apart.shape))
        raise ShapeError(ScrewsMeet(where, by_points, float(apart.min()), TINY, one, other))
