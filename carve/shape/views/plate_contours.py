"""A carved plate as a carver reads it: a map of its heights with labelled contour lines.

The lines stay whole, so that a stack of templates can be cut along them; only on paper and
screen do they give way to their own labels.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.values.units import MM_PER_INCH, Unit, show_length
from carve.shape.plate.relief import Heights, contours_of_heights
from carve.shape.views.kit.drawing import CAPITAL, Drawing, Line, PlanMap, Words

LINES = 10  # at least so many, if need be by the finest interval
SUMMIT = 0.01  # of an interval; nearer to the crown a line is a mere speck
LEVEL_GROUND = 0.01  # slope; a line on flatter ground moves 1 mm for a hundredth in height
LETTER_WIDTH = 1.6  # mm that a letter takes of a line of words
AIR = 1.0  # mm around words
SMALLER = 0.45  # to one: how small a screen draws a plate, whose words keep their size
COLUMNS = 9  # across the plate, along which labels are sought
CANDIDATES = 24  # further places along a line

_STEPS: dict[Unit, tuple[tuple[float, int], ...]] = {
    "mm": ((5.0, 2), (2.0, 5), (1.0, 5), (0.5, 4), (0.25, 4), (0.1, 5)),
    "in": tuple((MM_PER_INCH / parts, 4) for parts in (8, 16, 32, 64)),
}
"""Intervals in mm a builder can set a gauge to, and every how many a line is a main one."""


@dataclass(frozen=True)
class Interval:
    """Heights to draw. step: mm from one to the next. main: every how many is a main one."""

    step: float
    main: int

    def levels(self, lowest: float, highest: float) -> tuple[float, ...]:
        """The heights in mm between two, rising; what all but is the one or the other is none."""
        first = math.ceil(lowest / self.step + SUMMIT)
        last = math.floor(highest / self.step - SUMMIT)
        return tuple(self.step * number for number in range(first, last + 1))

    def is_main(self, level: float) -> bool:
        """Whether the eye counts by a level's line."""
        return round(level / self.step) % self.main == 0


def interval_for(rise: float, unit: Unit) -> Interval:
    """The widest usual interval that gives a plate of this rise in mm ten lines or more."""
    for step, main in _STEPS[unit]:
        if rise >= LINES * step:
            return Interval(step, main)
    return Interval(*_STEPS[unit][-1])


def height_drawing(
    heights: Heights, title: str, unit: Unit, interval: Interval | None = None
) -> Drawing:
    """Outline and contour lines from above: x to the right, treble side up.

    interval: by default the usual one for the plate's rise. Heights are over z = 0. A layer holds
    the lines of one height.
    """
    crown, lowest = heights.crown, heights.lowest
    chosen = interval_for(crown.value - lowest, unit) if interval is None else interval
    found = contours_of_heights(heights, chosen.levels(lowest, crown.value))
    drawn = [
        (level, chain)
        for level, chains in found.items()
        for chain in chains
        if not _on_level_ground(heights, chain)
    ]
    lines = [Line(heights.outline, closed=True, layer="outline")]
    for level, chain in drawn:
        closed = bool((chain[0] == chain[-1]).all())
        lines.append(
            Line(
                chain[:-1] if closed else chain,
                "main height" if chosen.is_main(level) else "height",
                closed=closed,
                layer=f"height {show_length(level, unit)}",
            )
        )
    x, y = crown.at
    said = show_length(crown.value, unit)
    return Drawing(
        title=title,
        note=f"a line every {show_length(chosen.step, unit)}; the highest place is {said}, "
        f"the lowest {show_length(lowest, unit)}",
        lines=(*lines, *_cross(x, y)),
        words=tuple(_labels(drawn, chosen, crown.at, heights.outline, unit)),
        treble="up",
    )


def height_plan(heights: Heights, title: str, unit: Unit) -> PlanMap:
    """The heights in colours, with the contour lines laid over them."""
    over = height_drawing(heights, title, unit)
    crown, lowest = heights.crown.value, heights.lowest
    step = float(heights.x[1] - heights.x[0])
    values = np.where(heights.within, heights.z, np.nan).T
    x, y = float(heights.x[0]), float(heights.y[0])
    return PlanMap("height, mm", values, x, y, step, lowest, crown, over, "low to high")


def _cross(x: float, y: float) -> Iterator[Line]:
    """The crown, marked."""
    for arm in (np.array([2.0, 0.0]), np.array([0.0, 2.0])):
        middle = np.array([x, y])
        yield Line(np.stack([middle - arm, middle + arm]), "centre line", layer="highest place")


def _on_level_ground(heights: Heights, chain: Array) -> bool:
    """Whether a line runs mostly where the ground hardly falls, as on a pad.

    Where it lies is then chance.
    """
    step = float(heights.x[1] - heights.x[0])
    i, j = (
        np.clip(np.rint((chain[:, k] - axis[0]) / step).astype(int), 1, len(axis) - 2)
        for k, axis in enumerate((heights.x, heights.y))
    )
    z = heights.z
    here = z[i, j]
    # of both sides the more level one, so that a terrace's edge counts as the terrace
    along = np.minimum(np.abs(z[i + 1, j] - here), np.abs(z[i - 1, j] - here))
    across = np.minimum(np.abs(z[i, j + 1] - here), np.abs(z[i, j - 1] - here))
    fall = np.hypot(along, across) / step
    return float(np.median(fall)) < LEVEL_GROUND


def _labels(
    drawn: Sequence[tuple[float, Array]],
    interval: Interval,
    crown: tuple[float, float],
    outline: Array,
    unit: Unit,
) -> Iterator[Words]:
    """A label for each line that has room for one, upright, in columns as far as that goes.

    Main lines are served first. The first column runs across the plate through the crown.
    """
    low, high = float(outline[:, 0].min()), float(outline[:, 0].max())
    along = np.linspace(low, high, COLUMNS + 2)[1:-1]
    columns = [crown[0], *sorted(along, key=lambda x: abs(x - crown[0]))]
    placed: list[tuple[float, float, float]] = []
    order = sorted(drawn, key=lambda one: (not interval.is_main(one[0]), -one[0]))
    for level, chain in order:
        text = show_length(level, unit).removesuffix(f" {unit}")
        half = LETTER_WIDTH * len(text) / 2 + AIR
        for x, y in _places(chain, columns, crown[1]):
            clear = all(
                abs(x - there) * SMALLER > half + wide
                or abs(y - beside) * SMALLER > CAPITAL + AIR / 2
                for there, beside, wide in placed
            )
            if clear:
                placed.append((x, y, half))
                yield Words(text, x, y - CAPITAL / 2, on_line=True)
                break


def _places(chain: Array, columns: Sequence[float], level: float) -> Iterator[tuple[float, float]]:
    """Where a label may stand on a line: where it crosses the columns, then here and there."""
    for x in columns:
        before, after = chain[:-1], chain[1:]
        crossing = (before[:, 0] <= x) != (after[:, 0] <= x)
        a, b = before[crossing], after[crossing]
        share = (x - a[:, 0]) / (b[:, 0] - a[:, 0])
        y = a[:, 1] + share * (b[:, 1] - a[:, 1])
        # toward the treble side first: one column, not two
        yield from (
            (x, float(at)) for at in sorted(y, key=lambda at: (at < level, abs(at - level)))
        )
    for i in np.linspace(0, len(chain) - 1, CANDIDATES).astype(int):
        yield float(chain[i, 0]), float(chain[i, 1])
