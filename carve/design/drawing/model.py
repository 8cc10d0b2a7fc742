"""What a builder's drawing holds: chains of cubic curves on layers."""

import math
from dataclasses import dataclass

from carve.design.values.curve import Piece

ARC_TURN = math.pi / 12  # of a piece of an arc; it is off by 4e-8 of its radius
LARGEST = 10_000_000  # bytes; a full-size drawing with every screw takes a tenth of it
LEAVE_OUT = "; leave out pictures and what is no line"

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
class Drawn:
    """What a drawing holds, y upward, so that words on the page would read the right way round.

    unit_mm: mm a unit of the drawing is long where the file says so, else None; where it is
    known the chains are in mm. y_down: whether the file itself counts y downward, so that its
    y is the negative of ours. skipped: kinds of things that are no curves (words, images).
    named: all its layers, those without a curve too.
    """

    chains: tuple[Chain, ...]
    unit_mm: float | None
    y_down: bool
    skipped: tuple[str, ...] = ()
    named: tuple[str, ...] = ()
