"""What a builder decides about the body: outline, thickness, pockets, bores, chambers, blank.

Places are given in the body's frame: origin on the centre line at the body's edge where the
neck meets it; x toward the tail, y to the treble side, both in the plane of the top's edge.
Depths go down from that plane, or up from the back's. What keys must agree on stands in
``rules/body.py``.
"""

from typing import Annotated, Literal

from pydantic import Field

from carve.design.schema.blank import Blank
from carve.design.schema.bouts import Bouts
from carve.design.schema.cover import Cover, CoverLimits
from carve.design.schema.fields import Count, Dial, Length, Number, Points
from carve.design.schema.graduation import Block, Graduation
from carve.design.schema.outline import OutlineFile
from carve.design.schema.plate import CarvedPlate, CarvedPlateLimits
from carve.design.schema.table import Table
from carve.design.values.curve import Point

PocketKind = Literal[
    "pocket",
    "neck",
    "pickup",
    "control",
    "switch",
    "battery",
    "jack",
    "bridge",
    "cover recess",
    "weight relief",
    "sound hole",
    "hole",
]
PocketShape = Literal["rectangle", "circle", "slot", "polygon", "heel", "drawing"]
BoreKind = Literal["bore", "jack"]
PocketFace = Literal["front", "back"]
Through = Literal["through"]
GlueJoint = Literal["centre line", "anywhere"]

_REACH = 1500.0  # mm from the origin


class BodyOutline(OutlineFile):
    """The body seen from above: from a drawing, from points, or from its bouts."""

    bouts: Bouts | None = Field(
        default=None,
        description="instead of a drawing or points: the smooth outline through a few "
        "measures; left out with either",
    )


class Pocket(Table):
    """Something routed into the body, its walls square to the top's edge plane."""

    name: str = Field(
        min_length=1,
        max_length=40,
        pattern=r"^[^\p{Cc}\p{Zl}\p{Zp}]*$",
        description="to speak of it, a line of 1 to 40 characters; no two pockets share one",
    )
    kind: PocketKind = Field(
        default="pocket",
        description="what it is for, and so its layer: pocket, neck (it alone may run out of the "
        "outline), pickup, control, switch, battery, jack, bridge, cover recess, weight relief, "
        "sound hole (of a hollow body), hole",
    )
    face: PocketFace = Field(
        default="front", description='"front" (the top) or "back": where it opens'
    )
    shape: PocketShape = Field(
        description='"rectangle", "circle", "slot" (with round ends), "polygon", "heel" (a neck '
        'pocket around the neck\'s own heel, with room for glue and finish), or "drawing" (every '
        "closed curve on a layer of the outline's drawing)"
    )
    x: Annotated[float, Length(-_REACH, _REACH, Dial(-50, 550, 0.1))] | None = Field(
        default=None,
        description="of its middle, or of a polygon's origin, from the body's edge; left out, 0",
    )
    y: Annotated[float, Length(-_REACH, _REACH, Dial(-250, 250, 0.1))] | None = Field(
        default=None,
        description="of its middle from the centre line, to the treble side; left out, 0",
    )
    angle: Annotated[float, Number(-180, 180, Dial(-90, 90, 0.1), "°")] | None = Field(
        default=None,
        description="by which it is turned, in degrees; its length then turns from along the "
        "centre line toward the treble side; left out, 0",
    )
    length: Annotated[float, Length(1, 1000, Dial(5, 200, 0.1))] | None = Field(
        default=None,
        description="of a rectangle or a slot, along the centre line unless turned; needed "
        "for both, else left out",
    )
    width: Annotated[float, Length(1, 600, Dial(5, 120, 0.1))] | None = Field(
        default=None,
        description="of a rectangle or a slot, across it; needed for both, else left out",
    )
    diameter: Annotated[float, Length(1, 500, Dial(3, 60, 0.1))] | None = Field(
        default=None, description="of a circle; needed for it, else left out"
    )
    corner_radius: Annotated[float, Length(0, 250, Dial(0, 20, 0.05))] | None = Field(
        default=None,
        description="of a rectangle's corners, and of a polygon's that point outward; by habit "
        "the cutter's radius or a little more; left out, they are sharp",
    )
    points: Annotated[tuple[Point, ...], Points(3)] | None = Field(
        default=None,
        description="x and y of a polygon's corners, from its own origin; needed for it, "
        "else left out",
    )
    layer: str | None = Field(
        default=None,
        description="of the drawing that the outline comes from; each closed curve on it is "
        "cut, where it lies there, and they are numbered from the neck to the "
        'tail; needed where `shape` is "drawing", else left out',
    )
    depth: Annotated[float | Through, Length(0.5, 150, Dial(1, 60, 0.05), word="through")] = Field(
        description="from the edge plane of the face it opens at, an arch left out of account, to "
        "its floor (at the body's edge where the floor slopes); "
        '"through" for a hole through the body, or through the top if it is a sound hole'
    )
    bolts: Annotated[float, Length(1, 25, Dial(2, 10, 0.1))] | None = Field(
        default=None,
        description="diameter of holes through the body, one under each hole of the heel "
        '(`neck.heel.holes`), for a pocket of shape "heel"; left out, there are none',
    )
    slope: Annotated[float, Number(-10, 15, Dial(-2, 8, 0.05), "°")] | None = Field(
        default=None,
        description="of a neck pocket's floor, rising toward the tail, in degrees; left out, it "
        'is the neck angle where the shape is "heel", and level otherwise',
    )
    cover: Cover | None = Field(
        default=None,
        description="the plate that lies in a cover recess; left out, none is made",
    )


