"""The cover plate of a recess. All in the body's frame, mm."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from carve.arrays import Array
from carve.design.schema.body import Pocket, PocketFace
from carve.design.schema.cover import CoverScrews
from carve.shape.cover.screws import cover_plans, screw_places
from carve.shape.planar.inset import AnyPlan, Plan, finely
from carve.shape.planar.rounded_polygon import (
    CURVE_TOLERANCE,
    RoundedPolygon,
    area,
    lost_at_corner,
    turns,
)

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

    where: a label of its recess. name: what its recess is called. face: of the body. recess,
    plan: the outlines of both, seen from above. gap: between them. floor: height of the recess's
    floor, on which it lies. thickness: from there to its outside. pilot: diameter of the holes
    under its screws' holes.
    """

    where: str
    name: str
    face: PocketFace
    recess: Plan
    plan: AnyPlan
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
        return shapely.Polygon(finely(self.plan, CURVE_TOLERANCE))

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


def _area(plan: AnyPlan) -> float:
    """What a plan encloses, mm^2: exactly where its corners are arcs, else within ``FINE``."""
    if not isinstance(plan, RoundedPolygon):
        return float(shapely.Polygon(finely(plan, FINE)).area)
    lost = sum(
        math.copysign(lost_at_corner(math.pi - abs(turn), radius), turn)
        for turn, radius in zip(turns(plan.corners).tolist(), plan.radii.tolist(), strict=True)
        if radius
    )
    return area(plan.corners) - lost


def cover_shape(
    pocket: Pocket,
    where: str,
    name: str,
    recesses: Sequence[Plan],
    number: int,
    thickness: float,
) -> CoverShape:
    """The cover of a recess.

    pocket: the recess as the design has it. where: its label. name: what the recess is called.
    recesses: the plans that the pocket takes out. number: of this one among them, from 0.
    thickness: the body's, mm. Raises ShapeError where cover or screws find no room.
    """
    cover = pocket.cover
    assert cover is not None  # who asks has seen it
    assert isinstance(pocket.depth, float)  # the rules see to it
    plans = cover_plans(pocket, where, recesses)
    places = screw_places(pocket, where, recesses, plans)
    return CoverShape(
        where=where,
        name=name,
        face=pocket.face,
        recess=recesses[number],
        plan=plans[number],
        gap=cover.gap,
        floor=-pocket.depth if pocket.face == "front" else pocket.depth - thickness,
        thickness=pocket.depth if cover.thickness is None else cover.thickness,
        screws=_screw_holes(cover.screws, places[number]),
        pilot=0.0 if cover.screws is None else cover.screws.pilot,
    )


def _screw_holes(screws: CoverScrews | None, places: Array) -> tuple[ScrewHole, ...]:
    if screws is None:
        return ()
    head = screws.diameter if screws.head is None else screws.head
    return tuple(
        ScrewHole(x, y, screws.diameter / 2, head / 2, screws.sink) for x, y in places.tolist()
    )
