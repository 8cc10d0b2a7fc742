"""The cover plate of a recess, where its screws stand, and the pilot holes under them.

All in the body's frame, mm. Cover and body reckon the screws' places by the same function, so
the holes of both lie in one line.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from carve.arrays import Array
from carve.design.schema.body import BodyOutline, Pocket, PocketFace
from carve.design.schema.cover import CoverScrews
from carve.design.values.tolerances import TINY
from carve.design.values.units import Unit, show_length
from carve.errors import DesignError
from carve.shape.body.cuts import SAME, Cut, RoundedPolygon, round_plan
from carve.shape.body.drawn_pockets import numbered, plans_of
from carve.shape.body.inset_plan import InsetPlan, Plan, inset_plan
from carve.shape.planar.outline import CurvePlan
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE, area, lost_at_corner

SCREW_HOLE = "screw hole"
"""The kind of the pilot holes among the body's cuts."""

FINE = 0.002  # mm; chord error of the area of what has no formula


@dataclass(frozen=True)
class ScrewHole:
    """A hole through the cover. x, y: of its middle. radius: mm.

    head: radius of the countersink at the outside, the hole's own where there is none. sink:
    the countersink's depth.
    """

    x: float
    y: float
    radius: float
    head: float
    sink: float

    @property
    def volume(self) -> float:
        """What the countersink takes beyond the hole's cylinder, mm^3: a cone's frustum less it."""
        frustum = (self.head**2 + self.head * self.radius + self.radius**2) / 3
        return math.pi * self.sink * (frustum - self.radius**2)


@dataclass(frozen=True, eq=False)
class CoverShape:
    """A cover plate where it lies in the body. All in mm.

    key: of its table in the file. name: what its recess is called. face: of the body. recess,
    plan: the outlines of both, seen from above. gap: between them. floor: height of the recess's
    floor, on which it lies. thickness: from there to its outside. pilot: diameter of the holes
    under its screws' holes.
    """

    key: str
    name: str
    face: PocketFace
    recess: RoundedPolygon | CurvePlan
    plan: Plan
    gap: float
    floor: float
    thickness: float
    screws: tuple[ScrewHole, ...]
    pilot: float

    @property
    def title(self) -> str:
        """What to call it in a sentence: "controls cover", "rosette's cover"."""
        return self.name if "cover" in self.name.lower() else f"{self.name}'s cover"

    @property
    def up(self) -> float:
        """1.0 where its outside looks up, -1.0 where it looks down."""
        return 1.0 if self.face == "front" else -1.0

    @property
    def outside(self) -> float:
        """Height of its outside."""
        return self.floor + self.up * self.thickness

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """What its edge encloses, holes not taken out, within ``CURVE_TOLERANCE``."""
        return shapely.Polygon(_finely(self.plan, CURVE_TOLERANCE))

    @cached_property
    def middle(self) -> tuple[float, float]:
        """Where the middle of the box around its plan lies, x and y: the origin of its frame."""
        x0, y0, x1, y1 = self.polygon.bounds
        return (x0 + x1) / 2, (y0 + y1) / 2

    @property
    def to_body(self) -> Array:
        """(4, 4) from its own frame, whose origin lies on its outside, to the body's."""
        there = np.eye(4)
        there[:3, 3] = *self.middle, self.outside
        return there

    def volume(self) -> float:
        """Volume in mm^3: its area times its thickness, less holes and countersinks."""
        holes = sum(math.pi * hole.radius**2 * self.thickness + hole.volume for hole in self.screws)
        return _area(self.plan) * self.thickness - holes


def _area(plan: Plan) -> float:
    """What a plan encloses, mm^2: exactly where its corners are arcs, else within ``FINE``."""
    if not isinstance(plan, RoundedPolygon):
        return float(shapely.Polygon(_finely(plan, FINE)).area)
    lost = sum(
        math.copysign(lost_at_corner(math.pi - abs(turn), radius), turn)
        for turn, radius in zip(plan.turns.tolist(), plan.radii.tolist(), strict=True)
        if radius
    )
    return area(plan.corners) - lost


