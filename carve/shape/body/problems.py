"""What can be wrong with a body. Lengths and places in mm.

``where`` is a label that was given with a pocket, a bore or a chamber; ``name`` is what its
builder calls it.
"""

from dataclasses import dataclass
from typing import Literal

from carve.errors import Problem

PlateSide = Literal["top", "back"]


@dataclass(frozen=True)
class OutlineTouchesItself(Problem):
    """The body's outline touches itself, or all but."""


# pockets, bores and chambers, each by itself


@dataclass(frozen=True)
class CutProblem(Problem):
    """Anything about one pocket, bore or chamber."""

    where: str


@dataclass(frozen=True)
class PolygonCrosses(CutProblem):
    """A pocket's polygon crosses itself."""


@dataclass(frozen=True)
class PolygonNarrow(CutProblem):
    """A pocket's polygon is nowhere as wide as the least there is."""

    least: float


@dataclass(frozen=True)
class CornersWithoutRoom(CutProblem):
    """The round corners of a pocket's polygon overlap. radius: theirs."""

    radius: float


@dataclass(frozen=True)
class HeelBeforeBody(CutProblem):
    """The neck's heel, which a pocket follows, ends before the body's edge."""


@dataclass(frozen=True)
class SeveralNeckPockets(CutProblem):
    """A layer with the neck's pocket holds several curves. count: of them."""

    layer: str
    count: int


@dataclass(frozen=True)
class BoreBesideBody(CutProblem):
    """A bore's axis passes by the body."""


@dataclass(frozen=True)
class NoChamber(CutProblem):
    """Sides and blocks leave nothing of a chamber."""


@dataclass(frozen=True)
class ChamberLow(CutProblem):
    """Floor and ceiling of a chamber come too near to each other. height: at the lowest place."""

    name: str
    height: float
    least: float


# what is cut, in the body and beside one another


@dataclass(frozen=True)
class SameName(CutProblem):
    """Two cuts have one name. other: label of the first."""

    name: str
    other: str


@dataclass(frozen=True)
class HoleBesideChamber(CutProblem):
    """A sound hole lies not over a chamber alone."""

    name: str


@dataclass(frozen=True)
class NeckPocketParted(CutProblem):
    """The neck's pocket meets the body in no place, or in several."""

    places: int


@dataclass(frozen=True)
class CutOutside(CutProblem):
    """A cut runs out of the outline. out: how far."""

    name: str
    out: float


@dataclass(frozen=True)
class WallThin(CutProblem):
    """A cut leaves next to nothing to the outline. wall: what it leaves."""

    name: str
    wall: float
    least: float


@dataclass(frozen=True)
class FloorOutOfWood(CutProblem):
    """A sloping floor comes out of the wood. depth: of the floor at x. least, most: it may be."""

    depth: float
    x: float
    least: float
    most: float


@dataclass(frozen=True)
class SkinUnderFace(CutProblem):
    """A cut leaves next to nothing to a carved face. skin: what it leaves."""

    name: str
    face: PlateSide
    skin: float
    least: float


@dataclass(frozen=True)
class SkinBetweenCuts(CutProblem):
    """Two cuts leave next to nothing between them. other, other_where: name and label."""

    name: str
    other: str
    other_where: str
    skin: float
    least: float
