"""From a smooth surface over (x, t) to a grid of triangles within a chord error.

Rows and columns of the grid are dense where the surface is curved. Their spacing follows from
the surface's normal curvature: over a step d the chord is off by about curvature * d^2 / 8. The
error is then measured, and the grid made finer until it is within the bound.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from carve.arrays import Array, BoolArray, IntArray
from carve.errors import SolidError

SurfaceFunction = Callable[[Array, Array], Array]
"""(n,) rows and (m,) columns to (n, m, 3) mm."""

PROBES = 33  # columns and rows on which curvature is read before the grid is made
MOST_GRIDS = 8  # that are tried
MOST_GRID_POINTS = 4_000_000  # about 400 MB of STL; no CAM program is glad of more


@dataclass(frozen=True, eq=False)
class Grid:
    """A sampled surface.

    rows: (n,) and columns: (m,), the surface's two parameters. points: (n, m, 3) mm.
    error: mm, the greatest distance that was measured between surface and triangles.
    """

    rows: Array
    columns: Array
    points: Array
    error: float


def sample(
    surface: SurfaceFunction,
    rows: tuple[float, ...],
    columns: tuple[float, ...],
    chord_error: float,
    longest: float,
) -> Grid:
    """Sample a surface so that triangles over the grid stay within the chord error.

    rows, columns: lines that the grid must contain, rising, the first and last its ends.
    chord_error: mm. longest: greatest distance between rows, in their unit.
    Raises SolidError where the bound cannot be held.
    """
    along, across = _densities(surface, np.array(rows), np.array(columns))
    # half of the bound for each direction costs the fewest points on a grid; where rows are close
    # for another reason and use less than their half, columns may use the rest
    row_density = np.maximum(np.sqrt(along[1] / (4 * chord_error)), 1 / longest)
    used = min(float((along[1] / (8 * row_density**2)).max()), chord_error / 2)
    column_density = np.sqrt(across[1] / (8 * (chord_error - used)))
    finer = 1.0
    for attempt in range(MOST_GRIDS):
        x = graded_lines(np.array(rows), along[0], row_density * finer)
        t = graded_lines(np.array(columns), across[0], column_density * finer)
        if len(x) * len(t) > MOST_GRID_POINTS:
            break
        points, error = measured(surface, x, t)
        if error <= chord_error:
            return Grid(x, t, points, error)
        # where the probes missed a bend one step is not enough: each is longer than the last
        finer *= (1.05 + 0.1 * attempt) * np.sqrt(error / chord_error)
    raise SolidError(
        f"the surface could not be meshed within {chord_error:g} mm "
        f"with {MOST_GRID_POINTS:,} points; allow a larger chord error"
    )


def _densities(
    surface: SurfaceFunction, rows: Array, columns: Array
) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Normal curvature times speed squared along rows and columns, on probe lines.

    Returns (x, worst over t of |n . S_xx|) and (t, worst over x of |n . S_tt|).
    """
    x = np.unique(np.r_[np.linspace(rows[0], rows[-1], PROBES), rows])
    t = np.unique(np.r_[np.linspace(columns[0], columns[-1], PROBES), columns])
    points = surface(x, t)
    by_x, by_t = np.gradient(points, x, axis=0), np.gradient(points, t, axis=1)
    normal = cross(by_x, by_t)
    size = np.maximum(np.sqrt(dot(normal, normal)), 1e-12)
    bend_x = np.abs(dot(np.gradient(by_x, x, axis=0), normal) / size).max(axis=1)
    bend_t = np.abs(dot(np.gradient(by_t, t, axis=1), normal) / size).max(axis=0)
    return (x, bend_x), (t, bend_t)


