"""How much wood is left, seen from above: the thickness along z on a grid.

Where several layers of wood lie over one another, over and under a chamber say, the thinnest
counts.
"""

import numpy as np

from carve.arrays import Array
from carve.shape.body.cuts import Cut
from carve.shape.body.shape import BodyShape
from carve.shape.planar.grid import GRID_TOLERANCE, grid_lines, grid_over, on_grid
from carve.shape.plate.carved_face import MAP_STEP, CarvedFace


def wood_grid(shape: BodyShape, step: float = MAP_STEP) -> tuple[Array, tuple[float, float]]:
    """(n, m) mm of wood, nan beside the body, 0 where a hole goes through; and the first's x, y."""
    outline = shape.outline.points(GRID_TOLERANCE)
    first, size = grid_over(outline, step)
    rows, columns = size
    back, top = (_face(shape, face, first, step, size) for face in (shape.back, shape.top))
    back = -shape.thickness - back
    body = on_grid(outline, first, step, size)
    inside = np.zeros(rows * columns, dtype=bool)
    inside[body] = True
    covered = []
    for taken in shape.removals:
        plan = (
            taken.plan.points(GRID_TOLERANCE)
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
    values[body] = (top - back)[body]
    if len(touched):
        points = first + step * np.stack([touched % columns, touched // columns], 1)
        order = np.empty(rows * columns, dtype=np.int64)
        order[touched] = np.arange(len(touched))
        values[touched] = shape.wood(
            points,
            [order[there] for there in covered],
            (back[touched], top[touched]),
            touched if step == MAP_STEP else None,
        )
    return values.reshape(size), (float(first[0]), float(first[1]))


def _face(
    shape: BodyShape, face: CarvedFace | None, first: Array, step: float, size: tuple[int, int]
) -> Array:
    """(n * m,) height in mm of a face over its edge plane, row by row."""
    rows, columns = size
    if face is None:
        return np.zeros(rows * columns)
    if step == MAP_STEP:
        return face.map.T.ravel()
    return face.surface.grid(*grid_lines(first, step, size)).T.ravel()
