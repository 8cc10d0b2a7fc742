"""What is taken out of the body: upright pockets, holes and chambers, and bores from the side.

Seen from above a pocket is a polygon some of whose corners are round, or as it was drawn. Its
walls are upright, its floor is a plane that may slope along x. All in the body's frame, mm.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from carve.arrays import Array
from carve.design.schema.body import Bore, Pocket
from carve.design.values.curve import Curve
from carve.design.values.tolerances import TINY
from carve.shape.planar.outline import CurvePlan, circle_of
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE, arc_error, area

SAME = 1e-6  # mm; points of a plan no further apart are one

Opens = Literal["front", "back", "through", "nowhere"]
"""The faces that a cut is open at; a chamber is open at none."""


@dataclass(frozen=True, eq=False)
class RoundedPolygon:
    """A closed polygon with round corners. corners: (k, 2), counter-clockwise. radii: (k,) mm."""

    corners: Array
    radii: Array

    def points(self, chord_error: float) -> Array:
        """(n, 2) points around, counter-clockwise. chord_error: of the arcs, mm."""
        into = self.corners - np.roll(self.corners, 1, axis=0)
        into = into / np.hypot(*into.T)[:, None]
        turn = _turns(self.corners)
        round_ones = np.maximum(self.radii, SAME)
        # a chord over an angle a is r (1 - cos(a / 2)) from its arc
        half = np.arccos(1 - np.minimum(chord_error / round_ones, 0.5))
        pieces = np.where(self.radii > 0, np.ceil(np.abs(turn) / (2 * half)), 0).astype(int)
        corner = np.repeat(np.arange(len(turn)), pieces + 1)
        number = np.arange(len(corner)) - np.repeat(np.cumsum(pieces + 1) - pieces - 1, pieces + 1)
        angle = turn[corner] * number / np.maximum(pieces[corner], 1)
        # from where the arc leaves the side into the corner, around its middle beside that side
        ahead, left = into[corner], into[corner] @ np.array([[0.0, 1.0], [-1.0, 0.0]])
        way = np.sign(turn)[corner] * self.radii[corner]
        start = self.corners[corner] - ahead * (self.radii * np.tan(np.abs(turn) / 2))[corner, None]
        around = (
            start
            + (np.abs(way) * np.sin(np.abs(angle)))[:, None] * ahead
            + (way * (1 - np.cos(angle)))[:, None] * left
        )
        # arcs that meet, as a circle's four do, share their ends
        fresh = np.hypot(*(around - np.roll(around, 1, axis=0)).T) > SAME
        return np.asarray(around[fresh])

    def error(self, chord_error: float) -> float:
        """How far in mm the chords are from the arcs, at most."""
        turns = np.abs(_turns(self.corners))
        errors = (arc_error(r, t, chord_error) for r, t in zip(self.radii, turns, strict=True))
        return max((float(error) for error in errors), default=0.0)

    @property
    def turns(self) -> Array:
        """(k,) radians by which the way around turns at each corner, positive to the left."""
        return _turns(self.corners)

    @property
    def circle(self) -> tuple[float, float, float] | None:
        """x, y and radius in mm where its four arcs make one circle."""
        sides = np.linalg.norm(self.corners - np.roll(self.corners, 1, axis=0), axis=1)
        if len(sides) != 4 or not np.allclose(sides, 2 * self.radii, rtol=0, atol=SAME):
            return None
        x, y = self.corners.mean(axis=0)
        return float(x), float(y), float(self.radii[0])


def _turns(corners: Array) -> Array:
    """(k,) angle in radians by which the way around turns at each corner, positive to the left."""
    into = corners - np.roll(corners, 1, axis=0)
    out = np.roll(into, -1, axis=0)
    across = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    return np.asarray(np.arctan2(across, (into * out).sum(axis=1)))


@dataclass(frozen=True, eq=False)
class Cut:
    """An upright volume that is taken out.

    key, name, kind: where it stands in the file, what it is called, what it is for. opens: at
    which faces. low, high: its floor and its ceiling, infinite where it is open. slope: rise of
    the floor per mm of x, ``low`` being its height at x = 0.
    """

    key: str
    name: str
    kind: str
    opens: Opens
    plan: RoundedPolygon | CurvePlan
    low: float
    high: float
    slope: float = 0.0

    @cached_property
    def polygon(self) -> BaseGeometry:
        """Its plan."""
        ground = shapely.Polygon(self.plan.points(CURVE_TOLERANCE))
        shapely.prepare(ground)
        return ground

    def floor(self, x: Array) -> Array:
        """(n,) height of the floor at x (n,)."""
        if math.isinf(self.low):
            return np.full(np.shape(x), self.low)
        return np.asarray(self.low + self.slope * np.asarray(x, dtype=float))

    def heights(self, points: Array) -> tuple[Array, Array]:
        """(n,) and (n,): floor and ceiling over points (n, 2) that lie in its plan."""
        return self.floor(points[:, 0]), np.full(len(points), self.high)

    def breaks(self, plan: BaseGeometry) -> list[float]:
        """Heights at which its cross section changes, as far as its plan goes."""
        x0, _, x1, _ = plan.bounds
        ends = [] if math.isinf(self.low) else self.floor(np.array([x0, x1])).tolist()
        return [*ends, self.high] if math.isfinite(self.high) else ends

    @cached_property
    def _reach(self) -> tuple[float, float]:
        """Lowest and highest of its floor."""
        if self.slope == 0:
            return self.low, self.low
        x0, _, x1, _ = self.polygon.bounds
        ends = self.floor(np.array([x0, x1]))
        return float(ends.min()), float(ends.max())

    def varies(self, z: float) -> bool:
        """Whether its cross section is changing at a height."""
        lowest, highest = self._reach
        return lowest < z < highest

    def level(self, z: float, plan: BaseGeometry) -> BaseGeometry | None:
        """Its cross section at a height, or None. plan: its plan, or a part of it."""
        lowest, highest = self._reach
        if not lowest < z < self.high:
            return None
        if z >= highest:
            return plan
        at = (z - self.low) / self.slope
        x0, y0, x1, y1 = plan.bounds
        low, high = (x0, min(at, x1)) if self.slope > 0 else (max(at, x0), x1)
        return shapely.intersection(plan, shapely.box(low, y0, high, y1)) if low < high else None


@dataclass(frozen=True, eq=False)
class RoundBore:
    """A level round hole from the body's side.

    start: (2,) x, y of the axis where it enters the wood. along: (2,) its direction, of length
    1. before: mm that its plan runs out of the outline, to clear it. axis: its height.
    """

    key: str
    name: str
    start: Array
    along: Array
    radius: float
    depth: float
    before: float
    axis: float

    @property
    def aside(self) -> Array:
        """(2,) square to the axis, in plan."""
        return np.array([-self.along[1], self.along[0]])

    @cached_property
    def polygon(self) -> BaseGeometry:
        """Its shadow from above."""
        first, last = -self.before * self.along, self.depth * self.along
        across = self.radius * self.aside
        return shapely.Polygon(
            self.start + np.array([first - across, last - across, last + across, first + across])
        )

    def _half(self, points: Array) -> Array:
        """(n,) half height of the hole over points (n, 2), nan beside it."""
        off = (points - self.start) @ self.aside
        with np.errstate(invalid="ignore"):
            return np.asarray(np.sqrt(self.radius**2 - off**2))

    def heights(self, points: Array) -> tuple[Array, Array]:
        """(n,) and (n,): lowest and highest of the hole over points (n, 2) in its plan."""
        half = np.nan_to_num(self._half(points))
        return self.axis - half, self.axis + half

    def breaks(self, plan: BaseGeometry) -> list[float]:
        """Heights at which its cross section begins and ends."""
        return [self.axis - self.radius, self.axis + self.radius]

    def varies(self, z: float) -> bool:
        """Whether its cross section is changing at a height."""
        return abs(z - self.axis) < self.radius

    def level(self, z: float, plan: BaseGeometry) -> BaseGeometry | None:
        """Its cross section at a height, or None. plan: its shadow as far as the wood goes."""
        if not self.varies(z):
            return None
        half = math.sqrt(self.radius**2 - (z - self.axis) ** 2)
        first, last = -self.before * self.along, self.depth * self.along
        across = half * self.aside
        strip = shapely.Polygon(
            self.start + np.array([first - across, last - across, last + across, first + across])
        )
        return shapely.intersection(strip, plan)


Removal = Cut | RoundBore
"""Anything that is taken out."""


def pocket_plan(pocket: Pocket) -> RoundedPolygon:
    """The plan of a pocket that says its own sizes.

    Raises ValueError with a sentence where a polygon crosses itself or its corners have no room.
    """
    if pocket.shape == "polygon":
        corners = np.array(pocket.points, dtype=float)
        ground = shapely.Polygon(corners)
        if not ground.is_valid:
            raise ValueError("points: the polygon crosses itself; give its corners in turn")
        if ground.buffer(-TINY / 2).is_empty:
            raise ValueError(f"points: the polygon is nowhere wider than {TINY:g} mm")
        if area(corners) < 0:
            corners = corners[::-1]
        radius = pocket.corner_radius or 0.0
        radii = _outward(corners, radius)
        _require_room(corners, radii, radius)
    else:
        across = pocket.diameter
        length, width = pocket.length or across or 0.0, pocket.width or across or 0.0
        half = np.array([length, width]) / 2
        corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
        sharp = pocket.shape == "rectangle"
        radii = np.full(4, (pocket.corner_radius or 0.0) if sharp else half.min())
    turn = math.radians(pocket.angle or 0.0)
    sine, cosine = math.sin(turn), math.cos(turn)
    turned = corners @ np.array([[cosine, sine], [-sine, cosine]])
    return RoundedPolygon(turned + np.array([pocket.x or 0.0, pocket.y or 0.0]), radii)


def round_plan(x: float, y: float, diameter: float) -> RoundedPolygon:
    """The plan of a circle about (x, y), mm."""
    half = diameter / 2
    corners = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    return RoundedPolygon(corners + np.array([x, y]), np.full(4, half))


def drawn_plan(curve: Curve) -> RoundedPolygon | CurvePlan:
    """The plan of a closed curve, which is a round hole's where the curve is a circle."""
    circle = circle_of(curve, CURVE_TOLERANCE)
    return CurvePlan(curve) if circle is None else round_plan(circle[0], circle[1], 2 * circle[2])


