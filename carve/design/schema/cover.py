"""What a builder decides about the cover plate that lies in a recess, and about its screws.

A recess has one cover; where it was drawn as several closed curves, one for each of them. What
keys must agree on stands in ``rules.cover``.
"""

import math
from typing import Annotated

from pydantic import Field

from carve.design.schema.blank import Blank
from carve.design.schema.fields import Count, Dial, Length, Number, Points
from carve.design.schema.table import Table
from carve.design.values.curve import Point


class CoverScrews(Table):
    """The screws of a cover: a hole in the cover for each, and a pilot hole in the body under it.

    One stands at each corner of the recess, or ``count`` of them along a line, or at ``points``.
    """

    diameter: Annotated[float, Length(1, 12, Dial(1.5, 6, 0.1))] = Field(
        description="of the clearance hole through the cover"
    )
    head: Annotated[float, Length(1.5, 25, Dial(3, 12, 0.1))] | None = Field(
        default=None,
        description="diameter of the countersink in the cover's outside; left out, there is none",
    )
    head_angle: Annotated[float, Number(60, 120, Dial(60, 120, 1), "°")] = Field(
        default=90.0,
        description="of the countersink's cone from flank to flank, in degrees: by habit 90 for "
        "metric screws, 82 for those in inches",
    )
    pilot: Annotated[float, Length(0.5, 12, Dial(0.5, 5, 0.05))] = Field(
        description="diameter of the hole in the body"
    )
    pilot_depth: Annotated[float, Length(1, 100, Dial(3, 30, 0.5))] = Field(
        description="of the hole in the body, from the recess's floor"
    )
    from_edge: Annotated[float, Length(0.5, 100, Dial(2, 20, 0.1))] | None = Field(
        default=None,
        description="from the cover's edge to the holes' middles; needed unless `points` are "
        "given, then left out",
    )
    count: Annotated[int, Count(1, 40)] | None = Field(
        default=None,
        description="how many, spread evenly along the cover's edge, the first of them toward the "
        "neck; left out, one stands at each corner of a rectangle or a polygon that points outward",
    )
    points: Annotated[tuple[Point, ...], Points(1)] | None = Field(
        default=None,
        description="instead: x and y of their middles from the recess's own x and y, turned "
        "by its angle; in a drawing from the body's edge on the centre line; "
        "left out, `from_edge` places them",
    )

    @property
    def sink(self) -> float:
        """Depth of the countersink in mm, 0 where there is none."""
        if self.head is None:
            return 0.0
        return (self.head - self.diameter) / 2 / math.tan(math.radians(self.head_angle / 2))


class CoverBlank(Blank):
    """The piece of wood, or of another sheet, for a cover."""

    length: Annotated[float, Length(10, 1000)] = Field(description="along the centre line")
    width: Annotated[float, Length(10, 1000)] = Field(description="across the centre line")
    thickness: Annotated[float, Length(0.5, 100)] = Field(description="outside to inside")


class Cover(Table):
    """A cover plate. Its outline follows from the recess, its place too."""

    gap: Annotated[float, Length(0.05, 2, Dial(0.05, 1.5, 0.05))] = Field(
        description="between the cover and the recess's wall all around: wood moves, finish builds"
    )
    thickness: Annotated[float, Length(0.5, 40, Dial(0.5, 8, 0.05))] | None = Field(
        default=None,
        description="left out, it is the recess's depth, so that the cover lies flush in a flat "
        "face",
    )
    screws: CoverScrews | None = Field(default=None, description="left out, there are none")
    blank: CoverBlank | None = Field(
        default=None, description="the piece on the bench; left out, it is not checked"
    )


class CoverLimits(Table):
    """What the checks of covers hold against. Common practice, and yours to change."""

    cover_gap: Annotated[float, Length(0.001, 2)] = Field(
        default=0.05,
        description="how far the gap around a cover may be from the one asked for, beside the "
        "chord errors of both meshes",
    )
    cover_flush: Annotated[float, Length(0.001, 20)] = Field(
        default=0.2,
        description="how far a cover's outside may stand above or below the face around it",
    )
    cover_ledge: Annotated[float, Length(0, 60)] = Field(
        default=2.0,
        description="least width of the recess's floor that a cover lies on, taken evenly along "
        "its edge",
    )
    wood_around_cover_screws: Annotated[float, Length(0, 30)] = Field(
        default=1.5,
        description="least wood around a cover's screw holes, in the cover and in the recess's "
        "floor",
    )
    cover_screw_hold: Annotated[float, Length(0, 60)] = Field(
        default=3.0, description="least length of a cover's pilot holes that goes through wood"
    )
    cover_screw_line: Annotated[float, Length(0.001, 5)] = Field(
        default=0.1,
        description="how far a cover's screw holes may be from the pilot holes under them",
    )
