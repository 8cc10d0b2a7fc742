"""From a smooth surface over (x, t) to triangles within a chord error.

Points lie on a grid whose rows and columns crowd where the surface is curved. A grid
line's spacing follows from the surface's normal curvature: over a step d the chord is
off by about curvature * d^2 / 8. The result is then measured, and the grid made finer
until the measured error is within the bound.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from carve.arrays import Array, IntArray
from carve.errors import SolidError

Surface = Callable[[Array, Array], Array]
"""(n,) rows and (m,) columns to (n, m, 3) mm."""

PROBES = 65  # columns and rows on which curvature is looked at before the grid is laid
TRIES = 6
MOST_POINTS = 4_000_000  # about 400 MB of STL; no CAM program is glad of more
WASTEFUL = 0.7  # share of the bound; a first grid that needs less of it is laid again, coarser


@dataclass(frozen=True, eq=False)
class Grid:
    """A sampled surface. rows: (n,), columns: (m,), points: (n, m, 3) mm.

    error: greatest distance in mm found between surface and triangles.
    """

    rows: Array
    columns: Array
    points: Array
    error: float


def sample(
    surface: Surface,
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
    finer = 1.0
    finest: Grid | None = None  # a grid that will do, should no coarser one be found
    tried: tuple[int, int] | None = None
    for attempt in range(TRIES):
        # half of the bound for each direction costs the fewest points on a grid
        per_row = np.sqrt(along[1] / (4 * chord_error)) * finer
        per_column = np.sqrt(across[1] / (4 * chord_error)) * finer
        x = _laid(np.array(rows), along[0], np.maximum(per_row, 1 / longest))
        t = _laid(np.array(columns), across[0], per_column)
        if len(x) * len(t) > MOST_POINTS or (finest is not None and (len(x), len(t)) == tried):
            break
        points = surface(x, t)
        error = measured(surface, x, t, points)
        wasteful = attempt == 0 and error < WASTEFUL * chord_error
        if error <= chord_error and not wasteful:
            return Grid(x, t, points, error)
        if wasteful:
            finest = Grid(x, t, points, error)
        tried = (len(x), len(t))
        finer *= 1.05 * np.sqrt(max(error, 0.01 * chord_error) / chord_error)
    if finest is not None:
        return finest
    raise SolidError(
        f"the surface could not be meshed within {chord_error:g} mm with {MOST_POINTS:,} points; "
        "allow a larger chord error"
    )


def _densities(
    surface: Surface, rows: Array, columns: Array
) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Normal curvature times speed squared along rows and columns, on probe lines.

    Returns (x, worst over t of |n . S_xx|) and (t, worst over x of |n . S_tt|).
    """
    x = np.unique(np.r_[np.linspace(rows[0], rows[-1], PROBES), rows])
    t = np.unique(np.r_[np.linspace(columns[0], columns[-1], PROBES), columns])
    points = surface(x, t)
    by_x, by_t = np.gradient(points, x, axis=0), np.gradient(points, t, axis=1)
    normal = np.cross(by_x, by_t)
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-12)
    bend_x = np.abs((np.gradient(by_x, x, axis=0) * normal).sum(-1)).max(axis=1)
    bend_t = np.abs((np.gradient(by_t, t, axis=1) * normal).sum(-1)).max(axis=0)
    return (x, bend_x), (t, bend_t)


def _laid(fixed: Array, probes: Array, density: Array) -> Array:
    """Lines through ``fixed``, as many between them as the density (lines a unit) asks for."""
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


def measured(surface: Surface, x: Array, t: Array, points: Array) -> float:
    """Greatest distance in mm of surface points from the grid's triangles' planes.

    Looks at the middle of every edge and of every diagonal, where a chord over a smooth
    arc is farthest from it.
    """
    mid_x, mid_t = (x[1:] + x[:-1]) / 2, (t[1:] + t[:-1]) / 2
    centre = surface(mid_x, mid_t)
    on_row, on_column = surface(x, mid_t), surface(mid_x, t)
    a, b = points[:-1, :-1], points[1:, :-1]
    c, d = points[1:, 1:], points[:-1, 1:]
    first, second = np.cross(b - a, c - a), np.cross(c - a, d - a)
    worst = 0.0
    for normal, corner, looked_at in (
        (first, a, (centre, on_column[:, :-1], on_row[1:])),
        (second, a, (centre, on_column[:, 1:], on_row[:-1])),
    ):
        size = np.maximum(np.linalg.norm(normal, axis=-1), 1e-12)
        for places in looked_at:
            away = np.abs(((places - corner) * normal).sum(-1)) / size
            worst = max(worst, float(away.max()))
    return worst


def grid_triangles(rows: int, columns: int) -> IntArray:
    """Two triangles a cell over points numbered row by row. Returns (2 cells, 3).

    Counter-clockwise seen from the side that (across a row) x (along a column) points to.
    """
    index = np.arange(rows * columns).reshape(rows, columns)
    a, b = index[:-1, :-1].ravel(), index[1:, :-1].ravel()
    c, d = index[1:, 1:].ravel(), index[:-1, 1:].ravel()
    return np.concatenate([np.stack([a, c, b], 1), np.stack([a, d, c], 1)])