def _outward(corners: Array, radius: float) -> Array:
    """(k,) the radius where a corner points outward, 0 where it points inward.

    A cutter leaves the one round and can make the other sharp.
    """
    return np.where(_turns(corners) > 0, radius, 0.0)


def _require_room(corners: Array, radii: Array, radius: float) -> None:
    away = radii * np.tan(np.abs(_turns(corners)) / 2)
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    if np.any(away + np.roll(away, -1) > sides + SAME):
        raise ValueError(
            f"corner_radius: {radius:g} mm finds no room between the polygon's corners; make it "
            "less, or the sides longer"
        )


def bore_in(bore: Bore, key: str, outline: BaseGeometry) -> RoundBore:
    """The bore where its axis enters the outline next to the place that the builder gives.

    Raises ValueError with a sentence where it does not.
    """
    turn = math.radians(bore.angle)
    along = np.array([math.cos(turn), math.sin(turn)])
    at = np.array([bore.x, bore.y])
    x0, y0, x1, y1 = outline.bounds
    far = math.hypot(x1 - x0, y1 - y0) + float(np.abs(at).sum())
    inside = shapely.intersection(outline, shapely.LineString([at - far * along, at + far * along]))
    entries: list[float] = []
    leaves: list[float] = []
    for stretch in shapely.get_parts(inside):
        ends = (np.asarray(stretch.coords) - at) @ along
        if len(ends) > 1 and ends.max() - ends.min() > SAME:
            entries.append(float(ends.min()))
            leaves.append(float(ends.max()))
    if not entries:
        raise ValueError("angle: its axis passes by the body; move it, or turn it")
    enters = min(entries, key=abs)
    # as far out as the outline slants across the bore's width, but not into a part beside it
    before = 4 * bore.diameter
    earlier = [enters - leave for leave in leaves if leave < enters]
    if earlier:
        before = min(before, min(earlier) / 2)
    return RoundBore(
        key=key,
        name=bore.name,
        start=at + enters * along,
        along=along,
        radius=bore.diameter / 2,
        depth=bore.depth,
        before=before,
        axis=-bore.below,
    )


def level_chambers(plans: Sequence[shapely.Polygon], low: float, high: float) -> Sequence[Cut]:
    """The chambers of a hollow body with level floor and ceiling, one over each plan. All in mm."""
    found = []
    for number, part in enumerate(plans):
        corners = np.asarray(orient(part).exterior.coords)[:-1]
        name = "chamber" if len(plans) == 1 else f"chamber {number + 1}"
        plan = RoundedPolygon(corners, np.zeros(len(corners)))
        found.append(Cut("body.hollow", name, "chamber", "nowhere", plan, low, high))
    return found