class Bore(Table):
    """A round hole drilled in from the body's side, level: for the output jack, say."""

    name: str = Field(
        min_length=1,
        max_length=40,
        pattern=r"^[^\p{Cc}\p{Zl}\p{Zp}]*$",
        description="to speak of it, a line of 1 to 40 characters",
    )
    kind: BoreKind = Field(
        default="bore",
        description='what it is for: "jack" (the output jack, which wires must reach), or "bore" '
        "(anything else, a way for wires say)",
    )
    x: Annotated[float, Length(-_REACH, _REACH, Dial(-50, 550, 0.1))] = Field(
        description="of a place on its axis near the outline; it opens where the axis crosses "
        "the outline next to it"
    )
    y: Annotated[float, Length(-_REACH, _REACH, Dial(-250, 250, 0.1))] = Field(
        description="likewise"
    )
    angle: Annotated[float, Number(-180, 180, Dial(-180, 180, 0.5), "°")] = Field(
        description="direction of the drill into the wood, in degrees: 0 toward the tail, 90 "
        "toward the treble side, 180 toward the neck"
    )
    diameter: Annotated[float, Length(1, 60, Dial(5, 30, 0.1))] = Field(description="of the hole")
    depth: Annotated[float, Length(1, 600, Dial(5, 120, 0.5))] = Field(
        description="along the axis from the outline to the hole's flat end"
    )
    below: Annotated[float, Length(0.5, 150, Dial(5, 40, 0.1))] = Field(
        description="of the axis below the top's edge plane"
    )


class Hollow(Table):
    """A closed chamber in the body: rim, top and back are what is left around it."""

    rim: Annotated[float, Length(1, 200, Dial(3, 40, 0.1))] = Field(
        description="thickness of the sides, square to the outline"
    )
    top: Annotated[float, Length(1, 60, Dial(2, 15, 0.05))] | None = Field(
        default=None,
        description="thickness over the chamber, from the top's edge plane; needed unless "
        "`top_graduation` is given, then left out",
    )
    back: Annotated[float, Length(1, 60, Dial(2, 15, 0.05))] | None = Field(
        default=None,
        description="thickness under the chamber, to the back's edge plane; needed unless "
        "`back_graduation` is given, then left out",
    )
    top_graduation: Graduation | None = Field(
        default=None, description="of a carved top, instead of `top`, else left out"
    )
    back_graduation: Graduation | None = Field(
        default=None, description="of a carved back, instead of `back`, else left out"
    )
    centre_block: Annotated[float, Length(5, 400, Dial(20, 150, 0.5))] | None = Field(
        default=None,
        description="width of the wood that stays along the centre line; left out, there is none",
    )
    neck_block: Block | None = Field(
        default=None, description="wood that stays at the neck's end; left out, there is none"
    )
    tail_block: Block | None = Field(
        default=None, description="wood that stays at the tail; left out, there is none"
    )


