"""How the parts meet: strings, action, bridge, the neck's joint with the body, the finish.

All of it may be left out; what is left out is not drawn and not checked. What two keys
must agree on stands in ``rules/assembly.py``.
"""

from typing import Annotated, Literal

from pydantic import Field

from carve.design.schema.fields import Along, Count, Dial, Length, Number
from carve.design.schema.table import Table
from carve.design.values.units import Place

FEWEST_STRINGS, MOST_STRINGS = 4, 12

Spacing = Literal["even centres", "even gaps"]
NutReference = Literal["board", "1st fret"]
Face = Literal[
    "neck back",
    "neck sides",
    "fretboard top",
    "fretboard sides",
    "body top",
    "body sides",
    "pocket walls",
]
FACES: tuple[Face, ...] = (
    "neck back",
    "neck sides",
    "fretboard top",
    "fretboard sides",
    "body top",
    "body sides",
    "pocket walls",
)
"""The faces that may be finished. Faces that are glued, and slots, never are."""

_SPACING = (
    '"even centres" (the same from middle to middle) or "even gaps" (the same clear space '
    "from string to string, which needs `strings.gauges`)"
)


class Strings(Table):
    """Where the strings run, seen from above. All places are those of a string's middle."""

    number: Annotated[int, Count(FEWEST_STRINGS, MOST_STRINGS)] = Field(description="how many")
    gauges: tuple[Annotated[float, Length(0.1, 5)], ...] | None = Field(
        default=None,
        description="diameters as a list, from bass to treble; left out, strings have no thickness",
    )
    nut_edge_bass: Annotated[float, Length(0.5, 20, Dial(1, 8, 0.05))] = Field(
        description="at the nut, from the board's bass edge to the outer string's middle"
    )
    nut_edge_treble: Annotated[float, Length(0.5, 20, Dial(1, 8, 0.05))] = Field(
        description="at the nut, from the board's treble edge to the outer string's middle"
    )
    nut_spacing: Spacing = Field(default="even centres", description=_SPACING)
    bridge_spread: Annotated[float, Length(10, 200, Dial(30, 100, 0.1))] = Field(
        description="at the bridge, between the middles of the outer strings"
    )
    bridge_spacing: Spacing = Field(default="even centres", description=_SPACING)
    bridge_offset: Annotated[float, Length(-20, 20, Dial(-3, 3, 0.05))] = Field(
        default=0.0,
        description="middle of the spread from the centre line, to the treble side",
    )


class Action(Table):
    """How high the strings lie, with the strings at pitch."""

    bass: Annotated[float, Length(0.2, 12, Dial(0.8, 4, 0.05))] = Field(
        description="outer bass string at the 12th fret, from the fret's top to the string's bottom"
    )
    treble: Annotated[float, Length(0.2, 12, Dial(0.8, 4, 0.05))] = Field(
        description="outer treble string at the 12th fret, likewise"
    )
    fret_height: Annotated[float, Length(0, 5, Dial(0.5, 2, 0.01))] = Field(
        description="of the frets' tops above the fretboard's surface; 0 without frets"
    )
    relief: Annotated[float, Length(0, 1, Dial(0, 0.6, 0.01))] = Field(
        default=0.0,
        description="gap half way under a straightedge that lies on the first and the last fret "
        "(without frets: on the nut's and the body's end of the neck)",
    )
    nut_height: Annotated[float, Length(0, 8, Dial(0.2, 4, 0.05))] = Field(
        description="bottom of the strings at the nut, over what `action.nut_over` says"
    )
    nut_over: NutReference = Field(
        default="board",
        description='"board" (the fretboard\'s surface at the nut) or "1st fret" (the clear '
        "space over the first fret's top)",
    )


class Bridge(Table):
    """The bridge: how high its saddle can stand on the body, on the centre line."""

    height_lowest: Annotated[float, Length(0, 80)] = Field(
        description="of the saddle's top above the body's top under it, adjusted all the way down"
    )
    height_highest: Annotated[float, Length(0, 80)] = Field(
        description="adjusted all the way up; the same as the lowest where nothing adjusts"
    )
    height: Annotated[float, Length(0, 80, Dial(2, 40, 0.1))] | None = Field(
        default=None, description="where it shall stand; left out, in the middle of its range"
    )
    compensation: Annotated[float, Length(-10, 25, Dial(-1, 8, 0.05))] = Field(
        default=0.0, description="how far the saddle stands behind the scale length"
    )
    top_height: Annotated[float, Length(-20, 80, Dial(0, 30, 0.1))] | None = Field(
        default=None,
        description="of the body's top at the bridge above its edge plane: the arch's height "
        "there; left out, it follows from `body.top`, and is 0 where the top is flat or unknown",
    )


