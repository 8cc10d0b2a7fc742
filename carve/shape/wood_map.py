"""How much wood is left, seen from above: the thickness along z on a grid.

Where several layers of wood lie over one another, over and under a chamber say, the thinnest
counts.
"""

import math

import numpy as np

from carve.arrays import Array, IntArray
from carve.design.units import Unit, show_length
from carve.shape.body import BodyShape
from carve.shape.body_drawings import plan_circles, plan_lines
from carve.shape.drawing import Drawing, PlanMap
from carve.shape.pockets import Cut

STEP = 1.0  # mm
ROUGH = 0.05  # mm; chord error of plans on the grid


def wood_map(
    shape: BodyShape, unit: Unit, lowest: float, highest: float, step: float = STEP
) -> PlanMap:
    """The map. lowest, highest: mm, the ends of its colours. step: mm between its values."""
    values, (x, y) = wood_grid(shape, step)
    over = Drawing(
        "wood left through the body",
        _least(values, x, y, step, unit),
        plan_lines(shape),
        circles=plan_circles(shape),
    )
    return PlanMap("wood left, mm", values, x, y, step, lowest, highest, over)


def _least(values: Array, x: float, y: float, step: float, unit: Unit) -> str:
    """Where the map is thinnest, holes left out, in words."""
    wood = np.where(values > 0, values, np.inf)
    row, column = np.unravel_index(int(np.argmin(wood)), wood.shape)
    aside = y + step * float(row)
    return (
        f"least {show_length(float(wood[row, column]), unit)}, "
        f"{show_length(x + step * float(column), unit)} from the body's edge and "
        f"{show_length(abs(aside), unit)} to the {'treble' if aside > 0 else 'bass'} side"
    )


def wood_grid(shape: BodyShape, step: float = STEP) -> tuple[Array, tuple[float, float]]:
    """(n, m) mm of wood, nan beside the body, 0 where a hole goes through; and the first's x, y."""
    outline = shape.outline.points(ROUGH)
    low, high = outline.min(axis=0), outline.max(axis=0)
    columns, rows = (max(1, math.ceil(size / step)) for size in (high - low))
    # half a step inward: the values stand for squares that cover the body
    first = (low + high) / 2 - step * (np.array([columns, rows]) - 1) / 2
    size = (rows, columns)
    body = on_grid(outline, first, step, size)
    inside = np.zeros(rows * columns, dtype=bool)
    inside[body] = True
    covered = []
    for taken in shape.taken:
        plan = (
            taken.plan.points(ROUGH)
            if isinstance(taken, Cut)
            else np.asarray(taken.polygon.exterior.coords)[:-1]
        )
        there = on_grid(plan, first, step, size)
        covered.append(there[inside[there]])
    untouched = inside.copy()
    for there in covered:
        untouched[there] = False
    touched = np.flatnonzero(inside & ~untouched)
    values = np.full(rows * columns, np.nan)
    values[body] = shape.thickness
    if len(touched):
        points = first + step * np.stack([touched % columns, touched // columns], 1)
        order = np.empty(rows * columns, dtype=np.int64)
        order[touched] = np.arange(len(touched))
        values[touched] = shape.wood(points, [order[there] for there in covered])
    return values.reshape(size), (float(first[0]), float(first[1]))


def on_grid(plan: Array, first: Array, step: float, size: tuple[int, int]) -> IntArray:
    """(k,) indices, in rising order, of a grid's points within a closed plan (n, 2).

    first: (2,) x, y of the grid's first point, step: mm between points; size: its rows and
    columns. By the even-odd rule, row by row: between each two crossings lies the inside.
    """
    rows, columns = size
    x, y = ((plan - first) / step).T
    x_on, y_on = np.roll(x, -1), np.roll(y, -1)
    # an edge crosses the rows from its lower end, that one included, to below its upper end
    lowest = np.clip(np.ceil(np.minimum(y, y_on)), 0, rows).astype(np.int64)
    highest = np.clip(np.ceil(np.maximum(y, y_on)), 0, rows).astype(np.int64)
    edge = np.repeat(np.arange(len(x)), highest - lowest)
    row = _runs(lowest, highest)
    share = (row - y[edge]) / (y_on - y)[edge]
    crossing = x[edge] + share * (x_on - x)[edge]
    order = np.lexsort([crossing, row])
    crossing, row = crossing[order], row[order]
    left = np.clip(np.ceil(crossing[0::2]), 0, columns).astype(np.int64)
    right = np.clip(np.ceil(crossing[1::2]), 0, columns).astype(np.int64)
    return np.repeat(row[0::2] * columns, right - left) + _runs(left, right)


def _runs(starts: IntArray, stops: IntArray) -> IntArray:
    """The whole numbers from each start to before its stop, one run after the other."""
    lengths = stops - starts
    before = np.cumsum(lengths) - lengths
    return np.asarray(np.arange(lengths.sum()) + np.repeat(starts - before, lengths))
