"""Wood left in the body: between every two of its cuts, and from each to the outside.

Measured in space between the shapes. Of each kind of wall the thinnest is told, and every other
one that is too thin.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely

from carve.check.finding import Finding, Verdict
from carve.check.reading.places import show_body_place
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.chambers import Chamber
from carve.shape.body.clearance import inside, nearest, place_of
from carve.shape.body.clearance_under_arch import bore_to_face, cut_to_face
from carve.shape.body.cuts import Cut, Removal, RoundBore
from carve.shape.body.shape import BodyShape
from carve.shape.plate.carved_face import MAP_STEP

EQUAL = 1e-9  # mm
STEP = 0.5  # mm between the places from which a neck pocket's walls are looked at
FROM_MOUTH = 1.5  # times the limit; a wall at 45 degrees to the outline is as thick as that there


@dataclass(frozen=True)
class _Kind:
    """A kind of wall: what it is called, the limit it is held to, and what makes it thicker."""

    name: str
    limit: str
    advice: str


UNDER = _Kind("wood under the pockets", "wood_under_pockets", "make {one} shallower")
OVER = _Kind("wood over the pockets from the back", "wood_over_pockets", "make {one} shallower")
LAYERS = _Kind(
    "wood between pockets over one another", "wood_under_pockets", "make {one} or {other} shallower"
)
BETWEEN = _Kind(
    "walls between pockets", "wood_between_pockets", "move {one} and {other} apart, or shorten one"
)
NECK = _Kind(
    "wall behind the neck pocket",
    "wood_behind_neck_pocket",
    "move {other} away from the neck pocket, or let the two open into each other",
)
EDGE = _Kind("walls to the body's outside", "wood_to_edge", "move {one} inward")
BORE = _Kind("wood around the bores", "wood_around_bores", "move {one} to half of the thickness")
TOP = _Kind("hollow body's top", "hollow_plate", "make body.hollow.top thicker")
BACK = _Kind("hollow body's back", "hollow_plate", "make body.hollow.back thicker")
RIM = _Kind("hollow body's sides", "hollow_rim", "make body.hollow.rim thicker")
PART_TYPES = (UNDER, OVER, LAYERS, BETWEEN, NECK, EDGE, BORE, TOP, BACK, RIM)


@dataclass(frozen=True)
class _Wall:
    """A wall of a kind. one, other: names. place: finds its x, y, z in the body's frame, mm.

    Only the thinnest walls are ever asked for their place, which takes longer than the wood does.
    """

    kind: _Kind
    wood: float
    one: str
    other: str
    place: Callable[[], tuple[float, float, float]]


def check(job: Job) -> Iterator[Finding]:
    """For each kind of wall that there is, a finding for the thinnest and for all that fail."""
    for part in job.parts_with_shape(BodyShape):
        walls = list(_walls(part.shape, job.design.limits.wood_to_edge))
        for kind in PART_TYPES:
            found = sorted(
                (wall for wall in walls if wall.kind is kind), key=lambda wall: wall.wood
            )
            limit = float(getattr(job.design.limits, kind.limit))
            thin = [wall for wall in found if wall.wood < limit - EQUAL]
            for wall in thin or found[:1]:
                yield _finding(job.design, part.name, wall, limit, len(found))


def _finding(design: Design, part: str, wall: _Wall, limit: float, number: int) -> Finding:
    unit, missing = design.units, limit - wall.wood
    thin = missing > EQUAL
    point = wall.place()
    return Finding(
        part=part,
        check=wall.kind.name,
        verdict=Verdict.FAILED if thin else Verdict.GOOD,
        value=wall.wood,
        limit=limit,
        sense="at least",
        place=f"between {wall.one} and {wall.other}, {show_body_place(design, point[0], point[1])}",
        point=point,
        source=f"limits.{wall.kind.limit}; common practice",
        advice=f"{show_length(missing, unit)} more is needed: "
        + wall.kind.advice.format(one=wall.one, other=wall.other)
        if thin
        else "",
        detail="" if thin or number < 2 else f"the thinnest of {number}",
    )


def _walls(shape: BodyShape, to_edge: float) -> Iterator[_Wall]:
    """Every wall. to_edge: mm, the limit of those to the outside."""
    yield from _between(shape)
    for number, taken in enumerate(shape.removals):
        if isinstance(taken, RoundBore):
            yield from _around_bore(shape, taken)
            continue
        yield from _to_faces(shape, number, taken)
        if taken.kind != "neck":
            yield _Wall(
                RIM if taken.opens == "nowhere" else EDGE,
                float(shape.to_rim[number]),
                taken.name,
                "the outside",
                partial(_at_rim, shape, number),
            )
        else:
            yield from _beside_neck(shape, number, FROM_MOUTH * to_edge)


def _beside_neck(shape: BodyShape, number: int, from_mouth: float) -> Iterator[_Wall]:
    """From the walls of the neck's pocket to the outside, but for the last of them at its mouth.

    Where the pocket runs out of the outline its walls come to nothing by design. from_mouth: mm
    along a wall from there to where it is looked at first.
    """
    cut, rim = shape.cuts[number], shape.outline.rim
    inside = shapely.line_merge(shapely.intersection(cut.polygon.exterior, shape.polygon))
    outside = shapely.difference(rim, cut.polygon)
    least, at = np.inf, (0.0, 0.0)
    for wall in shapely.get_parts(inside):
        along = np.arange(from_mouth, wall.length - from_mouth, STEP)
        if wall.is_ring or not len(along):
            continue
        spots = shapely.line_interpolate_point(wall, along)
        away = shapely.distance(outside, spots)
        if away.min() < least:
            thinnest = int(np.argmin(away))
            least, at = float(away[thinnest]), nearest(spots[thinnest], outside)
    if np.isfinite(least):
        middle = (float(cut.floor(np.array([at[0]]))[0])) / 2
        yield _Wall(EDGE, least, cut.name, "the outside", lambda: (*at, middle))


def _at_rim(shape: BodyShape, number: int) -> tuple[float, float, float]:
    cut = shape.cuts[number]
    x, y = nearest(shape.within[number], shape.outline.rim)
    return x, y, (max(cut.low, -shape.thickness) + min(cut.high, 0.0)) / 2


def _between(shape: BodyShape) -> Iterator[_Wall]:
    for wall in shape.walls:
        one, other = shape.removals[wall.one], shape.removals[wall.other]
        if _is_neck(other):
            one, other = other, one
        # cuts may open into each other, but a neck has nothing to stand on in a chamber
        if wall.meets and not (_is_neck(one) and _is_chamber(other)):
            continue
        over = wall.over and not wall.meets
        kind = LAYERS if over else NECK if _is_neck(one) else BETWEEN
        place = partial(place_of, wall, shape.removals, shape.within, shape.thickness)
        wood = 0.0 if wall.meets else wall.wood
        yield _Wall(kind, wood, one.name, other.name, place)


def _is_neck(taken: Removal) -> bool:
    return isinstance(taken, Cut) and taken.kind == "neck"


def _is_chamber(taken: Removal) -> bool:
    return isinstance(taken, Cut) and taken.opens == "nowhere"


def _to_faces(shape: BodyShape, number: int, cut: Cut) -> Iterator[_Wall]:
    """From its floor to the back and from its ceiling to the top, where it opens at neither."""
    plan, inner = shape.within[number], cut.opens == "nowhere"
    if isinstance(cut, Chamber):
        yield from _plates(shape, cut)
        return
    through_top = cut.kind == "sound hole"  # under it lies the room
    if math.isfinite(cut.low) and not through_top and not _opened_from(shape, number, "back"):
        kind = BACK if inner else UNDER
        if shape.back is not None:
            wood, point = cut_to_face(cut, plan, shape.back, shape.thickness)
            yield _Wall(kind, wood, cut.name, "the back", partial(_given, point))
        else:
            x0, _, x1, _ = plan.bounds
            floor = float(cut.floor(np.array([x0, x1])).min())
            level = math.cos(math.atan(cut.slope))
            wood = (floor + shape.thickness) * level
            yield _Wall(kind, wood, cut.name, "the back", partial(_at_floor, shape, number))
    if math.isfinite(cut.high) and not _opened_from(shape, number, "front"):
        kind = TOP if inner else OVER
        if shape.top is not None:
            wood, point = cut_to_face(cut, plan, shape.top)
            yield _Wall(kind, wood, cut.name, "the top", partial(_given, point))
        else:
            at_ceiling = partial(_at_ceiling, shape, number)
            yield _Wall(kind, -cut.high, cut.name, "the top", at_ceiling)


def _plates(shape: BodyShape, room: Chamber) -> Iterator[_Wall]:
    """The plates over and under a room, at their thinnest, square to the outside."""
    points, found = room.seen
    low, high = room.seen_heights
    for kind, face, name, inner in (
        (TOP, shape.top, "the top", high),
        (BACK, shape.back, "the back", -shape.thickness - low),
    ):
        outer, level = np.zeros(len(points)), np.ones(len(points))
        if face is not None:
            rows = face.map.T
            slopes = np.gradient(rows, MAP_STEP)
            outer = rows.ravel()[found]
            level = 1 / np.sqrt(1 + sum(slope.ravel()[found] ** 2 for slope in slopes))
        wood = (outer - inner) * level
        thinnest = int(np.argmin(wood))
        middle = float(outer[thinnest] + inner[thinnest]) / 2
        z = middle if kind is TOP else -shape.thickness - middle
        point = (float(points[thinnest, 0]), float(points[thinnest, 1]), z)
        yield _Wall(kind, float(wood[thinnest]), room.name, name, partial(_given, point))


def _given(point: tuple[float, float, float]) -> tuple[float, float, float]:
    return point


def _at_floor(shape: BodyShape, number: int) -> tuple[float, float, float]:
    cut, plan = shape.cuts[number], shape.within[number]
    x, y = inside(plan)
    if cut.slope:
        x0, y0, x1, y1 = plan.bounds
        x, y = (x0 if cut.slope > 0 else x1), (y0 + y1) / 2
    return x, y, (float(cut.floor(np.array([x]))[0]) - shape.thickness) / 2


def _at_ceiling(shape: BodyShape, number: int) -> tuple[float, float, float]:
    x, y = inside(shape.within[number])
    return x, y, shape.cuts[number].high / 2


def _opened_from(shape: BodyShape, number: int, face: str) -> bool:
    """Whether a cut's floor or ceiling is gone everywhere: another one comes in over all of it."""
    into = [
        shape.within[wall.other if wall.one == number else wall.one]
        for wall in shape.walls
        if wall.meets
        and number in (wall.one, wall.other)
        and _opens(shape.removals[wall.other if wall.one == number else wall.one], face)
    ]
    return bool(into) and bool(shapely.covers(shapely.union_all(into), shape.within[number]))


