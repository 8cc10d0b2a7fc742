"""What can be wrong with a builder's outline. Lengths and places in mm."""

from dataclasses import dataclass
from typing import Literal

from carve.design.schema.outline import PageSide
from carve.design.values.curve import Point
from carve.errors import Problem

Owner = Literal["body", "headstock"]
"""Whose outline it is: each has its own place in the design, and its own way up."""

Bout = Literal["upper", "waist", "lower"]
CutawaySide = Literal["bass", "treble"]

Misread = Literal["inches", "pixels", "points", "dots", "centimetres", "metres", "half", "quarter"]
"""What may have gone wrong with a drawing's scale."""


@dataclass(frozen=True)
class OutlineProblem(Problem):
    """Anything about the outline of a body or of a headstock. of: whose it is."""

    of: Owner


@dataclass(frozen=True)
class NeighboursAlike(OutlineProblem):
    """Two points that follow one another are the same. one, other: their numbers, from 1."""

    one: int
    other: int


@dataclass(frozen=True)
class OuterCurve:
    """A curve that may be the outline. name: its own, if it has one. at: as the page shows it."""

    name: str | None
    size: tuple[float, float]
    at: Point


@dataclass(frozen=True)
class SeveralOuterCurves(OutlineProblem):
    """No single curve lies around all others. layer: that was asked for. curves: all of them."""

    layer: str | None
    curves: tuple[OuterCurve, ...]


@dataclass(frozen=True)
class CurveSize(OutlineProblem):
    """A curve is too small or too large. curve: its name, None of points. size: x and y.

    smallest: that is allowed. where: of what asks for the curve, None for the outline itself.
    """

    curve: str | None
    size: tuple[float, float]
    smallest: float
    largest: float
    where: str | None = None


@dataclass(frozen=True)
class CurveCrosses(OutlineProblem):
    """A curve meets itself. curve: its name, None of points. at: as the page shows it.

    where: of what asks for the curve, None for the outline itself.
    """

    curve: str | None
    at: Point
    where: str | None = None


@dataclass(frozen=True)
class CurveEmpty(OutlineProblem):
    """A closed curve runs there and back and encloses nothing. curve, where: as above."""

    curve: str | None
    where: str | None = None


@dataclass(frozen=True)
class CentreLineLeans(OutlineProblem):
    """The centre line leans against the page. lean, most: radians. toward: where the neck is."""

    lean: float
    most: float
    toward: PageSide


@dataclass(frozen=True)
class CentreLineMisses(OutlineProblem):
    """The centre line does not meet the outline. beside: by how much.

    by_layer: whether it is drawn on a layer, or else given by its place.
    """

    beside: float
    by_layer: bool


@dataclass(frozen=True)
class LengthDisagrees(OutlineProblem):
    """The drawing is not as long as its builder measured. curve: its name.

    measured: by the builder. drawn: along the instrument. across: the drawing's width where that
    is the length measured. misread: what the ratio of the two may come from, with that ratio.
    agrees: share of a length that is allowed between them. toward: where the neck is. unseen: why
    the drawing does not show other curves that are asked for, empty where there are none.
    """

    curve: str
    measured: float
    drawn: float
    across: float | None
    misread: tuple[tuple[float, Misread], ...]
    agrees: float
    toward: PageSide
    unseen: str = ""


@dataclass(frozen=True)
class LayerProblem(Problem):
    """Anything about curves on a layer. where: of the pocket that asks for them, as given."""

    where: str
    layer: str


@dataclass(frozen=True)
class NoDrawing(LayerProblem):
    """The outline that the layer should belong to is not drawn. of: whose it is."""

    of: Owner


@dataclass(frozen=True)
class OutlineAlone(LayerProblem):
    """There is nothing on the layer but the outline."""


@dataclass(frozen=True)
class CurveOutside(LayerProblem):
    """A curve lies outside the outline. at: where it begins, as the page shows it."""

    at: Point


@dataclass(frozen=True)
class CurveNarrow(LayerProblem):
    """A curve is nowhere as wide as the least there is. at: as above."""

    at: Point
    least: float


@dataclass(frozen=True)
class CurveWithin(LayerProblem):
    """A curve lies within or upon another one. at: as above."""

    at: Point


# an outline from its bouts


@dataclass(frozen=True)
class BoutsOutOfOrder(Problem):
    """A bout or the waist lies no further from the neck than what comes before it."""

    bout: Bout
    at: float
    before: float


@dataclass(frozen=True)
class LowerBoutBehindTail(Problem):
    """With the offset the lower bout lies behind the tail. most: place that it may have."""

    at: float
    most: float


@dataclass(frozen=True)
class BoutNarrow(Problem):
    """A bout or the waist is no wider than the edge that meets the neck. joint: that edge."""

    bout: Bout
    width: float
    joint: float


@dataclass(frozen=True)
class HornPastNotch(Problem):
    """A horn ends too near to the bottom of its notch, or behind it. least: between them."""

    side: CutawaySide
    horn: float
    depth: float
    least: float


@dataclass(frozen=True)
class CutawayDeep(Problem):
    """A cutaway reaches the waist. waist: its place."""

    side: CutawaySide
    depth: float
    waist: float


@dataclass(frozen=True)
class NotchWide(Problem):
    """A notch leaves no horn beside it. most: that it may be."""

    side: CutawaySide
    notch: float
    most: float


@dataclass(frozen=True)
class NoFairOutline(Problem):
    """No smooth outline goes through the measures."""
