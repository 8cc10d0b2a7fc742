"""What a builder decides about the fretboard.

What two of its keys must agree on stands in ``rules/fretboard.py``.
"""

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError
from pydantic_core.core_schema import ValidationInfo

from carve.design.schema.blank import Blank
from carve.design.schema.fields import (
    LONGEST_SCALE,
    MOST_FRETS,
    Count,
    Dial,
    FretList,
    Length,
    Ratios,
)
from carve.design.schema.table import Table
from carve.design.values.quote import quoted
from carve.design.values.units import equal_temperament

NutKind = Literal["ledge", "slot", "zero fret"]
Floor = Literal["radius", "flat"]
Bound = Literal["sides", "sides and end"]

_A_RADIUS = Length(50, 3000, Dial(120, 600, 1))
_HOW_TO_WRITE_A_RADIUS = (
    'write "flat", a length such as "12 in", { nut = "10 in", end = "16 in" } '
    'or { nut = "10 in", follow = "strings" }'
)


class Radius(Table):
    """The radius of the playing surface: a cylinder's, or a cone's at its two ends.

    A length by itself stands for ``nut``: a cylinder.
    """

    BARE: ClassVar[str] = "nut"

    nut: Annotated[float, _A_RADIUS] = Field(description="radius at the nut")
    end: Annotated[float, _A_RADIUS] | None = Field(
        default=None,
        description="radius at the last fret (without frets: at the board's end); it grows "
        "evenly from the nut and on to the board's end; left out, it stays that "
        "at the nut",
    )
    follow: Literal["strings"] | None = Field(
        default=None,
        description='"strings" (in place of `end`): the cone on which the strings\' paths are '
        "straight; left out, `end` says how it grows",
    )


def _radius(value: Any, info: ValidationInfo) -> Any:
    """A radius by one length or word, as the table it stands for."""
    if value is None or (isinstance(value, str) and value.strip().lower() == "flat"):
        return None
    if isinstance(value, bool | list) or not isinstance(value, str | int | float | dict | Radius):
        text = f"{quoted(value)} is not a radius; {_HOW_TO_WRITE_A_RADIUS}"
        raise PydanticCustomError("carve", "{text}", {"text": text})
    if isinstance(value, str | int | float):
        _A_RADIUS.read(value, info)  # its sentence speaks of the radius, not of a table in it
        return {"nut": value}
    return value


class NutSlot(Table):
    """A slot across the board that the nut stands in, its front wall at the scale's start."""

    width: Annotated[float, Length(1, 20, Dial(2, 8, 0.05))] = Field(
        description="along the board: the nut's thickness"
    )
    depth: Annotated[float, Length(0.3, 14, Dial(0.5, 8, 0.05))] = Field(
        description="of its flat floor below the crown"
    )


class Slots(Table):
    """The slots that the frets' tangs stand in."""

    width: Annotated[float, Length(0.2, 3)] = Field(
        default=0.58, description="of the saw or the cutter; common practice"
    )
    depth: Annotated[float, Length(0.3, 8, Dial(1, 5, 0.05))] = Field(
        default=3.0, description="below the crown, on the centre line; common practice"
    )
    floor: Floor = Field(
        default="radius",
        description='"radius" (as deep at the edges as in the middle) or "flat" (one level, as '
        "a table saw cuts)",
    )
    blind: Annotated[float, Length(0, 20, Dial(0, 6, 0.1))] = Field(
        default=0.0,
        description="wood left standing between the slots' ends and the board's edges; 0 runs "
        "out through the edges",
    )
    tang: Annotated[float, Length(0.3, 8)] | None = Field(
        default=None,
        description="depth of your fretwire's tang; given, the slots are checked to take it; "
        "left out, they are not",
    )


class Markers(Table):
    """Round position markers, set into the surface half way between two frets."""

    frets: Annotated[tuple[int, ...], FretList()] = Field(
        description="frets whose space (on their nut side) has a marker",
    )
    double: Annotated[tuple[int, ...], FretList()] = Field(
        default=(12, 24), description="those of them that have two, side by side"
    )
    diameter: Annotated[float, Length(1, 20, Dial(2, 10, 0.1))] = Field(
        default=6.0, description="of the marker and its pocket; common practice"
    )
    depth: Annotated[float, Length(0.3, 8, Dial(0.5, 4, 0.05))] = Field(
        default=2.0, description="of the pocket's flat floor below the surface at its middle"
    )
    spacing: Annotated[float, Length(3, 60, Dial(8, 40, 0.1))] = Field(
        default=22.0, description="between the middles of double ones"
    )


