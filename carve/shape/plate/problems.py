"""What can be wrong with a carved plate. Lengths, places and heights in mm."""

from dataclasses import dataclass
from typing import Literal

from carve.errors import Problem

RecurveSays = Literal["nothing left", "parted"]
Axis = Literal["x", "y"]


@dataclass(frozen=True)
class PlateProblem(Problem):
    """Anything about a carved plate. where: which, as it was given to the plate."""

    where: str


@dataclass(frozen=True)
class RecurveOnLedge(PlateProblem):
    """The recurve line runs no further inside than the ledge reaches."""

    recurve: float
    ledge: float


@dataclass(frozen=True)
class RecurveTooFar(PlateProblem):
    """At the recurve's distance nothing of the centre line is left, or it is parted."""

    recurve: float
    centre_line: RecurveSays


@dataclass(frozen=True)
class TemplateBesideArch(PlateProblem):
    """A cross template stands where there is no arch. reach: x of the recurve line's ends."""

    x: float
    reach: tuple[float, float]


@dataclass(frozen=True)
class PadProblem(PlateProblem):
    """Anything about one pad. pad: its number, from 0."""

    pad: int


@dataclass(frozen=True)
class PadNoPolygon(PadProblem):
    """A pad has too few corners, or its sides cross."""


@dataclass(frozen=True)
class PadBesideBody(PadProblem):
    """A pad lies beside the body."""


@dataclass(frozen=True)
class PadsTooNear(PadProblem):
    """A pad lies too near to another one, from whose plane the plate must come to its own."""

    other: int
    least: float


@dataclass(frozen=True)
class StationBesideArch(PlateProblem):
    """A station is not on the long arch. station: its number. reach: x of the arch's ends."""

    station: int
    x: float
    reach: tuple[float, float]


@dataclass(frozen=True)
class StationOffPad(PlateProblem):
    """A station stands on a pad of another height. pad: its name. plane: the pad's height there."""

    station: int
    height: float
    pad: str
    plane: float


@dataclass(frozen=True)
class HeightsAtOnePlace(PlateProblem):
    """Two heights stand at one place. template: its number, None for the long arch."""

    template: int | None
    axis: Axis
    at: float


@dataclass(frozen=True)
class TemplateHeightBesideArch(PlateProblem):
    """A template's height is not between the recurve lines, or on the centre line.

    template: its number. span: y of the recurve lines there.
    """

    template: int
    y: float
    span: tuple[float, float]


@dataclass(frozen=True)
class FalloffSaidTwice(PlateProblem):
    """A cross template says already how the widest section rises. x: its place."""

    x: float
    widest: float


@dataclass(frozen=True)
class NothingFallsOff(PlateProblem):
    """On the widest section the long arch does not rise above the recurve. widest: its x."""

    widest: float


@dataclass(frozen=True)
class FalloffOutOfReach(PlateProblem):
    """No plate through these heights has the falloff. limit: the nearest that one has.

    least: whether the limit is the least there is, else the most. widest: x of the section.
    """

    falloff: float
    limit: float
    least: bool
    widest: float


@dataclass(frozen=True)
class ProfileRunsBack(PlateProblem):
    """A contour lies no further from the edge than the one before it, or than the ledge.

    contour: its number. at, before: their distances from the edge.
    """

    contour: int
    at: float
    before: float
