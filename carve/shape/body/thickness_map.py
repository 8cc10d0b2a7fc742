"""How much wood is left, seen from above: the thickness along z on a grid.

Where several layers of wood lie over one another, over and under a chamber say, the thinnest
counts.
"""

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from carve.arrays import Array, IntArray
from carve.shape.body.chambers import Chamber
from carve.shape.body.cuts import Cut
from carve.shape.body.shape import BodyShape
from carve.shape.planar.grid import GRID_TOLERANCE, grid_lines, grid_over, on_grid
from carve.shape.planar.rounded_polygon import SAME_POINT
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
        values[touched] = least_wood(
            shape,
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


def least_wood(
    shape: BodyShape,
    points: Array,
    covered: Sequence[IntArray] | None = None,
    faces: tuple[Array, Array] | None = None,
    on_map: IntArray | None = None,
) -> Array:
    """(n,) least thickness of wood along z over points (n, 2) in the outline; 0 where none.

    covered: for each of ``removals`` the indices of the points in its plan, found where not
    given. faces: (n,) heights of back and top at the points, likewise. on_map: (n,) the
    points' indices on the map, where they are of it. Where several layers of wood lie over one
    another the thinnest counts.
    """
    if covered is None:
        covered = [
            np.flatnonzero(shapely.contains_xy(taken.polygon, *points.T))
            for taken in shape.removals
        ]
    if faces is None:
        faces = shape.back_at(points), shape.top_at(points)
    wood = faces[1] - faces[0]
    for there, numbers in _alike(len(points), covered):
        here = points[there]
        count = len(here)
        spans = [
            taken.over_map(on_map[there])
            if on_map is not None and isinstance(taken, Chamber)
            else taken.heights(here)
            for taken in (shape.removals[number] for number in numbers)
        ]
        if len(spans) == 1:
            wood[there] = _beside_one(*spans[0], faces[0][there], faces[1][there])
            continue
        spans.append((np.full(count, -np.inf), faces[0][there]))
        spans.append((faces[1][there], np.full(count, np.inf)))
        low, high = (np.stack(ends) for ends in zip(*spans, strict=True))
        wood[there] = _thinnest(low, high)
    return wood


def _alike(count: int, covered: Sequence[IntArray]) -> Iterator[tuple[IntArray, list[int]]]:
    """Points that lie in the same plans: their indices, and the numbers of these plans."""
    group = np.zeros(count, dtype=np.int64)
    members: list[list[int]] = [[]]
    for number, there in enumerate(covered):
        before = np.unique(group[there])
        fresh = np.full(len(members), -1)
        fresh[before] = len(members) + np.arange(len(before))
        members += [[*members[old], number] for old in before]
        group[there] = fresh[group[there]]
    order = np.argsort(group, kind="stable")
    starts = np.searchsorted(group[order], np.arange(len(members) + 1))
    for numbers, first, last in zip(members[1:], starts[1:-1], starts[2:], strict=True):
        if last > first:
            yield order[first:last], numbers


def _beside_one(low: Array, high: Array, back: Array, top: Array) -> Array:
    """(n,) what ``_thinnest`` says of one cut from low to high (n,), without sorting heights."""
    under, over = np.minimum(low, top) - back, top - np.maximum(high, back)
    gaps = (np.where(np.isfinite(gap) & (gap > SAME_POINT), gap, np.inf) for gap in (under, over))
    least = np.minimum(*gaps)
    return np.where(np.isfinite(least), least, 0.0)


def _thinnest(low: Array, high: Array) -> Array:
    """(n,) least gap between the intervals low to high (k, n) that are free of wood."""
    order = np.argsort(low, axis=0)
    low = np.take_along_axis(low, order, axis=0)
    reached = np.maximum.accumulate(np.take_along_axis(high, order, axis=0), axis=0)
    with np.errstate(invalid="ignore"):
        gaps = low[1:] - reached[:-1]
    gaps = np.where(np.isfinite(gaps) & (gaps > SAME_POINT), gaps, np.inf)
    least = gaps.min(axis=0)
    return np.where(np.isfinite(least), least, 0.0)
