"""The wood of a body: the walls between every two of its cuts, and from each to the outside.

Measured in space between the shapes, not on the mesh.
"""

import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum
from functools import partial

import numpy as np
import shapely

from carve.check.finding import Point
from carve.shape.body.chambers import Chamber
from carve.shape.body.clearance import inside, nearest, place_of
from carve.shape.body.clearance_under_arch import bore_to_face, cut_to_face
from carve.shape.body.cuts import Cut, Removal, RoundBore
from carve.shape.body.shape import BodyShape
from carve.shape.plate.carved_face import MAP_STEP

STEP = 0.5  # mm between the places from which a neck pocket's walls are looked at


class WallKind(Enum):
    """What a wall lies between, and so what it is for."""

    UNDER = "under a pocket"
    OVER = "over a pocket from the back"
    LAYERS = "between pockets over one another"
    BETWEEN = "between pockets side by side"
    NECK = "behind the neck's pocket"
    EDGE = "to the body's outside"
    BORE = "around a bore"
    TOP = "over a chamber"
    BACK = "under a chamber"
    RIM = "around a chamber"


@dataclass(frozen=True)
class Wall:
    """A wall, at its thinnest.

    kind: what it lies between. wood: how thick it is, mm. one, other: names of what is on either
    side. key: of the same, as a finding's name has them. place: finds its x, y, z in mm in the
    body's frame; it takes longer than the wood does, so only the thinnest are asked for it.
    """

    kind: WallKind
    wood: float
    one: str
    other: str
    key: str
    place: Callable[[], Point]


def removal_keys(shape: BodyShape) -> tuple[str, ...]:
    """A key for each that is taken out: its own in the body's table, counted where many have it."""
    found: Counter[str] = Counter()
    keys = []
    for taken in shape.removals:
        key = taken.key.removeprefix("body.")
        keys.append(f"{key}.{found[key]}" if found[key] else key)
        found[key] += 1
    return tuple(keys)


def walls_of(shape: BodyShape, from_mouth: float) -> Iterator[Wall]:
    """Every wall of a body.

    from_mouth: mm along a wall of the neck's pocket, from where it runs out of the outline to
    where it is looked at first.
    """
    keys = removal_keys(shape)
    yield from _between(shape, keys)
    for number, taken in enumerate(shape.removals):
        if isinstance(taken, RoundBore):
            yield from _around_bore(shape, taken, keys[number])
            continue
        yield from _to_faces(shape, number, taken, keys[number])
        if taken.kind != "neck":
            yield Wall(
                WallKind.RIM if taken.opens == "nowhere" else WallKind.EDGE,
                float(shape.to_rim[number]),
                taken.name,
                "the outside",
                keys[number],
                partial(_at_rim, shape, number),
            )
        else:
            yield from _beside_neck(shape, number, keys[number], from_mouth)


def _beside_neck(shape: BodyShape, number: int, key: str, from_mouth: float) -> Iterator[Wall]:
    """From the walls of the neck's pocket to the outside, but for the last of them at its mouth.

    Where the pocket runs out of the outline its walls come to nothing by design.
    """
    cut, rim = shape.cuts[number], shape.outline.rim
    along_pocket = shapely.line_merge(shapely.intersection(cut.polygon.exterior, shape.polygon))
    outside = shapely.difference(rim, cut.polygon)
    least, at = np.inf, (0.0, 0.0)
    for wall in shapely.get_parts(along_pocket):
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
        yield Wall(WallKind.EDGE, least, cut.name, "the outside", key, lambda: (*at, middle))


def _at_rim(shape: BodyShape, number: int) -> Point:
    cut = shape.cuts[number]
    x, y = nearest(shape.within[number], shape.outline.rim)
    return x, y, (max(cut.low, -shape.thickness) + min(cut.high, 0.0)) / 2


def _between(shape: BodyShape, keys: tuple[str, ...]) -> Iterator[Wall]:
    for wall in shape.walls:
        one, other = shape.removals[wall.one], shape.removals[wall.other]
        key = f"{keys[wall.one]}+{keys[wall.other]}"
        if _is_neck(other):
            one, other = other, one
        # cuts may open into each other, but a neck has nothing to stand on in a chamber
        if wall.meets and not (_is_neck(one) and _is_chamber(other)):
            continue
        over = wall.over and not wall.meets
        beside = WallKind.NECK if _is_neck(one) else WallKind.BETWEEN
        kind = WallKind.LAYERS if over else beside
        place = partial(place_of, wall, shape.removals, shape.within, shape.thickness)
        wood = 0.0 if wall.meets else wall.wood
        yield Wall(kind, wood, one.name, other.name, key, place)


