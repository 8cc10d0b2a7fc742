"""A closed triangle mesh as a frozen value, and what can be asked of it."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from carve.arrays import Array, IntArray


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles over points, each on a named surface of the part.

    points: (n, 3) mm. triangles: (m, 3) indices of points, counter-clockwise seen from outside.
    surface: (m,) for each triangle, the index of its surface's name. names: of the surfaces.
    """

    points: Array
    triangles: IntArray
    surface: IntArray
    names: tuple[str, ...]

    @cached_property
    def corners(self) -> Array:
        """(m, 3, 3) mm: the three corners of each triangle."""
        return self.points[self.triangles]

    @cached_property
    def doubled_areas(self) -> Array:
        """(m,) twice the area of each triangle in mm^2."""
        a, b, c = self.corners.transpose(1, 0, 2)
        u, v = b - a, c - a
        doubled: Array = np.sqrt(
            (u[:, 1] * v[:, 2] - u[:, 2] * v[:, 1]) ** 2
            + (u[:, 2] * v[:, 0] - u[:, 0] * v[:, 2]) ** 2
            + (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) ** 2
        )
        return doubled

    def only(self, *names: str) -> "Mesh":
        """The part of the mesh that lies on the named surfaces (open, unused points left out)."""
        wanted = [self.names.index(name) for name in names if name in self.names]
        kept = np.isin(self.surface, wanted)
        part = Mesh(self.points, self.triangles[kept], self.surface[kept], self.names)
        return part.without_unused_points()

    def without_unused_points(self) -> "Mesh":
        """The same triangles over only those points that they have."""
        used = np.zeros(len(self.points), dtype=bool)
        used[self.triangles] = True
        renumbered = np.cumsum(used) - 1
        return Mesh(self.points[used], renumbered[self.triangles], self.surface, self.names)

    def moved(self, points: Array) -> "Mesh":
        """The same triangles over other points (n, 3) mm."""
        return Mesh(points, self.triangles, self.surface, self.names)

    def mirrored(self) -> "Mesh":
        """The same mesh with its sides exchanged, its triangles still seen from outside."""
        points = self.points * [1.0, -1.0, 1.0] + 0.0  # no -0.0
        return Mesh(points, self.triangles[:, ::-1], self.surface, self.names)

    def scaled(self, factor: float) -> "Mesh":
        """The same mesh in another unit."""
        return Mesh(self.points * factor, self.triangles, self.surface, self.names)


def volume(mesh: Mesh) -> float:
    """Volume in mm^3 by the divergence theorem; negative where the mesh is inside out."""
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = mesh.corners.transpose(1, 2, 0)
    across = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    return float(across.sum() / 6)


def bounds(mesh: Mesh) -> Array:
    """(2, 3) least and greatest coordinates in mm."""
    return np.array([mesh.points.min(axis=0), mesh.points.max(axis=0)])


@dataclass(frozen=True)
class Soundness:
    """What is wrong with a mesh, counted; all zero where it is sound.

    open_edges: edges that are not shared by exactly two triangles which run them in opposite
    directions (a hole, a third triangle, or one turned over). flat: triangles without area.
    twins: triangles with the same three points as another.
    """

    open_edges: int
    flat: int
    twins: int

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not (self.open_edges or self.flat or self.twins)


FLAT_AREA = 1e-9  # mm^2; twice the area below which a triangle counts as having none


def soundness(mesh: Mesh) -> Soundness:
    """Whether each edge is shared by exactly two triangles that run it in opposite ways.

    The rule of the 3MF Core Specification 1.4.0, section 4.1, which any solid obeys.
    """
    n = len(mesh.points)
    t = mesh.triangles
    starts, stops = t.ravel(), t[:, [1, 2, 0]].ravel()
    backward = starts > stops
    # one number a run of an edge: twice the edge's, and one more where it runs backward
    runs = np.sort(2 * (np.minimum(starts, stops) * n + np.maximum(starts, stops)) + backward)
    first_of_pair, second = runs[::2], runs[1::2]
    if np.array_equal(first_of_pair + 1, second) and not (first_of_pair & 1).any():
        # forward, backward, forward, backward: each edge has its two runs and no third
        wrong = int((np.diff(first_of_pair) == 0).sum())
    else:
        found, first, counts = np.unique(runs >> 1, return_index=True, return_counts=True)
        last = first + counts - 1
        paired = (counts == 2) & (runs[first] + 1 == runs[last])
        wrong = int(len(found) - paired.sum())
    a, b, c = t.T
    low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    keys = np.sort((low * n + (a + b + c - low - high)) * n + high)
    return Soundness(
        open_edges=wrong,
        flat=int((mesh.doubled_areas <= FLAT_AREA).sum()),
        twins=int((np.diff(keys) == 0).sum()),
    )
