"""What a builder decides about a carved top or back.

Given by a long arch and cross templates, or by contour lines.

Places are given in the body's frame, heights from the face's edge plane outward: up on the top,
down on the back. What keys must agree on stands in ``rules/plate.py``.
"""

from typing import Annotated

from pydantic import Field

from carve.design.schema.fields import Dial, Length, Number, Points, Spots
from carve.design.schema.table import Table
from carve.design.values.curve import Point

_REACH = 1500.0  # mm from the origin
_HIGHEST = 80.0  # mm; of an arch


class ArchStation(Table):
    """A height through which the long arch runs, on the centre line."""

    x: Annotated[float, Length(-_REACH, _REACH, Dial(0, 500, 0.5))] = Field(
        description="from the body's edge toward the tail"
    )
    height: Annotated[float, Length(-10, _HIGHEST, Dial(0, 30, 0.05))] = Field(
        description="of the arch there above the edge plane"
    )


class ArchTemplate(Table):
    """A cross template: heights beside the centre line."""

    x: Annotated[float, Length(-_REACH, _REACH, Dial(0, 500, 0.5))] = Field(
        description="from the body's edge toward the tail"
    )
    heights: Annotated[
        tuple[Point, ...],
        Spots(
            ("y", Length(-_REACH, _REACH)),
            ("height", Length(-10, _HIGHEST)),
        ),
    ] = Field(
        description="y and height of points beside the centre line, where the long arch's height "
        "holds; the plate is held to the smooth curve through them along the whole section"
    )


class ArchPad(Table):
    """A place that stays flat, as under a bridge's feet."""

    name: str = Field(
        min_length=1,
        max_length=40,
        pattern=r"^[^\p{Cc}\p{Zl}\p{Zp}]*$",
        description="to speak of it, a line of 1 to 40 characters",
    )
    points: Annotated[tuple[Point, ...], Points(3)] = Field(
        description="x and y of its corners, from the body's edge on the centre line"
    )
    height: Annotated[float, Length(-10, _HIGHEST, Dial(0, 30, 0.05))] = Field(
        description="of its plane above the edge plane at the body's edge on the centre line where "
        "it slopes, and everywhere where it is level"
    )
    slope: Annotated[float, Number(-20, 20, Dial(-5, 5, 0.05), "°")] = Field(
        default=0.0, description="its rise toward the tail, in degrees"
    )
    tilt: Annotated[float, Number(-20, 20, Dial(-5, 5, 0.05), "°")] = Field(
        default=0.0, description="its rise toward the treble side, in degrees"
    )


class NeckPlane(Table):
    """A pad in the neck's glue plane, under the fretboard's end, from the joint and the neck."""

    clearance: Annotated[float, Length(0, 40, Dial(0, 10, 0.05))] = Field(
        default=0.0, description="between the fretboard's underside and the plane"
    )
    margin: Annotated[float, Length(0, 60, Dial(0, 20, 0.5))] = Field(
        default=2.0, description="by which the plane reaches beyond the fretboard on each side"
    )


class CarvedPlate(Table):
    """A carved face: ledge, recurve and arch, or ledge and contour lines."""

    ledge: Annotated[float, Length(0.5, 100, Dial(1, 20, 0.1))] = Field(
        description="width of the flat rim along the outline, kept for binding"
    )
    recurve: Annotated[float, Length(1, 200, Dial(5, 40, 0.1))] | None = Field(
        default=None,
        description="distance of the recurve's line from the outline, where the plate is "
        "lowest; more than the ledge; needed with `stations`, else left out",
    )
    recurve_depth: Annotated[float, Length(0, 10, Dial(0, 3, 0.02))] | None = Field(
        default=None, description="of the recurve below the edge plane; left out, 0"
    )
    falloff: Annotated[float, Length(1, 400, Dial(15, 150, 0.5))] | None = Field(
        default=None,
        description="how far the arch takes to rise: on the widest cross-section from the "
        "recurve's line to where it has risen half-way to the crown; left out, as a thin plate "
        "bends",
    )
    stations: tuple[ArchStation, ...] = Field(
        default=(),
        description="of the long arch, one at least unless `contours` are given, left out with "
        "them: it is the smoothest curve through them that never overshoots, level where it ends "
        "at the recurve's line, and the plate is held to it along the whole centre line",
    )
    templates: tuple[ArchTemplate, ...] = Field(
        default=(), description="cross templates; left out, there are none"
    )
    pads: tuple[ArchPad, ...] = Field(
        default=(), description="places that stay flat; left out, there are none"
    )
    neck_plane: NeckPlane | None = Field(
        default=None,
        description="left out, nothing is planed flat under the fretboard's end; the top alone has "
        "one, and it needs `joint`",
    )
    contours: Annotated[
        tuple[Point, ...],
        Spots(("distance", Length(0, 500)), ("height", Length(-10, _HIGHEST))),
    ] = Field(
        default=(),
        description="instead of stations: distance from the outline and height of contour "
        "lines, distances rising; left out, stations hold",
    )
    softness: Annotated[float, Length(1, 100, Dial(3, 40, 0.5))] | None = Field(
        default=None,
        description="over which the ridge along the middle is rounded, with `contours`; left out, "
        "12 mm",
    )


class CarvedPlateLimits(Table):
    """What the checks of carved plates hold against. Common practice, and yours to change."""

    arch: Annotated[float, Length(0.001, 5)] = Field(
        default=0.1,
        description="how far an arch, on the mesh, may be from the heights asked for",
    )
    arch_highest: Annotated[float, Length(0.001, 20)] = Field(
        default=0.25,
        description="how far the highest point of a carved plate may be from the highest height "
        "asked for; beyond it the check warns",
    )
    arch_fair: Annotated[float, Length(0.001, 5)] = Field(
        default=0.02,
        description="how high or deep a top, a pit or a groove of an arch may be that nobody asked "
        "for; above it the check warns",
    )
    arch_falloff: Annotated[float, Length(0.01, 50)] = Field(
        default=1.0, description="how far the falloff, as measured, may be from the one asked for"
    )
    arch_at_bridge: Annotated[float, Length(0.01, 10)] = Field(
        default=0.1,
        description="how far the arch under the bridge may be from the height in the side view "
        "(`bridge.top_height`)",
    )
    pad_flat: Annotated[float, Length(0.001, 2)] = Field(
        default=0.02, description="how far a pad, on the mesh, may be from its plane"
    )
    steepest: Annotated[float, Number(1, 89)] = Field(
        default=45.0,
        description="steepest slope of a carved plate, in degrees; above it the check warns",
    )
    ball_radius: Annotated[float, Length(0.2, 50)] = Field(
        default=3.175,
        description="of the ball cutter that finishes the carved plates: no hollow is tighter",
    )
    carved_wood: Annotated[float, Length(0, 60)] = Field(
        default=3.0, description="least wood anywhere through a carved body, along z"
    )