def cover_shape(
    pocket: Pocket,
    key: str,
    number: int,
    outline: BodyOutline | None,
    thickness: float,
    unit: Unit,
) -> CoverShape:
    """The cover of a recess.

    key: the pocket's. number: of the recess, where the pocket is several, from 0. outline: the
    body's, where the recess comes from its drawing. thickness: the body's. unit: to speak in.
    Raises DesignError where there is none.
    """
    cover = pocket.cover
    assert cover is not None  # who asks has seen it
    assert isinstance(pocket.depth, float)  # the rules see to it
    try:
        recesses = plans_of(pocket, key, outline, unit)
        plans = cover_plans(pocket, recesses, unit)
        places = screw_places(pocket, recesses, plans, unit)[number]
    except ValueError as error:
        raise DesignError([f"{key}.{error}"]) from None
    return CoverShape(
        key=f"{key}.cover",
        name=numbered(pocket.name, number, len(recesses)),
        face=pocket.face,
        recess=recesses[number],
        plan=plans[number],
        gap=cover.gap,
        floor=-pocket.depth if pocket.face == "front" else pocket.depth - thickness,
        thickness=pocket.depth if cover.thickness is None else cover.thickness,
        screws=_screw_holes(cover.screws, places),
        pilot=0.0 if cover.screws is None else cover.screws.pilot,
    )


def _screw_holes(screws: CoverScrews | None, places: Array) -> tuple[ScrewHole, ...]:
    if screws is None:
        return ()
    head = screws.diameter if screws.head is None else screws.head
    return tuple(
        ScrewHole(x, y, screws.diameter / 2, head / 2, screws.sink) for x, y in places.tolist()
    )


def pilot_holes(pocket: Pocket, key: str, recesses: Sequence[Cut], unit: Unit) -> Iterator[Cut]:
    """The holes in the body under the screws of a pocket's covers.

    recesses: what the pocket takes out. Raises ValueError with a sentence where a screw or a
    cover finds no room.
    """
    cover = pocket.cover
    if cover is None or cover.screws is None:
        return
    screws, plans = cover.screws, [cut.plan for cut in recesses]
    found = screw_places(pocket, plans, cover_plans(pocket, plans, unit), unit)
    for recess, places in zip(recesses, found, strict=True):
        front = recess.opens == "front"
        low = recess.low - screws.pilot_depth if front else -math.inf
        high = math.inf if front else recess.high + screws.pilot_depth
        for number, (x, y) in enumerate(places.tolist(), start=1):
            yield Cut(
                key=f"{key}.cover.screws",
                name=pilot_name(recess.name, number),
                kind=SCREW_HOLE,
                opens=recess.opens,
                plan=round_plan(x, y, screws.pilot),
                low=low,
                high=high,
            )


def pilot_name(recess: str, number: int) -> str:
    """What the hole under a cover's screw is called. number: from 1."""
    return f"{recess} screw {number}"


def cover_plans(
    pocket: Pocket, recesses: Sequence[RoundedPolygon | CurvePlan], unit: Unit
) -> list[Plan]:
    """The outlines of the covers in a pocket's recesses, the gap inside of them.

    Raises ValueError with a sentence where a recess is too narrow for one.
    """
    cover = pocket.cover
    assert cover is not None  # who asks has seen it
    try:
        return [inset_plan(recess, cover.gap) for recess in recesses]
    except ValueError as error:
        raise ValueError(
            f"cover.gap: {show_length(cover.gap, unit)} is not allowed, {error} of the cover; make "
            "it less, or the recess wider"
        ) from None


def screw_places(
    pocket: Pocket,
    recesses: Sequence[RoundedPolygon | CurvePlan],
    plans: Sequence[Plan],
    unit: Unit,
) -> list[Array]:
    """Where the screws of each recess's cover stand: (k, 2) for each of them.

    recesses, plans: of each cover the outline around it, and its own. Raises ValueError with a
    sentence where one of them finds no room.
    """
    cover = pocket.cover
    assert cover is not None  # who asks has seen it
    if cover.screws is None:
        return [np.empty((0, 2)) for _ in plans]
    if cover.screws.points is not None:
        found = _at_points(pocket, cover.screws.points, plans, unit)
        key = "cover.screws.points"
    else:
        found = [_along_edge(pocket, cover.screws, recess, unit) for recess in recesses]
        key = "cover.screws.from_edge"
    widest = max(cover.screws.diameter, cover.screws.head or 0.0) / 2
    for plan, places in zip(plans, found, strict=True):
        _require_room(key, plan, places, widest, unit)
    return found


