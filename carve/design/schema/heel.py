"""What a builder decides about the heel: how the neck ends in the body, or goes on through it.

What its keys must agree on stands in ``rules/heel.py``.
"""

from typing import Annotated, Literal

from pydantic import Field

from carve.design.schema.fields import Dial, Length, Number
from carve.design.schema.table import Table

HeelKind = Literal["bolted", "tenon", "carved", "through"]


class BoltHole(Table):
    """A hole straight through the block."""

    from_end: Annotated[float, Length(2, 300)] = Field(
        description="from the heel end to the hole's middle"
    )
    aside: Annotated[float, Length(-70, 70)] = Field(
        default=0.0, description="from the centre line to the treble side; negative to the bass"
    )
    diameter: Annotated[float, Length(1, 25)] = Field(description="of the hole")


class Tongue(Table):
    """What of a carved heel goes into the body: a tenon under its glue face."""

    length: Annotated[float, Length(5, 200, Dial(8, 60, 0.5))] = Field(
        description="from the body's edge to the heel end"
    )
    width: Annotated[float, Length(8, 120, Dial(12, 50, 0.1))] = Field(
        description="at the body's edge"
    )
    depth: Annotated[float, Length(5, 120, Dial(20, 90, 0.1))] = Field(
        description="of its flat back below the glue face, less than the cap's"
    )
    angle: Annotated[float, Number(0, 15, Dial(0, 10, 0.1))] = Field(
        default=0.0, description="by which each side leans in toward the heel end, in degrees"
    )
    corner_radius: Annotated[float, Length(0, 60, Dial(0, 25, 0.1))] = Field(
        default=0.0, description="of its two upright corners at the heel end, seen from above"
    )


class Heel(Table):
    """The neck's end in the body. Its sizes are the wood's, without finish."""

    kind: HeelKind = Field(
        description='"bolted" (a block as wide as the neck, screwed into a pocket), "tenon" (a '
        'narrower tongue with shoulders, glued into a mortise), "carved" (the back sweeps down '
        "to a deep heel with a small flat cap, against a hollow body's side, to which its face "
        'leans by the neck angle) or "through" (the neck goes on as a core through the body)',
    )
    length: Annotated[float, Length(10, 300, Dial(20, 120, 0.5))] | None = Field(
        default=None,
        description="of the block or the tenon, from the heel end toward the nut; needed for "
        "both, else left out",
    )
    depth: Annotated[float, Length(5, 120, Dial(12, 90, 0.1))] = Field(
        description="of the block's, the tenon's or the cap's flat back below the glue face; of a "
        "core, between the body's edge plane and its back, which is parallel to it"
    )
    blend: Annotated[float, Length(5, 250, Dial(10, 100, 0.5))] | None = Field(
        default=None,
        description="length over which the shaft's back flows into that depth, before the block, "
        "the tenon, the cap or the body's edge; left out, 40 mm. It is shorter where a station "
        "lies in it: the blend then begins at that station, where the thickness is as asked",
    )
    width: Annotated[float, Length(10, 150, Dial(25, 80, 0.1))] | None = Field(
        default=None,
        description="of a block with parallel sides (left out, the block follows the neck's "
        "taper), of the tenon at its shoulders (needed), or of the core at the body's edge (left "
        "out, the neck's there)",
    )
    end_width: Annotated[float, Length(10, 150, Dial(25, 80, 0.1))] | None = Field(
        default=None,
        description="of the core at the heel end; left out, its sides are parallel",
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
        default=(),
        description="holes through a bolted block; other heels have none; left out, there are none",
    )
    cap_length: Annotated[float, Length(2, 80, Dial(4, 40, 0.5))] | None = Field(
        default=None,
        description="of the flat cap along the neck, up to the body's side, on the centre "
        "line; needed where carved, else left out",
    )
    cap_width: Annotated[float, Length(4, 120, Dial(12, 60, 0.1))] | None = Field(
        default=None,
        description="of the flat cap at the body's side; needed where carved, else left out",
    )
    flank: Annotated[float, Number(-1, 1, Dial(-1, 1, 0.02))] = Field(
        default=0.0,
        description="how hollow (-1) or full (1) a carved heel's flanks are at the body's side; "
        "at 0 they are all but straight from the glue face to the cap",
    )
    tongue: Tongue | None = Field(
        default=None,
        description="what of a carved heel goes into the body; left out, it ends in a flat face "
        "that butts against the body's side",
    )
