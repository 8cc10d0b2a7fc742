"""Grids over a plan, and which of their points lie within it."""

import math

import numpy as np

from carve.arrays import Array, IntArray

GRID_TOLERANCE = 0.05  # mm; chord error of plans on a grid


def grid_over(outline: Array, step: float) -> tuple[Array, tuple[int, int]]:
    """The first point (2,) in mm, and rows and columns, of a grid over an outline (n, 2) mm.

    step: mm between points.
    """
    low, high = outline.min(axis=0), outline.max(axis=0)
    columns, rows = (max(1, math.ceil(size / step)) for size in (high - low))
    # half a step inward: the values stand for squares that cover the outline
    first = (low + high) / 2 - step * (np.array([columns, rows]) - 1) / 2
    return first, (rows, columns)


def grid_lines(first: Array, step: float, size: tuple[int, int]) -> tuple[Array, Array]:
    """X (columns,) and y (rows,) mm of a grid's lines."""
    rows, columns = size
    x, y = (start + step * np.arange(n) for start, n in zip(first, (columns, rows), strict=True))
    return x, y


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