def _is_neck(taken: Removal) -> bool:
    return isinstance(taken, Cut) and taken.kind == "neck"


def _is_chamber(taken: Removal) -> bool:
    return isinstance(taken, Cut) and taken.opens == "nowhere"


def _to_faces(shape: BodyShape, number: int, cut: Cut, key: str) -> Iterator[Wall]:
    """From its floor to the back and from its ceiling to the top, where it opens at neither."""
    plan, inner = shape.within[number], cut.opens == "nowhere"
    if isinstance(cut, Chamber):
        yield from _plates(shape, cut, key)
        return
    through_top = cut.kind == "sound hole"  # under it lies the room
    if math.isfinite(cut.low) and not through_top and not _opened_from(shape, number, "back"):
        kind = WallKind.BACK if inner else WallKind.UNDER
        if shape.back is not None:
            wood, point = cut_to_face(cut, plan, shape.back, shape.thickness)
            yield Wall(kind, wood, cut.name, "the back", key, partial(_given, point))
        else:
            x0, _, x1, _ = plan.bounds
            floor = float(cut.floor(np.array([x0, x1])).min())
            level = math.cos(math.atan(cut.slope))
            wood = (floor + shape.thickness) * level
            yield Wall(kind, wood, cut.name, "the back", key, partial(_at_floor, shape, number))
    if math.isfinite(cut.high) and not _opened_from(shape, number, "front"):
        kind = WallKind.TOP if inner else WallKind.OVER
        if shape.top is not None:
            wood, point = cut_to_face(cut, plan, shape.top)
            yield Wall(kind, wood, cut.name, "the top", key, partial(_given, point))
        else:
            at_ceiling = partial(_at_ceiling, shape, number)
            yield Wall(kind, -cut.high, cut.name, "the top", key, at_ceiling)


def _plates(shape: BodyShape, chamber: Chamber, key: str) -> Iterator[Wall]:
    """The plates over and under a chamber, at their thinnest, square to the outside."""
    points, found = chamber.seen
    low, high = chamber.seen_heights
    for kind, face, name, inner in (
        (WallKind.TOP, shape.top, "the top", high),
        (WallKind.BACK, shape.back, "the back", -shape.thickness - low),
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
        z = middle if kind is WallKind.TOP else -shape.thickness - middle
        point = (float(points[thinnest, 0]), float(points[thinnest, 1]), z)
        yield Wall(kind, float(wood[thinnest]), chamber.name, name, key, partial(_given, point))


def _given(point: Point) -> Point:
    return point


def _at_floor(shape: BodyShape, number: int) -> Point:
    cut, plan = shape.cuts[number], shape.within[number]
    x, y = inside(plan)
    if cut.slope:
        x0, y0, x1, y1 = plan.bounds
        x, y = (x0 if cut.slope > 0 else x1), (y0 + y1) / 2
    return x, y, (float(cut.floor(np.array([x]))[0]) - shape.thickness) / 2


def _at_ceiling(shape: BodyShape, number: int) -> Point:
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


def _around_bore(shape: BodyShape, bore: RoundBore, key: str) -> Iterator[Wall]:
    over, under = -bore.axis - bore.radius, shape.thickness + bore.axis - bore.radius
    x, y = (float(v) for v in bore.start + bore.along * min(bore.radius, bore.depth / 2))
    high, low = (x, y, -over / 2), (x, y, under / 2 - shape.thickness)
    plan = shapely.intersection(bore.polygon, shape.polygon)
    if shape.top is not None:
        over, high = bore_to_face(bore, plan, shape.top)
    if shape.back is not None:
        under, low = bore_to_face(bore, plan, shape.back, shape.thickness)
    if over <= under:
        yield Wall(WallKind.BORE, over, bore.name, "the top", key, partial(_given, high))
    else:
        yield Wall(WallKind.BORE, under, bore.name, "the back", key, partial(_given, low))
    yield from _ahead_of(shape, bore, key)


def _ahead_of(shape: BodyShape, bore: RoundBore, key: str) -> Iterator[Wall]:
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
    yield Wall(
        WallKind.EDGE,
        0.0 if out else float(shapely.distance(rim, flat)),
        f"{bore.name}'s end",
        "the outside",
        key,
        lambda: (*nearest(flat, shape.outline.rim if out else rim), bore.axis),
    )
