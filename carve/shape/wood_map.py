"""How much wood is left, seen from above: the thickness along z on a grid.

Where several layers of wood lie over one another, over and under a chamber say, the thinnest
counts.
"""

import math

import numpy as np

from carve.arrays import Array
from carve.design.units import Unit, show_length
from carve.shape.body import BodyShape
from carve.shape.body_drawings import plan_circles, plan_lines
from carve.shape.drawing import Drawing, PlanMap
from carve.shape.on_grid import on_grid
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
