"""What a builder decides, as plain frozen values.

The fields say the range, the unit, the dial and the meaning of each key; the reference
of keys and the lab's dials are made from them. Nothing here knows geometry. What two
keys must agree on stands in ``rules``.
"""

from typing import Annotated, Any, Literal

from pydantic import Field

from carve.design.schema.assembly import Action, AssemblyLimits, Bridge, Finish, Joint, Strings
from carve.design.schema.blank import Blank
from carve.design.schema.body import Body, BodyLimits
from carve.design.schema.fields import LONGEST_SCALE, ROUNDING, Along, Dial, Length, Number
from carve.design.schema.fretboard import Fretboard, FretboardLimits
from carve.design.schema.headstock import Headstock
from carve.design.schema.heel import Heel
from carve.design.schema.table import Table
from carve.design.values.fan import Fan, SlantedLine, corner_behind, fan_of
from carve.design.values.profile import Profile
from carve.design.values.units import Place, Unit, fret_distance, show_length


class Station(Table):
    """A place along the neck with a profile of its own."""

    at: Annotated[Place, Along()] = Field(description="where the profile holds")
    thickness: Annotated[float, Length(8, 60, Dial(14, 32, 0.05))] = Field(
        description="from the fretboard's crown to the keel on the centre line, "
        "as a caliper reads it"
    )
    shape: Profile = Field(
        description="profile letter, two dials, or bass and treble apart",
    )


class Access(Table):
    """A wider pocket at one end of the channel, for the rod's nut or wheel."""

    at: Annotated[str, Field(pattern="^(nut|heel)$")] = Field(
        description='which end of the channel: "nut" or "heel"'
    )
    length: Annotated[float, Length(1, 200)] = Field(description="along the neck")
    width: Annotated[float, Length(1, 40)] = Field(description="across the neck")
    depth: Annotated[float, Length(1, 40)] = Field(description="below the glue face")
    behind: Annotated[float, Length(0, 80)] = Field(
        default=0.0, description="how far a pocket at the nut goes on into the headstock"
    )


class TrussRod(Table):
    """The channel for the truss rod, open at the glue face."""

    start: Annotated[Place, Along()] = Field(
        description="nut-side end; at the nut it runs out through the end face"
    )
    end: Annotated[Place, Along()] = Field(
        description="heel-side end; at the heel end it runs out through the end face"
    )
    width: Annotated[float, Length(1, 30, Dial(3, 14, 0.1))] = Field(description="across the neck")
    depth: Annotated[float, Length(1, 40, Dial(4, 18, 0.1))] = Field(
        description="below the glue face, at the nut-side end"
    )
    depth_middle: Annotated[float, Length(1, 40, Dial(4, 18, 0.1))] | None = Field(
        default=None,
        description="half way along, for a curved floor (a parabola); "
        "left out, the floor is straight",
    )
    depth_heel: Annotated[float, Length(1, 40, Dial(4, 18, 0.1))] | None = Field(
        default=None, description="at the heel-side end; left out, the same as `depth`"
    )
    access: Access | None = Field(
        default=None, description="wider pocket for the rod's nut; left out, there is none"
    )

    def depth_along(self, share: float) -> float:
        """Depth of the floor in mm at a share (0 to 1) of the channel's length.

        The parabola through the three depths; a straight line where the middle is left out.
        """
        first = self.depth
        last = self.depth if self.depth_heel is None else self.depth_heel
        straight = first + (last - first) * share
        if self.depth_middle is None:
            return straight
        return straight + 4 * share * (1 - share) * (self.depth_middle - (first + last) / 2)


class Neck(Table):
    """The neck: its taper, its stations, its channel and its blank."""

    nut_width: Annotated[float, Length(20, 120, Dial(30, 60, 0.1))] = Field(
        description="width of the glue face at the nut"
    )
    heel_width: Annotated[float, Length(20, 150, Dial(40, 80, 0.1))] = Field(
        description="width of the glue face at the heel end; on a through-neck that of the taper "
        "at the body's edge (`joint.at`)"
    )
    heel_end: Annotated[Place, Along()] = Field(
        description="where the neck ends, on the centre line"
    )
    heel_slant: Annotated[float, Number(-30, 30, Dial(-20, 20, 0.5))] = Field(
        default=0.0,
        description="of the neck's end against square across, in degrees; more than 0 where its "
        "treble side reaches further",
    )
    stations: tuple[Station, ...] = Field(
        min_length=2, description="at least two: by habit the 1st and the 12th fret"
    )
    truss_rod: TrussRod | None = Field(default=None, description="left out, there is no channel")
    headstock: Headstock | None = Field(
        default=None, description="left out, the shaft ends plainly at the nut"
    )
    heel: Heel | None = Field(
        default=None, description="left out, the shaft ends plainly at the heel end"
    )
    gauges: tuple[Annotated[Place, Along()], ...] | None = Field(
        default=None,
        description="where to draw half-profile gauges, a list such as "
        '["fret 1", "fret 7"]; left out, at the stations',
    )
    blank: Blank = Field(description="the piece of wood on the bench")