def graded_lines(fixed: Array, probes: Array, density: Array) -> Array:
    """Rising places through fixed ones, as many between them as a density asks for.

    fixed: (k,). probes: (n,) rising, from the first fixed one to the last. density: (n,) lines a
    unit of ``probes`` there. Where the density is zero between two, they are spaced evenly.
    """
    grown = np.r_[0.0, np.cumsum((density[1:] + density[:-1]) / 2 * np.diff(probes))]
    lines = [fixed[:1]]
    for start, stop in pairwise(fixed):
        low, high = np.interp([start, stop], probes, grown)
        count = max(1, int(np.ceil(high - low - 1e-9)))
        inner = np.interp(np.linspace(low, high, count + 1)[1:-1], grown, probes)
        if count > 1 and (high <= low or np.any(np.diff(np.r_[start, inner, stop]) <= 0)):
            inner = np.linspace(start, stop, count + 1)[1:-1]
        lines += [inner, np.array([stop])]
    return np.concatenate(lines)


def measured(surface: SurfaceFunction, x: Array, t: Array) -> tuple[Array, float]:
    """The grid's points, and the greatest distance in mm of the surface from its triangles.

    Looks at the middle of every edge and of every diagonal, where a chord over a smooth
    arc is farthest from it. Returns (n, m, 3) mm and mm.
    """
    fine = surface(_halved(x), _halved(t))
    points, centre = np.ascontiguousarray(fine[::2, ::2]), fine[1::2, 1::2]
    on_row, on_column = fine[::2, 1::2], fine[1::2, ::2]
    a, b = points[:-1, :-1], points[1:, :-1]
    c, d = points[1:, 1:], points[:-1, 1:]
    first, second = cross(b - a, c - a), cross(c - a, d - a)
    worst = 0.0
    for normal, corner, looked_at in (
        (first, a, (centre, on_column[:, :-1], on_row[1:])),
        (second, a, (centre, on_column[:, 1:], on_row[:-1])),
    ):
        size = np.maximum(np.sqrt(dot(normal, normal)), 1e-12)
        for places in looked_at:
            away = np.abs(dot(places - corner, normal)) / size
            worst = max(worst, float(away.max()))
    return points, worst


def _halved(lines: Array) -> Array:
    """Lines and the middles between them."""
    halved = np.empty(2 * len(lines) - 1)
    halved[::2], halved[1::2] = lines, (lines[1:] + lines[:-1]) / 2
    return halved


def dot(a: Array, b: Array) -> Array:
    """(...) dot product of vectors (..., 3)."""
    return np.asarray(np.einsum("...i,...i->...", a, b))


def cross(a: Array, b: Array) -> Array:
    """(..., 3) cross product, without the copies that numpy's own makes on small grids."""
    (ax, ay, az), (bx, by, bz) = np.moveaxis(a, -1, 0), np.moveaxis(b, -1, 0)
    return np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=-1)


def grid_triangles(rows: int, columns: int) -> IntArray:
    """Two triangles for each cell of a grid of points that are numbered row by row.

    Returns (2 cells, 3) indices of points: one triangle of every cell, then the other of each.
    Counter-clockwise seen from the side that (across a row) x (along a column) points to.
    """
    index = np.arange(rows * columns).reshape(rows, columns)
    a, b = index[:-1, :-1].ravel(), index[1:, :-1].ravel()
    c, d = index[1:, 1:].ravel(), index[:-1, 1:].ravel()
    return np.concatenate([np.stack([a, c, b], 1), np.stack([a, d, c], 1)])


def between_rows(rows: int, columns: int, first: int, last: int) -> BoolArray:
    """(2 cells,) which of ``grid_triangles(rows, columns)`` lie between two of the rows."""
    chosen = np.zeros((2, rows - 1, columns - 1), dtype=bool)
    chosen[:, first:last] = True
    return chosen.ravel()


def strip(one: IntArray, other: IntArray) -> IntArray:
    """Triangles between two chains (n,) of points; none where both have the same point.

    Returns (t, 3) indices of points, counter-clockwise seen with ``one`` below, running to the
    right, and ``other`` above.
    """
    triangles = np.concatenate(
        [
            np.stack([one[:-1], one[1:], other[1:]], 1),
            np.stack([one[:-1], other[1:], other[:-1]], 1),
        ]
    )
    a, b, c = triangles.T
    return np.asarray(triangles[(a != b) & (b != c) & (c != a)])
