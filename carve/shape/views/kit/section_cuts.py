"""Where a part may be cut open to look at its section."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from carve.design.values.units import Unit, show_length, show_number
from carve.shape.views.kit.drawing import Drawing

ACROSS = math.pi / 2


@dataclass(frozen=True)
class SectionPlane:
    """An upright plane through a part.

    x, y: mm of a place it goes through, in the part's frame. angle: radians from the centre line
    toward the treble side; a quarter turn is square across.
    """

    x: float
    y: float = 0.0
    angle: float = ACROSS

    def ends(self, reach: float) -> tuple[tuple[float, float], tuple[float, float]]:
        """Ends of the line it draws in plan, ``reach`` mm away either way."""
        along = reach * math.cos(self.angle), reach * math.sin(self.angle)
        return (self.x - along[0], self.y - along[1]), (self.x + along[0], self.y + along[1])

    def words(self, unit: Unit, start: str) -> str:
        """Where it is, as a builder says it. start: from where x counts."""
        said = f"cut {show_length(self.x, unit)} {start}"
        if abs(self.y) > 0:
            side = "treble" if self.y > 0 else "bass"
            said += f", {show_length(abs(self.y), unit)} to the {side} side"
        if self.angle != ACROSS:
            said += f", {show_number(math.degrees(self.angle), 1)}° to the centre line"
        return said


@dataclass(frozen=True)
class SectionPlanes:
    """The cuts that a part allows.

    start: in words, from where x counts. along, aside: mm, the least and greatest x and y; aside
    is None where it is always cut square across. drawn: from a cut to its section.
    """

    start: str
    along: tuple[float, float]
    aside: tuple[float, float] | None
    drawn: Callable[[SectionPlane], Drawing]

    def within(self, cut: SectionPlane) -> SectionPlane:
        """The cut, brought to the part where that has become smaller than it was."""
        x = min(max(cut.x, self.along[0]), self.along[1])
        if self.aside is None:
            return SectionPlane(x)
        return replace(cut, x=x, y=min(max(cut.y, self.aside[0]), self.aside[1]))