class Joint(Table):
    """Where and how the neck meets the body. Say the angle, the height, or both."""

    at: Annotated[Place, Along()] = Field(description="the body's edge, on the neck")
    angle: Annotated[float, Number(-10, 20, Dial(-2, 8, 0.05), "°")] | None = Field(
        default=None,
        description="between glue face and the body's edge plane, in degrees, the headstock "
        "leaning back; left out, it follows from height and bridge",
    )
    height: Annotated[float, Length(-40, 60, Dial(-5, 25, 0.1))] | None = Field(
        default=None,
        description="of the neck's glue face above the body's edge plane at the body's edge; "
        "left out, it follows from angle and bridge",
    )
    pocket_width: Annotated[float, Length(10, 200, Dial(40, 80, 0.05))] | None = Field(
        default=None,
        description="of the body's pocket as cut, at the body's edge; left out, the pocket "
        "in the body says it, if there is one",
    )
    glue_line: Annotated[float, Length(0, 1)] = Field(
        default=0.05, description="room for glue between neck and pocket, on each side"
    )


class Film(Table):
    """A film of finish on some faces: its thickness, or the coats that make it."""

    on: tuple[Face, ...] | None = Field(
        default=None,
        description="the faces, a list of "
        + ", ".join(f'"{face}"' for face in FACES)
        + "; left out, every face that is neither masked nor named by another film",
    )
    thickness: Annotated[float, Length(0, 2, Dial(0, 0.6, 0.005))] | None = Field(
        default=None, description="dry, sanded and polished; left out, the coats make it"
    )
    coats: Annotated[int, Count(1, 60)] | None = Field(
        default=None,
        description="how many; with `dry`, or with `wet` and `solids`; left out where "
        "`thickness` is given",
    )
    dry: Annotated[float, Length(0.001, 1)] | None = Field(
        default=None,
        description="film of one coat when dry; left out, it follows from `wet` and `solids`",
    )
    wet: Annotated[float, Length(0.001, 1)] | None = Field(
        default=None,
        description="film of one coat as laid on; left out where `dry` or `thickness` is given",
    )
    solids: Annotated[float, Number(0.01, 1)] | None = Field(
        default=None,
        description="share of the wet film's volume that stays, 0.3 for 30 %; needed with "
        "`wet`, else left out",
    )

    def total(self) -> float:
        """Thickness in mm, dry.

        A schedule's is coats x dry film a coat, and the dry film is the wet film's share of
        solids by volume: what evaporates leaves no film (common practice; 3 mil wet of 30 %
        solids leave 0.9 mil, 23 micrometres).
        """
        if self.thickness is not None:
            return self.thickness
        coat = self.dry if self.dry is not None else (self.wet or 0.0) * (self.solids or 0.0)
        return (self.coats or 0) * coat


class Finish(Table):
    """Film per face. The neck's sizes are those over its finish, the fretboard's its wood's."""

    films: tuple[Film, ...] = Field(
        default_factory=tuple,
        description="what is laid on; a face without film stays bare; left out, all do",
    )
    masked: tuple[Face, ...] | None = Field(
        default=None,
        description="faces that get no finish, a list as in `films[].on`; left out, none is",
    )

    def on(self, face: Face) -> float:
        """Film on a face in mm, 0 where it is masked or bare.

        The neck's sides are one surface with its back, and take its film unless they are
        masked or named by themselves.
        """
        if face in (self.masked or ()):
            return 0.0
        named = [film for film in self.films if film.on is not None and face in film.on]
        if not named and face == "neck sides":
            return self.on("neck back")
        others = [film for film in self.films if film.on is None]
        return next((film.total() for film in named + others), 0.0)


class AssemblyLimits(Table):
    """What the checks of how parts meet hold against. Common practice, and yours to change."""

    action: Annotated[float, Length(0.01, 2)] = Field(
        default=0.1, description="how far the action at the 12th fret may be from what is asked"
    )
    bridge_spare: Annotated[float, Length(0, 10)] = Field(
        default=0.5,
        description="travel of the bridge to keep on either side; below it the check warns",
    )
    neck_angle: Annotated[float, Number(0, 20, unit="°")] = Field(
        default=7.0, description="steepest neck angle in degrees; above it the check warns"
    )
    overhang: Annotated[float, Length(0, 10)] = Field(
        default=2.5,
        description="least distance of an outer string's middle from the board's edge; below "
        "it the check warns",
    )
    first_fret_clearance: Annotated[float, Length(0, 3)] = Field(
        default=0.25,
        description="least space under the open strings, which is over the first fret as a rule",
    )
    first_fret_clearance_most: Annotated[float, Length(0, 5)] = Field(
        default=1.0,
        description="space over the first fret above which the check warns: the strings are "
        "pressed sharp there",
    )
    fretted_clearance: Annotated[float, Length(0, 1)] = Field(
        default=0.02,
        description="least space between a string pressed at any fret and the frets beyond it",
    )
    strings_over_body: Annotated[float, Length(0, 60)] = Field(
        default=6.0,
        description="least height of the strings above the body's top at the bridge; below it "
        "the check warns",
    )
    flush: Annotated[float, Length(0.001, 1)] = Field(
        default=0.01, description="greatest step between finished faces that meet"
    )
    glue_face: Annotated[float, Length(0.001, 5)] = Field(
        default=0.05,
        description="how far the fretboard's glue face may be from the neck's, in width, place "
        "of the centre line and length",
    )
    pocket_play: Annotated[float, Length(0, 2)] = Field(
        default=0.15,
        description="most room between finished neck and finished pocket on each side, beyond "
        "the glue line; above it the check warns",
    )