class Limits(BodyLimits, AssemblyLimits, FretboardLimits):
    """What the checks hold the parts against. All are common practice and yours to change."""

    wood_under_channel: Annotated[float, Length(0, 30)] = Field(
        default=3.0, description="least wood between channel and back; below it the check fails"
    )
    wood_under_channel_good: Annotated[float, Length(0, 30)] = Field(
        default=4.0, description="wood between channel and back below which the check warns"
    )
    wood_beside_channel: Annotated[float, Length(0, 60)] = Field(
        default=5.0, description="least wood between the channel's walls and the neck's sides"
    )
    wood_behind_nut: Annotated[float, Length(0, 40)] = Field(
        default=4.0,
        description="least wood around the nut between the back and the headstock's face, the "
        "glue face or the truss rod's channel",
    )
    wood_around_holes: Annotated[float, Length(0, 40)] = Field(
        default=3.0, description="least wood between a hole and the edge of headstock or heel"
    )
    profile: Annotated[float, Length(0.001, 5)] = Field(
        default=0.1, description="how far the mesh may differ from the profile asked for"
    )


class Design(Table):
    """An instrument as its builder decided it."""

    title: str = Field(
        default="Untitled",
        min_length=1,
        max_length=80,
        pattern=r"^[^\p{Cc}\p{Zl}\p{Zp}]*$",
        description="its name, a line of 1 to 80 characters",
    )
    units: Unit = Field(default="mm", description="unit of bare numbers in the file: mm or in")
    scale_length: Annotated[float, Length(200, LONGEST_SCALE, Dial(300, 900, 0.5))] = Field(
        description="nut to bridge before compensation, on the centre line; on a multi-scale "
        "neck along the outer bass string (`fretboard.treble_scale_length`)"
    )
    handed: Literal["right", "left"] = Field(
        default="right",
        description='"right" or "left"; a left-handed instrument is designed in the same bass and '
        "treble, and its meshes, drawings and picture come out mirrored",
    )
    fretboard: Fretboard = Field(description="the fretboard")
    neck: Neck = Field(description="the neck")
    strings: Strings | None = Field(default=None, description="left out, no strings are laid")
    action: Action | None = Field(default=None, description="left out, no string height is checked")
    bridge: Bridge | None = Field(
        default=None, description="left out, there is no bridge; `joint` needs it"
    )
    joint: Joint | None = Field(
        default=None,
        description="left out, there is no side view of neck and body; needs `action` and `bridge`",
    )
    finish: Finish | None = Field(default=None, description="left out, all wood stays bare")
    body: Body | None = Field(default=None, description="left out, there is no body")
    limits: Limits = Field(default_factory=Limits, description="what the checks hold against")

    @property
    def fan(self) -> Fan | None:
        """Nut, frets and saddle of a multi-scale neck, None where all strings have one scale."""
        board, neck = self.fretboard, self.neck
        treble = board.treble_scale_length
        if treble is None or self.strings is None or abs(treble - self.scale_length) <= ROUNDING:
            return None
        square = board.square_share()
        if square is None:
            return None
        heel = self.taper_to
        return fan_of(
            (self.scale_length, treble),
            square,
            (neck.nut_width, neck.heel_width),
            (fret_distance(heel.fret, 1.0),) if heel.fret is not None else heel.mm(0.0),
            self.strings,
        )

    @property
    def taper_to(self) -> Place:
        """Where ``heel_width`` is measured: the heel end, or a through-neck's body edge."""
        heel, joint = self.neck.heel, self.joint
        through = heel is not None and heel.kind == "through" and joint is not None
        return joint.at if through and joint is not None else self.neck.heel_end

    def line_at(self, share: float) -> SlantedLine:
        """The line across at a share of the scale; square to the centre line on one scale."""
        if self.fan is None:
            return SlantedLine(self.scale_length * share, 0.0)
        return self.fan.line(share)

    @property
    def nut_line(self) -> SlantedLine:
        """Where the scale starts."""
        # its place is 0 by definition; the fan's is 0 to rounding
        return SlantedLine(0.0, self.line_at(0.0).slant)

    @property
    def nut_reach(self) -> float:
        """How far a slanted nut's rear corner lies behind its place on the centre line, mm."""
        neck = self.neck
        flare = (neck.heel_width - neck.nut_width) / 2 / self.place(neck.heel_end)
        return corner_behind(self.nut_line.slant, neck.nut_width / 2, flare)

    @property
    def saddle_line(self) -> SlantedLine:
        """Where the scale ends, before compensation."""
        return self.line_at(1.0)

    def show(self, length: float) -> str:
        """A length in mm as this design's builder reads it, in the unit of the file."""
        return show_length(length, self.units)

    def place(self, place: Place) -> float:
        """A place along the neck in mm from the nut, on the centre line."""
        if self.fan is None or place.fret is None:
            return place.mm(self.scale_length)
        return 0.0 if place.fret == 0 else self.line_at(fret_distance(place.fret, 1.0)).at

    def placed_neck(self) -> Neck:
        """The neck with its places given by lengths where a fret's place hangs on two scales."""
        neck = self.neck
        if self.fan is None:
            return neck

        def resolved(place: Place) -> Place:
            return Place(length=self.place(place))

        stations = tuple(s.model_copy(update={"at": resolved(s.at)}) for s in neck.stations)
        rod = neck.truss_rod
        if rod is not None:
            rod = rod.model_copy(update={"start": resolved(rod.start), "end": resolved(rod.end)})
        return neck.model_copy(
            update={"heel_end": resolved(neck.heel_end), "stations": stations, "truss_rod": rod}
        )


def plain(value: Any) -> Any:
    """A model as the nested dictionaries, lists and values that made it.

    Lengths are numbers in mm; places and profiles stay as they are.
    """
    if isinstance(value, Table):
        return {
            name: plain(getattr(value, name))
            for name in type(value).model_fields
            if getattr(value, name) is not None
        }
    if isinstance(value, tuple):
        return [plain(item) for item in value]
    return value
