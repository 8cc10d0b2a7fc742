"""What a builder's drawing holds: chains of cubic curves on layers."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from carve.design.values.curve import Piece, Point

ARC_TURN = math.pi / 12  # of a piece of an arc; it is off by 4e-8 of its radius
LARGEST = 10_000_000  # bytes; a full-size drawing with every screw takes a tenth of it
LEAVE_OUT = "; leave out pictures and what is no line"

MOST_WHYS = 3  # reasons that a sentence gives

FARTHEST = 1e7  # of the drawing's units; beyond it a position has lost its hundredths


class Unreadable(ValueError):  # noqa: N818  a file, not a malfunction
    """A drawing can't be read. Its text goes on after the file's name: "is empty"."""


@dataclass(frozen=True)
class Chain:
    """Pieces that follow one another as they were drawn: a path, a line, an arc, a spline.

    layers: the groups or the layer it lies in, the outermost first. names: what it is called
    itself, its id first. pieces: at least one.
    """

    layers: tuple[str, ...]
    names: tuple[str, ...]
    pieces: tuple[Piece, ...]

    @property
    def layer(self) -> str:
        """The layer it lies in, empty where it lies in none."""
        return self.layers[-1] if self.layers else ""


@dataclass(frozen=True)
class Hidden:
    """A curve that the drawing's own program does not show, and that is not cut.

    layers, names: as a chain has them. why: a clause, such as ``layer "rim" is frozen``.
    """

    layers: tuple[str, ...]
    names: tuple[str, ...]
    why: str


@dataclass(frozen=True)
class NoCurve:
    """Something shown that is no curve to cut along, or a curve that is not all shown.

    layers, names: as a chain has them. kind: what it is, in words: "words", "image", "curve cut
    off by a clip path". at: where, as the chains count, None where nobody knows.
    """

    layers: tuple[str, ...]
    names: tuple[str, ...]
    kind: str
    at: Point | None


@dataclass(frozen=True)
class UnscaledBlock:
    """A block that counts in another unit than what it is inserted into, and is not scaled.

    layers: those of its curves. name: the block's. unit, into: both units, in words. factor:
    the scale that the insert should have.
    """

    layers: tuple[str, ...]
    name: str
    unit: str
    into: str
    factor: float


@dataclass(frozen=True)
class Drawn:
    """What a drawing holds, y upward, so that words on the page would read the right way round.

    unit_mm: mm a unit of the drawing is long where the file says so, else None; where it is
    known the chains are in mm. y_down: whether the file itself counts y downward, so that its
    y is the negative of ours. named: all its layers, those without a curve too. hidden: curves
    that its program does not show. no_curves: what is shown besides the chains, or cut off.
    unscaled: blocks whose size is in doubt.
    """

    chains: tuple[Chain, ...]
    unit_mm: float | None
    y_down: bool
    named: tuple[str, ...] = ()
    hidden: tuple[Hidden, ...] = ()
    no_curves: tuple[NoCurve, ...] = ()
    unscaled: tuple[UnscaledBlock, ...] = ()

    @property
    def skipped(self) -> tuple[str, ...]:
        """Kinds of things that are no curves."""
        return tuple(dict.fromkeys(one.kind for one in self.no_curves))


def listed_whys(hidden: Iterable[Hidden]) -> str:
    """Why things are not shown, each reason once and the first few of them, in words."""
    whys = list(dict.fromkeys(one.why for one in hidden))
    return "; ".join(whys[:MOST_WHYS]) + ("; ..." if len(whys) > MOST_WHYS else "")