def _at_points(
    pocket: Pocket, points: Sequence[tuple[float, float]], plans: Sequence[Plan], unit: Unit
) -> list[Array]:
    """Each of the builder's points in the cover that it lies in."""
    turn = math.radians(pocket.angle or 0.0)
    sine, cosine = math.sin(turn), math.cos(turn)
    there = np.array(points) @ np.array([[cosine, sine], [-sine, cosine]])
    there += [pocket.x or 0.0, pocket.y or 0.0]
    grounds = [shapely.Polygon(_finely(plan, CURVE_TOLERANCE)) for plan in plans]
    inside = np.array([shapely.contains_xy(ground, *there.T) for ground in grounds])
    for number in np.flatnonzero(~inside.any(axis=0)).tolist():
        x, y = (show_length(value, unit) for value in points[number])
        raise ValueError(
            f"cover.screws.points: point {number + 1}, {x} and {y}, is not allowed; it lies beside "
            "the cover"
        )
    return [there[within] for within in inside]


def _along_edge(
    pocket: Pocket, screws: CoverScrews, recess: RoundedPolygon | CurvePlan, unit: Unit
) -> Array:
    """Places at the corners of a recess, or evenly along the edge of its cover."""
    assert screws.from_edge is not None  # the rules see to it
    assert pocket.cover is not None
    try:
        line = inset_plan(recess, pocket.cover.gap + screws.from_edge)
    except ValueError:
        raise ValueError(
            f"cover.screws.from_edge: {show_length(screws.from_edge, unit)} is not allowed; the "
            "cover is too narrow for a line of screws so far inside"
        ) from None
    if screws.count is not None:
        return _evenly(line, screws.count)
    assert isinstance(recess, RoundedPolygon)  # the rules see to it
    return _in_corners(recess, line)


def _in_corners(recess: RoundedPolygon, line: Plan) -> Array:
    """The place on a line inside a recess that is nearest to each corner pointing outward."""
    outward = recess.turns > SAME
    if not isinstance(line, RoundedPolygon):
        ring = shapely.LinearRing(_finely(line, CURVE_TOLERANCE))
        corners = shapely.points(recess.corners[outward])
        nearest = shapely.shortest_line(ring, corners)
        return np.array([shapely.get_coordinates(way)[0] for way in nearest])
    into = line.corners - np.roll(line.corners, 1, axis=0)
    into = into / np.hypot(*into.T)[:, None]
    inward = np.roll(into, -1, axis=0) - into
    inward = inward / np.maximum(np.hypot(*inward.T), SAME)[:, None]
    # from the corner to the middle of the arc that rounds it
    away = line.radii * (1 / np.cos(line.turns / 2) - 1)
    return np.asarray((line.corners + away[:, None] * inward)[outward])


def _evenly(line: Plan, count: int) -> Array:
    """(count, 2) places at even distances along a closed line.

    The first lies at its end toward the neck; where a whole side lies there, in that one's middle.
    """
    ring = shapely.LinearRing(_finely(line, CURVE_TOLERANCE))
    points = shapely.get_coordinates(ring)
    first = points[points[:, 0] < points[:, 0].min() + SAME]
    start = ring.project(shapely.Point(*((first.min(axis=0) + first.max(axis=0)) / 2)))
    along = (start + ring.length * np.arange(count) / count) % ring.length
    return np.asarray(shapely.get_coordinates(shapely.line_interpolate_point(ring, along)))


def _finely(plan: Plan, chord_error: float) -> Array:
    """(n, 2) points around, where nobody asks how near they are: an offset's are not measured."""
    return plan.offset(chord_error / 4) if isinstance(plan, InsetPlan) else plan.points(chord_error)


def _require_room(key: str, plan: Plan, places: Array, radius: float, unit: Unit) -> None:
    """That there is a wall around each hole, and between each two. radius: of the widest, mm."""
    if not len(places):
        return
    ring = shapely.LinearRing(_finely(plan, CURVE_TOLERANCE))
    spots = shapely.points(places)
    to_edge = shapely.distance(ring, spots) - radius
    if to_edge.min() < TINY:
        raise ValueError(
            f"{key}: screw {int(np.argmin(to_edge)) + 1} leaves "
            f"{show_length(float(to_edge.min()), unit)} of the cover to its edge; at least "
            f"{show_length(TINY, unit)} is needed for there to be a wall"
        )
    apart = shapely.distance(spots[:, None], spots[None]) - 2 * radius
    apart[np.diag_indices(len(spots))] = np.inf
    if apart.min() < TINY:
        one, other = sorted(int(i) + 1 for i in np.unravel_index(np.argmin(apart), apart.shape))
        raise ValueError(
            f"{key}: screws {one} and {other} leave {show_length(float(apart.min()), unit)} of the "
            f"cover between them; at least {show_length(TINY, unit)} is needed, so take fewer or "
            "move them apart"
        )
