"""A closed triangle mesh as a frozen value, and what can be asked of it."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from carve.arrays import Array, BoolArray, IntArray


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles over points.

    points: (n, 3) mm. triangles: (m, 3) indices, counter-clockwise seen from outside.
    surface: (m,) index into ``names``: which of the part's surfaces a triangle lies on.
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
        used, triangles = np.unique(self.triangles[kept], return_inverse=True)
        return Mesh(self.points[used], triangles.reshape(-1, 3), self.surface[kept], self.names)

    def scaled(self, factor: float) -> "Mesh":
        """The same mesh in another unit."""
        return Mesh(self.points * factor, self.triangles, self.surface, self.names)


def volume(mesh: Mesh) -> float:
    """Volume in mm^3 by the divergence theorem; negative where the mesh is inside out."""
    a, b, c = mesh.corners.transpose(1, 0, 2)
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def bounds(mesh: Mesh) -> Array:
    """(2, 3) least and greatest coordinates in mm."""
    return np.array([mesh.points.min(axis=0), mesh.points.max(axis=0)])


@dataclass(frozen=True)
class Soundness:
    """What is wrong with a mesh, counted; all zero where it is sound.

    open_edges: edges without exactly one partner running the other way (a hole, a third
    triangle or one turned over). flat: triangles without area. twins: triangles over the
    same three points as another.
    """

    open_edges: int
    flat: int
    twins: int

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong."""
        return not (self.open_edges or self.flat or self.twins)


FLAT = 1e-9  # mm^2; twice the area below which a triangle counts as having none


def soundness(mesh: Mesh) -> Soundness:
    """Whether each edge is shared by exactly two triangles that run it in opposite ways.

    The rule of the 3MF Core Specification 1.4.0, section 4.1, which any solid obeys.
    """
    n = len(mesh.points)
    t = mesh.triangles
    starts, stops = t.ravel(), t[:, [1, 2, 0]].ravel()
    forward, backward = np.sort(starts * n + stops), np.sort(stops * n + starts)
    if np.array_equal(forward, backward):
        # every run has one coming back; a second run the same way shows as a repeat
        wrong = int((np.diff(forward) == 0).sum())
    else:
        codes, counts = np.unique(forward, return_counts=True)
        partners, partner_counts = np.unique(backward, return_counts=True)
        at = np.minimum(np.searchsorted(partners, codes), len(partners) - 1)
        paired: BoolArray = (partners[at] == codes) & (partner_counts[at] == 1) & (counts == 1)
        wrong = int((~paired).sum())
    ordered = np.sort(t, axis=1)
    keys = np.sort((ordered[:, 0] * n + ordered[:, 1]) * n + ordered[:, 2])
    return Soundness(
        open_edges=wrong,
        flat=int((mesh.doubled_areas <= FLAT).sum()),
        twins=int((np.diff(keys) == 0).sum()),
    )


def as_written(mesh: Mesh) -> Mesh:
    """The mesh as a file with 32-bit coordinates will hold it.

    Points that become one are joined, and triangles that lose their area by it go.
    """
    coordinates = mesh.points.astype(np.float32).astype(np.float64)
    points, index = np.unique(coordinates, axis=0, return_inverse=True)
    triangles = index.reshape(-1)[mesh.triangles]
    a, b, c = triangles.T
    kept = (a != b) & (b != c) & (c != a)
    return Mesh(points, triangles[kept], mesh.surface[kept], mesh.names)