class Binding(Table):
    """Strips along the board's edges. The board itself is cut narrower by them."""

    thickness: Annotated[float, Length(0.3, 6, Dial(0.5, 4, 0.05))] = Field(
        description="of the strip, on each side"
    )
    around: Bound = Field(
        default="sides",
        description='"sides" or "sides and end" (also across the end of the board, which is cut '
        "shorter by it)",
    )


class Fretboard(Table):
    """The fretboard on top of the neck. It is as wide as the neck's taper, carried on."""

    thickness: Annotated[float, Length(1, 15, Dial(3, 9, 0.05))] = Field(
        description="on the crown, at the centre line"
    )
    frets: Annotated[int, Count(0, MOST_FRETS)] = Field(
        default=0, description="how many; 0 for none"
    )
    temperament: Annotated[tuple[float, ...] | None, Ratios()] = Field(
        default=None,
        description='"equal" (also if left out), or for each fret the ratio of its pitch to the '
        'open string\'s, as 1.5 or "3/2"; places such as "fret 12" elsewhere in the file '
        "always mean equal temperament",
    )
    treble_scale_length: (
        Annotated[float, Length(200, LONGEST_SCALE, Dial(300, 900, 0.5))] | None
    ) = Field(
        default=None,
        description="for a multi-scale neck: along the outer treble string, from nut to saddle "
        "before compensation; `scale_length` is then the outer bass string's, likewise along it "
        '(common practice), and places such as "fret 12" are those on the centre line; needs '
        "`strings`; left out or equal, all strings have `scale_length`",
    )
    perpendicular_fret: Annotated[int, Count(0, MOST_FRETS)] | None = Field(
        default=None,
        description="the fret that stands square to the centre line, 0 for the nut; needed "
        "with `fretboard.treble_scale_length`, else left out; on a fretless "
        "board where that fret would be",
    )
    radius: Annotated[Radius | None, BeforeValidator(_radius)] = Field(
        default=None,
        description='"flat" (also if left out), one length, or a table: '
        '{ nut = "10 in", end = "16 in" } or { nut = "10 in", follow = "strings" }',
    )
    beyond_last_fret: Annotated[float, Length(0, 1300, Dial(2, 60, 0.1))] | None = Field(
        default=None,
        description="from the last fret (without frets: from the nut) to the board's end; left "
        "out, the board ends with the neck",
    )
    nut: NutKind = Field(
        default="ledge",
        description='"ledge" (the board starts at the nut\'s front face), "slot" (the nut '
        'stands in a slot) or "zero fret" (a fret where the scale starts)',
    )
    behind: Annotated[float, Length(0, 100)] = Field(
        default=0.0, description="how far the board goes on behind the scale's start"
    )
    nut_slot: NutSlot | None = Field(
        default=None,
        description='the nut\'s slot; needed where `fretboard.nut` is "slot", else left out',
    )
    slots: Slots | None = Field(
        default=None, description="left out, the frets are lines in the drawing and not cut"
    )
    markers: Markers | None = Field(default=None, description="left out, there are none")
    binding: Binding | None = Field(default=None, description="left out, there is none")
    table_step: Annotated[float, Length(0.0001, 2)] = Field(
        default=0.01, description="step to which the table of frets is rounded"
    )
    blank: Blank | None = Field(
        default=None, description="the piece of wood; left out, nothing is said about it"
    )

    def ratios(self) -> tuple[float, ...]:
        """For each fret the ratio of its pitch to the open string's."""
        if self.temperament is not None:
            return self.temperament
        return tuple(equal_temperament(fret) for fret in range(1, self.frets + 1))

    def square_share(self) -> float | None:
        """Share of the scale at the fret that stands square, None where there is no such fret."""
        ratios, fret = (1.0, *self.ratios()), self.perpendicular_fret
        if fret is not None and not self.frets and self.temperament is None:
            return 1 - 1 / equal_temperament(fret)  # where it would be on a fretless board
        return None if fret is None or fret >= len(ratios) else 1 - 1 / ratios[fret]


class FretboardLimits(Table):
    """What the checks of the fretboard hold against. Common practice, and yours to change."""

    board_under_slots: Annotated[float, Length(0, 15)] = Field(
        default=1.5,
        description="least wood between the fretboard's glue face and slots, markers or nut slot",
    )
    board_edge: Annotated[float, Length(0, 15)] = Field(
        default=3.0,
        description="least thickness of the fretboard at its edges, where the radius falls away",
    )
    board_surface: Annotated[float, Length(0.001, 1)] = Field(
        default=0.02,
        description="how far the playing surface may be from the radius asked for, at its edges",
    )
    fret_places: Annotated[float, Length(0.001, 1)] = Field(
        default=0.05, description="how far a slot may be from its fret's exact place"
    )
    string_bow: Annotated[float, Length(0.001, 1)] = Field(
        default=0.05,
        description="how far the playing surface may rise or fall from straight along a string",
    )
