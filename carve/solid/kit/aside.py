"""A stretch of a fine grid put aside while a boolean cuts the rest of its solid.

A boolean takes its time for every triangle, and most lie on a back that no tool comes near.
So the solid is closed by a cone in that stretch's place, from the stretch's own rim to a point
far below, and the stretch is sewn in again afterwards, rim point to rim point.
"""

from dataclasses import dataclass

import numpy as np

from carve.arrays import Array, IntArray
from carve.solid.kit.tessellate import grid_triangles
from carve.solid.mesh import Mesh

STAND_IN = "put aside"
FAR_BELOW = 2000.0  # mm; seen from there a rim is as simple as it is from above


@dataclass(frozen=True, eq=False)
class Stretch:
    """Rows ``first`` to ``last`` of a grid of points (n, m, 3), put aside."""

    points: Array
    first: int
    last: int

    def rim(self) -> IntArray:
        """(k,) indices of the points around it, as the grid's triangles run along them."""
        n, m = self.points.shape[:2]
        index = np.arange(n * m).reshape(n, m)[self.first : self.last + 1]
        return np.concatenate([index[0], index[1:, -1], index[-1, -2::-1], index[-2:0:-1, 0]])

    def cone(self, apex: int) -> IntArray:
        """(k, 3) triangles from the rim to a point with an index of its own."""
        rim = self.rim()
        return np.stack([rim, np.roll(rim, -1), np.full(len(rim), apex)], 1)

    def apex(self) -> Array:
        """(1, 3) mm: the cone's point."""
        ends = self.points[[self.first, self.last]].reshape(-1, 3)
        return np.array([[ends[:, 0].mean(), 0.0, -FAR_BELOW]])


def others(stretch: Stretch | None, rows: int, columns: int) -> IntArray:
    """(k, 3) triangles of the grid's rows that are not put aside."""
    if stretch is None:
        return grid_triangles(rows, columns)
    head = grid_triangles(stretch.first + 1, columns)
    tail = grid_triangles(rows - stretch.last, columns) + stretch.last * columns
    return np.concatenate([head, tail])


def sewn_in(mesh: Mesh, stretch: Stretch, name: str) -> Mesh | None:
    """The mesh with its cone replaced by the stretch.

    None where a point or an edge of its rim is gone: booleans tidy up what is very short.
    """
    kept = mesh.surface != mesh.names.index(STAND_IN)
    flat = stretch.points.reshape(-1, 3)
    rim = stretch.rim()
    found = found_among(flat[rim], mesh.points)
    if found is None or not _edges_stand(mesh.triangles[kept], found):
        return None
    m = stretch.points.shape[1]
    inner = np.setdiff1d(np.arange(stretch.first * m, (stretch.last + 1) * m), rim)
    index = np.empty(len(flat), dtype=np.int64)
    index[rim] = found
    index[inner] = len(mesh.points) + np.arange(len(inner))
    rows = grid_triangles(stretch.last - stretch.first + 1, m) + stretch.first * m
    triangles = np.concatenate([mesh.triangles[kept], index[rows]])
    # the cone's name goes; the stretch has its own, which the rest of the grid may have too
    names = tuple(dict.fromkeys([name, *(other for other in mesh.names if other != STAND_IN)]))
    numbers = np.array([names.index(name if n == STAND_IN else n) for n in mesh.names])
    back = np.full(len(rows), names.index(name))
    points = np.vstack([mesh.points, flat[inner]])
    used = np.zeros(len(points), dtype=bool)
    used[triangles] = True
    renumbered = np.cumsum(used) - 1
    return Mesh(
        points[used],
        renumbered[triangles],
        np.concatenate([numbers[mesh.surface[kept]], back]),
        names,
    )


def _edges_stand(triangles: IntArray, rim: IntArray) -> bool:
    """Whether the other triangles (n, 3) run along every edge of the rim, against its way."""
    on_rim = np.full(int(triangles.max()) + 1, -1)
    on_rim[rim] = np.arange(len(rim))
    starts, stops = on_rim[triangles].ravel(), on_rim[np.roll(triangles, -1, axis=1)].ravel()
    both = (starts >= 0) & (stops >= 0)
    against = both & ((stops + 1) % len(rim) == starts)
    return bool((np.bincount(stops[against], minlength=len(rim)) == 1).all())


def found_among(wanted: Array, points: Array) -> IntArray | None:
    """(k,) which of the points (n, 3) each of the wanted (k, 3) is, to the last digit."""
    order = np.argsort(points[:, 0], kind="stable")
    low = np.searchsorted(points[order, 0], wanted[:, 0], "left")
    high = np.searchsorted(points[order, 0], wanted[:, 0], "right")
    found = np.full(len(wanted), -1)
    for step in range(int((high - low).max(initial=0))):
        here = np.minimum(low + step, len(points) - 1)
        same = (low + step < high) & (points[order[here]] == wanted).all(axis=1)
        found[same] = order[here[same]]
    return None if (found < 0).any() else found