class BodyBlank(Blank):
    """The piece of wood for the body, glued up of boards or whole."""

    length: Annotated[float, Length(50, 2000)] = Field(description="along the centre line")
    width: Annotated[float, Length(10, 1000)] = Field(description="across the centre line")
    thickness: Annotated[float, Length(5, 300)] = Field(description="top to back")
    boards: Annotated[int, Count(1, 12)] = Field(
        default=1, description="how many of equal width are glued side by side"
    )
    joint: GlueJoint = Field(
        default="anywhere",
        description='"centre line" (a glue line lies on the centre line, which takes an even '
        'number of boards) or "anywhere"',
    )


class Body(Table):
    """The body. Its sizes are the wood's, without finish."""

    thickness: Annotated[float, Length(5, 150, Dial(25, 80, 0.1))] = Field(
        description="from the top's edge plane to the back's"
    )
    outline: BodyOutline = Field(description="seen from above")
    top: CarvedPlate | None = Field(default=None, description="left out, the top is flat")
    back: CarvedPlate | None = Field(default=None, description="left out, the back is flat")
    pockets: tuple[Pocket, ...] = Field(
        default=(), description="what is routed into it; left out, nothing is"
    )
    bores: tuple[Bore, ...] = Field(
        default=(), description="what is drilled into its sides; left out, nothing is"
    )
    hollow: Hollow | None = Field(default=None, description="left out, the body is solid")
    blank: BodyBlank | None = Field(
        default=None, description="the piece of wood on the bench; left out, it is not checked"
    )


class BodyLimits(CoverLimits, CarvedPlateLimits):
    """What the checks of the body hold against. Common practice, and yours to change."""

    wood_under_pockets: Annotated[float, Length(0, 60)] = Field(
        default=4.0,
        description="least wood between the floor of a pocket in the front and the back, or the "
        "pocket under it",
    )
    wood_over_pockets: Annotated[float, Length(0, 60)] = Field(
        default=5.0, description="least wood between a pocket in the back and the top over it"
    )
    wood_between_pockets: Annotated[float, Length(0, 60)] = Field(
        default=3.0, description="least wall between two pockets or bores side by side"
    )
    wood_behind_neck_pocket: Annotated[float, Length(0, 100)] = Field(
        default=6.0, description="least wall between the neck's pocket and another one"
    )
    wood_to_edge: Annotated[float, Length(0, 100)] = Field(
        default=6.0, description="least wall between a pocket and the body's outside"
    )
    wood_around_bores: Annotated[float, Length(0, 60)] = Field(
        default=4.0, description="least wood between a bore from the side and the top or the back"
    )
    hollow_plate: Annotated[float, Length(0, 30)] = Field(
        default=2.5, description="least thickness of a hollow body's top and back"
    )
    hollow_rim: Annotated[float, Length(0, 100)] = Field(
        default=5.0, description="least thickness of a hollow body's sides"
    )
    wire_channel: Annotated[float, Length(0, 40)] = Field(
        default=6.0,
        description="least width of the way for wires from pickup, switch and battery to the "
        "controls, and on to the jack: a round bar so thick passes everywhere",
    )
    ground_wire: Annotated[float, Length(0, 40)] = Field(
        default=2.0,
        description="the same for the one wire from the bridge's pocket to the controls",
    )
    body_edge: Annotated[float, Length(0, 20)] = Field(
        default=0.5,
        description="how far the outline on the centre line may be from the frame's origin, "
        "where the neck meets the body; above it the check warns",
    )
    neck_height: Annotated[float, Length(0.01, 10)] = Field(
        default=0.2,
        description="how far the neck's height, with its heel on the pocket's floor, may be from "
        "the one asked for",
    )
    bridge_to_edge: Annotated[float, Length(0, 300)] = Field(
        default=20.0,
        description="least distance of the outer strings at the saddle from the body's edge",
    )