def _opens(taken: Removal, face: str) -> bool:
    return isinstance(taken, Cut) and taken.opens in (face, "through")


def _around_bore(shape: BodyShape, bore: RoundBore) -> Iterator[_Wall]:
    over, under = -bore.axis - bore.radius, shape.thickness + bore.axis - bore.radius
    x, y = (float(v) for v in bore.start + bore.along * min(bore.radius, bore.depth / 2))
    high, low = (x, y, -over / 2), (x, y, under / 2 - shape.thickness)
    plan = shapely.intersection(bore.polygon, shape.polygon)
    if shape.top is not None:
        over, high = bore_to_face(bore, plan, shape.top)
    if shape.back is not None:
        under, low = bore_to_face(bore, plan, shape.back, shape.thickness)
    if over <= under:
        yield _Wall(BORE, over, bore.name, "the top", partial(_given, high))
    else:
        yield _Wall(BORE, under, bore.name, "the back", partial(_given, low))
    yield from _ahead_of(shape, bore)


def _ahead_of(shape: BodyShape, bore: RoundBore) -> Iterator[_Wall]:
    """From a bore's end to the outline ahead of it; behind the end lies the bore's own mouth."""
    end, across = bore.start + bore.along * bore.depth, bore.aside * bore.radius
    flat = shapely.LineString([end - across, end + across])
    far = 2 * np.hypot(*np.ptp(np.reshape(shape.polygon.bounds, (2, 2)), axis=0))
    wide = bore.aside * far
    ahead = shapely.Polygon(
        [end - wide, end - wide + far * bore.along, end + wide + far * bore.along, end + wide]
    )
    rim = shapely.intersection(shape.outline.rim, ahead)
    out = not shape.polygon.contains(flat)
    if rim.is_empty and not out:
        return
    yield _Wall(
        EDGE,
        0.0 if out else float(shapely.distance(rim, flat)),
        f"{bore.name}'s end",
        "the outside",
        lambda: (*nearest(flat, shape.outline.rim if out else rim), bore.axis),
    )
