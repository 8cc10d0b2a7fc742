"""A flat drawing at true scale, as a value: lines and words in mm, y upward.

Shapes say what is drawn; writers and screens say how it looks.
"""

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from carve.arrays import Array

Style = Literal["outline", "cut", "other part", "centre line", "height", "main height"]
"""What a line means: the part's edge, something cut into it, a neighbour, an axis, places of one
height, and such as the eye counts by."""

SheetSide = Literal["up", "down", "right", "left", ""]
"""Toward where on the sheet the treble side lies, empty where it is not seen from there."""

Colours = Literal["thin to thick", "low to high", "hollow to round", "stripes"]
"""How a figure is coloured: danger first, as a height, on either side of nothing, in bands."""

_OPPOSITE: dict[SheetSide, SheetSide] = {
    "up": "down",
    "down": "up",
    "right": "left",
    "left": "right",
}
DRAWING_CHORD = 0.01  # mm from a curve to the chords it is drawn with
CURVE_STEP = 0.5  # mm between points of a curve that is drawn point by point
AXIS_OVERRUN = 5.0  # mm that a centre line or an axis runs out of the wood
GAUGE_GAP = 8.0  # mm between gauges
CAPITAL = 1.7  # mm from the foot of words to their top


@dataclass(frozen=True, eq=False)
class Line:
    """A chain of straight pieces. points: (n, 2) mm. closed: whether the last meets the first.

    layer: what it is in the trade's words, the name of its layer in a file; left empty, its
    style says it.
    """

    points: Array
    style: Style = "outline"
    closed: bool = False
    layer: str = ""


@dataclass(frozen=True)
class Circle:
    """A circle about (x, y). x, y, radius: mm. layer: as a line's."""

    x: float
    y: float
    radius: float
    style: Style = "cut"
    layer: str = ""


@dataclass(frozen=True)
class Words:
    """Words whose foot has its middle at (x, y) mm.

    on_line: whether they stand on a line, which then gives way to them on paper and screen.
    """

    text: str
    x: float
    y: float
    on_line: bool = False


@dataclass(frozen=True, eq=False)
class Drawing:
    """A drawing with its title and a line of figures under it.

    treble: where that side lies. pieces: what it consists of, where that may lie apart on paper,
    each of them whole. plot: whether it shows figures over a length, and nothing to cut or to
    cut by.
    """

    title: str
    note: str
    lines: tuple[Line, ...]
    words: tuple[Words, ...] = field(default=())
    circles: tuple[Circle, ...] = field(default=())
    treble: SheetSide = ""
    pieces: tuple["Drawing", ...] = field(default=())
    plot: bool = False

    def mirrored(self) -> "Drawing":
        """The drawing with bass and treble side exchanged; a view along them stays as it is."""
        if not self.treble:
            return self
        upright = self.treble in ("up", "down")
        x, y = (1.0, -1.0) if upright else (-1.0, 1.0)
        foot = -CAPITAL if upright else 0.0  # words are not turned over, only carried across
        return replace(
            self,
            lines=tuple(
                # turned round where closed, so that it runs about its inside as before
                replace(line, points=line.points[:: -1 if line.closed else 1] * [x, y] + 0.0)
                for line in self.lines
            ),
            words=tuple(replace(w, x=w.x * x, y=w.y * y + foot) for w in self.words),
            circles=tuple(replace(c, x=c.x * x, y=c.y * y) for c in self.circles),
            pieces=tuple(piece.mirrored() for piece in self.pieces),
            treble=_OPPOSITE[self.treble],
        )


def extent(drawing: Drawing) -> tuple[Array, Array]:
    """Lowest and highest x, y (2,) in mm of all that is drawn, words left out."""
    around = [
        np.array([[c.x - c.radius, c.y - c.radius], [c.x + c.radius, c.y + c.radius]])
        for c in drawing.circles
    ]
    points = np.concatenate([*(line.points for line in drawing.lines), *around])
    return points.min(axis=0), points.max(axis=0)


@dataclass(frozen=True, eq=False)
class PlanMap:
    """A figure over a part as seen from above, on a grid, with a drawing to lay over it.

    values: (n, m), row by row upward in y, nan where the part is not. x, y: mm, of the middle
    of the first one. step: mm between them. lowest, highest: values at the ends of the colours.
    label: what is shown, with its unit. over: lines to find one's way by. colours: which.
    """

    label: str
    values: Array
    x: float
    y: float
    step: float
    lowest: float
    highest: float
    over: Drawing
    colours: Colours = "thin to thick"

    def mirrored(self) -> "PlanMap":
        """The map with bass and treble side exchanged."""
        last = self.y + (len(self.values) - 1) * self.step
        return replace(self, values=self.values[::-1], y=-last, over=self.over.mirrored())
