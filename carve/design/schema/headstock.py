"""What a builder decides about the headstock: its plan, its face, its back, its holes.

Along the headstock everything is measured on its face, from the nut's front; sideways from
the centre line, to the treble side. Where the nut slants, that is from where its line crosses
the centre line, and the headstock itself begins square behind the nut's rear corner.
What its keys must agree on stands in ``rules/headstock.py``.
"""

from typing import Annotated, Literal

from pydantic import Field

from carve.design.schema.fields import Count, Dial, Length, Number, Spots
from carve.design.schema.outline import OutlineFile
from carve.design.schema.table import Table

HeadJoint = Literal["one piece", "scarfed"]
Family = Literal["straight", "waisted"]


class HeadOutline(Table):
    """The headstock seen square to its face: sides that run out from the nut to a square tip."""

    family: Family = Field(
        default="straight",
        description='"straight" (sides straight from the widest place to the tip) or "waisted" '
        "(drawn in between them)",
    )
    length: Annotated[float, Length(40, 400, Dial(100, 240, 0.5))] = Field(
        description="from the nut, on the centre line, to the tip, on the bass side"
    )
    width: Annotated[float, Length(20, 250, Dial(50, 120, 0.5))] = Field(
        description="where the sides have run out from the nut"
    )
    end_width: Annotated[float, Length(10, 250, Dial(30, 120, 0.5))] = Field(
        description="at the tip, before its corners are rounded"
    )
    flare: Annotated[float, Length(10, 150, Dial(15, 60, 0.5))] = Field(
        default=35.0,
        description="length over which the sides run out from the nut, or from a slanted nut's "
        "rear corner, to the width",
    )
    waist: Annotated[float, Length(10, 250, Dial(30, 110, 0.5))] | None = Field(
        default=None,
        description="width half way between there and the tip; needed where waisted, else left out",
    )
    aside: Annotated[float, Length(-80, 80, Dial(-30, 30, 0.5))] = Field(
        default=0.0,
        description="of the middle of the width, to the treble side; for tuners in one row on "
        "the bass side give less than 0",
    )
    end_aside: Annotated[float, Length(-100, 100, Dial(-50, 50, 0.5))] = Field(
        default=0.0, description="of the middle of the tip, likewise"
    )
    slant: Annotated[float, Length(-100, 100, Dial(-40, 40, 0.5))] = Field(
        default=0.0, description="how much further the tip reaches on the treble side"
    )
    corner_radius: Annotated[float, Length(0, 80, Dial(0, 30, 0.5))] = Field(
        default=8.0, description="of the tip's two corners"
    )


class DrawnHead(OutlineFile):
    """The headstock's outline from a drawing or from points; its nut's edge meets the neck."""

    flare: Annotated[float, Length(5, 150, Dial(10, 60, 0.5))] = Field(
        default=20.0,
        description="length over which the sides come from the neck's edges at the nut, or from a "
        "slanted nut's rear corner, to the drawn line",
    )


_BEHIND = Length(5, 390, Dial(20, 120, 0.1))
_ASIDE = Length(-120, 120, Dial(-60, 60, 0.1))


class Tuners(Table):
    """A tuner's hole, a straight row of equal ones, or equal ones anywhere."""

    diameter: Annotated[float, Length(2, 25, Dial(5, 14, 0.05))] = Field(description="of the hole")
    behind: Annotated[float, _BEHIND] | None = Field(
        default=None,
        description="from the nut, on the centre line, to the middle of the first hole, "
        "along the face; needed without `places`, else left out",
    )
    aside: Annotated[float, _ASIDE] | None = Field(
        default=None,
        description="of the first hole from the centre line, to the treble side; needed "
        "without `places`, else left out",
    )
    number: Annotated[int, Count(1, 12)] = Field(default=1, description="holes in the row")
    spacing: Annotated[float, Length(5, 80, Dial(18, 45, 0.1))] | None = Field(
        default=None,
        description="along the face from hole to hole; needed for more than one, else left out",
    )
    drift: Annotated[float, Length(-30, 30, Dial(-8, 8, 0.1))] = Field(
        default=0.0, description="to the treble side from hole to hole"
    )

    places: Annotated[
        tuple[tuple[float, float], ...], Spots(("behind", _BEHIND), ("aside", _ASIDE))
    ] = Field(
        default=(),
        description="of each hole, a list such as [[58, -24], [92, -22.5]], as `behind` and "
        "`aside` measure; instead of a row; left out, the row holds",
    )

    def holes(self) -> tuple[tuple[float, float], ...]:
        """Distance behind the nut and to the treble side of each hole, mm."""
        if self.places:
            return self.places
        behind, aside, step = self.behind or 0.0, self.aside or 0.0, self.spacing or 0.0
        return tuple((behind + n * step, aside + n * self.drift) for n in range(self.number))


class Volute(Table):
    """A swelling across the back behind the nut."""

    height: Annotated[float, Length(0.2, 15, Dial(0.5, 8, 0.1))] = Field(
        description="of its crest over the back without it, on the centre line"
    )
    length: Annotated[float, Length(10, 120, Dial(20, 80, 0.5))] = Field(
        description="along the neck, from where it rises to where it has gone"
    )
    width: Annotated[float, Length(8, 120, Dial(15, 60, 0.5))] = Field(
        description="across the neck, likewise"
    )
    behind: Annotated[float, Length(0, 100, Dial(5, 60, 0.5))] = Field(
        description="of the crest from the nut, measured along the neck"
    )


class Headstock(Table):
    """The headstock. Its sizes are the wood's, without finish."""

    tilt: Annotated[float, Number(0, 25, Dial(0, 18, 0.1))] = Field(
        default=0.0, description="of the face against the glue face, in degrees; 0 for a flat one"
    )
    drop: Annotated[float, Length(0, 30, Dial(0, 10, 0.1))] = Field(
        default=0.0, description="of a flat headstock's face below the glue face"
    )
    seat: Annotated[float, Length(0, 30, Dial(0, 10, 0.1))] = Field(
        default=5.0,
        description="how far the glue face goes on level behind the nut's front, or a slanted "
        "nut's rear corner, for the nut to stand on",
    )
    ramp: Annotated[float, Length(0, 80, Dial(0, 40, 0.5))] = Field(
        default=12.0,
        description="length over which a flat headstock's face comes down behind the seat; 0 for "
        "a square step",
    )
    thickness: Annotated[float, Length(5, 40, Dial(10, 20, 0.1))] = Field(
        description="square to the face"
    )
    blend_radius: Annotated[float, Length(5, 2000, Dial(10, 150, 1))] = Field(
        default=40.0,
        description="tightest radius with which the shaft's back runs into the headstock's, on "
        "the centre line",
    )
    transition: Annotated[float, Length(8, 120, Dial(15, 60, 0.5))] = Field(
        default=30.0,
        description="least length behind the nut, or a slanted nut's rear corner, over which the "
        "round back turns into a flat one",
    )
    joint: HeadJoint = Field(
        default="one piece",
        description='"one piece" or "scarfed": a tilted headstock glued on, its back carried on '
        "as the joint until it comes out of the glue face under the fretboard",
    )
    outline: HeadOutline | None = Field(
        default=None,
        description="seen square to its face; one of this and `drawn` must be given, the "
        "other left out",
    )
    drawn: DrawnHead | None = Field(
        default=None,
        description="your own outline, seen square to the face; in place of `outline`, else "
        "left out",
    )
    tuners: tuple[Tuners, ...] = Field(
        default=(), description="holes, square to the face; left out, there are none"
    )
    volute: Volute | None = Field(default=None, description="left out, there is none")
