"""A flat drawing at true scale, as a value: lines and words in mm, y upward.

Shapes say what is drawn; writers and screens say how it looks.
"""

from dataclasses import dataclass, field
from typing import Literal

from carve.arrays import Array

Style = Literal["outline", "cut", "other part", "centre line"]
"""What a line means: the part's edge, something cut into it, a neighbour, an axis."""


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
    """Words whose middle stands at (x, y) mm."""

    text: str
    x: float
    y: float


@dataclass(frozen=True, eq=False)
class Drawing:
    """A drawing with its title and a line of figures under it."""

    title: str
    note: str
    lines: tuple[Line, ...]
    words: tuple[Words, ...] = field(default=())
    circles: tuple[Circle, ...] = field(default=())


@dataclass(frozen=True, eq=False)
class PlanMap:
    """A figure over a part as seen from above, on a grid, with a drawing to lay over it.

    values: (n, m), row by row upward in y, nan where the part is not. x, y: mm, of the middle
    of the first one. step: mm between them. lowest, highest: values at the ends of the colours.
    label: what is shown, with its unit. over: lines to find one's way by.
    """

    label: str
    values: Array
    x: float
    y: float
    step: float
    lowest: float
    highest: float
    over: Drawing
