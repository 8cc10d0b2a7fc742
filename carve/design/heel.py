"""What a builder decides about the heel: a block that is bolted on, or a tenon that is glued in.

What its keys must agree on stands in ``heel_rules``.
"""

from typing import Annotated, Literal

from pydantic import Field

from carve.design.fields import Dial, Length, Number
from carve.design.table import Table

HeelKind = Literal["bolted", "tenon"]


class BoltHole(Table):
    """A hole straight through the block."""

    from_end: Annotated[float, Length(2, 300)] = Field(
        description="from the heel end to the hole's middle"
    )
    aside: Annotated[float, Length(-70, 70)] = Field(
        default=0.0, description="from the centre line to the treble side; negative to the bass"
    )
    diameter: Annotated[float, Length(1, 25)] = Field(description="of the hole")


class Heel(Table):
    """The neck's end in the body. Its sizes are the wood's, without finish."""

    kind: HeelKind = Field(
        description='"bolted" (a block as wide as the neck, screwed into a pocket) or "tenon" (a '
        "narrower tongue with shoulders, glued into a mortise)"
    )
    length: Annotated[float, Length(10, 300, Dial(20, 120, 0.5))] = Field(
        description="of the block or the tenon, from the heel end toward the nut"
    )
    depth: Annotated[float, Length(5, 120, Dial(12, 60, 0.1))] = Field(
        description="of the block's or the tenon's flat back below the glue face"
    )
    blend: Annotated[float, Length(5, 250, Dial(10, 100, 0.5))] = Field(
        description="length over which the shaft's back flows into that depth, before the block"
    )
    width: Annotated[float, Length(10, 150, Dial(25, 80, 0.1))] | None = Field(
        default=None,
        description="of a block with parallel sides (left out, the block follows the neck's "
        "taper), or of the tenon at its shoulders (needed)",
    )
    angle: Annotated[float, Number(0, 15, Dial(0, 10, 0.1))] = Field(
        default=0.0,
        description="by which each side of a tenon leans in toward the heel end, in degrees",
    )
    corner_radius: Annotated[float, Length(0, 60, Dial(0, 25, 0.1))] = Field(
        default=0.0,
        description="of the two upright corners at the heel end, seen from above; by habit the "
        "radius of the cutter that makes the pocket",
    )
    holes: tuple[BoltHole, ...] = Field(
        default=(), description="holes through a bolted block; a tenon has none"
    )
