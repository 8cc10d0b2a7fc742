"""What a builder decides about the inside of a hollow body with carved plates: its graduation."""

from typing import Annotated

from pydantic import Field

from carve.design.schema.fields import Dial, Length, Number, Points
from carve.design.schema.table import Table
from carve.design.values.curve import Point


class Flat(Table):
    """A place on the plate's inside that stays flat, as for a brace."""

    points: Annotated[tuple[Point, ...], Points(3)] = Field(
        description="x and y of its corners, from the body's edge on the centre line"
    )
    height: Annotated[float, Length(-60, 80, Dial(-5, 25, 0.05))] = Field(
        description="of its plane from the face's edge plane outward, at the body's edge on the "
        "centre line where it slopes"
    )
    slope: Annotated[float, Number(-20, 20, Dial(-5, 5, 0.05), "°")] = Field(
        default=0.0, description="its rise toward the tail, in degrees"
    )
    margin: Annotated[float, Length(1, 60)] = Field(
        default=10.0, description="around it, in which the inside comes up to it"
    )


class Graduation(Table):
    """How thick a carved plate is left, square to its outside as a caliper reads it."""

    edge: Annotated[float, Length(0.5, 40, Dial(2, 12, 0.05))] = Field(
        description="thickness at the sides, from the edge plane"
    )
    cove: Annotated[float, Length(1, 80, Dial(4, 30, 0.5))] = Field(
        description="width over which the inside rises from there, inward of `body.hollow.rim`"
    )
    recurve: Annotated[float, Length(1, 300, Dial(10, 60, 0.5))] = Field(
        description="distance from the outline up to which the plate is as thick as at the recurve"
    )
    at_recurve: Annotated[float, Length(0.5, 30, Dial(2, 8, 0.05))] = Field(
        description="thickness at the recurve"
    )
    centre: Annotated[float, Length(2, 400, Dial(40, 180, 0.5))] = Field(
        description="distance from the outline from which on it is as thick as in the centre"
    )
    at_centre: Annotated[float, Length(0.5, 30, Dial(2, 10, 0.05))] = Field(
        description="thickness in the centre"
    )
    flats: tuple[Flat, ...] = Field(
        default=(), description="places that stay flat; left out, there are none"
    )


class Block(Table):
    """Wood that stays in a hollow body, on the centre line."""

    length: Annotated[float, Length(5, 400, Dial(20, 120, 0.5))] = Field(
        description="along the centre line, from the body's edge or from its tail"
    )
    width: Annotated[float, Length(5, 400, Dial(30, 150, 0.5))] = Field(
        description="across the centre line"
    )
