"""What is taken out of the body: upright pockets, holes and chambers, and bores from the side.

Seen from above a pocket is a polygon some of whose corners are round, or as it was drawn. Its
walls are upright, its floor is a plane that may slope along x. All in the body's frame, mm.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array
from carve.design.schema.body import Bore, BoreKind, PocketKind
from carve.errors import ShapeError
from carve.shape.body.problems import BoreBesideBody
from carve.shape.planar.inset import Plan
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE, SAME_POINT

CutKind = PocketKind | Literal["chamber", "screw hole"]

Opens = Literal["front", "back", "through", "nowhere"]
"""The faces that a cut is open at; a chamber is open at none."""


@dataclass(frozen=True, eq=False)
class Cut:
    """An upright volume that is taken out.

    key: a label that was given with it, to be given back with a problem. name, kind: what it is
    called, what it is for. opens: at which faces. plan: seen from above, its points (n, 2) mm.
    low, high: mm, its floor and its ceiling, infinite where it is open. slope: rise of the floor
    per mm of x, ``low`` being its height at x = 0.
    """

    key: str
    name: str
    kind: CutKind
    opens: Opens
    plan: Plan
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

    key, name, kind: as a cut's. start: (2,) x, y in mm of the axis where it enters the wood. along:
    (2,) its direction, of length 1. radius, depth: mm. before: mm that its plan runs out of the
    outline, to clear it. axis: mm, its height.
    """

    key: str
    name: str
    start: Array
    along: Array
    radius: float
    depth: float
    before: float
    axis: float
    kind: BoreKind = "bore"

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


def bore_in(bore: Bore, key: str, outline: BaseGeometry) -> RoundBore:
    """The bore where its axis enters the outline next to the place that the builder gives.

    key: a label to give back. outline: the body's, mm. Raises ShapeError where it does not.
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
        if len(ends) > 1 and ends.max() - ends.min() > SAME_POINT:
            entries.append(float(ends.min()))
            leaves.append(float(ends.max()))
    if not entries:
        raise ShapeError(BoreBesideBody(key))
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
        kind=bore.kind,
    )
