"""Reading a fretboard's mesh as a gauge would: walls, floors, edges, a radius gauge's arc.

Shared by the checks of the board. Nothing here asks the shape: what is measured is the mesh.
"""

from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.solid.fretboard import EDGES, SLOTS, SURFACE
from carve.solid.measure import slice_at
from carve.solid.mesh import Mesh

BESIDE = 0.02  # mm; as close to a slot's wall as the surface is looked at
GAUGED = 241  # steps across a section
FACING = 0.7  # of a unit normal; a face turned less than this does not face that way


@dataclass(frozen=True, eq=False)
class MeshSlot:
    """A slot as it stands in the mesh. near, far: x of its walls; floor: (k, 2) y and z. mm."""

    near: float
    far: float
    floor: Array

    @property
    def middle(self) -> float:
        """Where it is, mm from the nut."""
        return (self.near + self.far) / 2


def fret_slots(mesh: Mesh) -> tuple[MeshSlot, ...]:
    """Every fret slot of a mesh from nut to end, found by its walls and its floor."""
    slots = mesh.only(SLOTS)
    if not len(slots.triangles):
        return ()
    normals = _normals(slots)
    walls = _different(slots.corners[np.abs(normals[:, 0]) > FACING].reshape(-1, 3)[:, 0])
    floors = slots.corners[normals[:, 2] > FACING].reshape(-1, 3)
    found = []
    for near, far in zip(walls[0::2], walls[1::2], strict=False):
        within = (floors[:, 0] > near - BESIDE) & (floors[:, 0] < far + BESIDE)
        points = floors[within][:, 1:]
        found.append(MeshSlot(float(near), float(far), points[np.argsort(points[:, 0])]))
    return tuple(found)


def section_at(top: Mesh, x: float) -> Array:
    """(k, 2) y and z in mm, by y: where a plane across at x meets the playing surface.

    top: that surface alone, ``mesh.only(SURFACE)``.
    """
    points = slice_at(top, x).reshape(-1, 2)
    return np.asarray(points[np.argsort(points[:, 0])])


def edge_points(mesh: Mesh) -> Array:
    """(k, 3) mm: the mesh points on the edges between playing surface and sides."""
    names = [mesh.names.index(name) for name in EDGES]
    on_sides = np.unique(mesh.triangles[np.isin(mesh.surface, names)])
    on_top = np.unique(mesh.triangles[mesh.surface == mesh.names.index(SURFACE)])
    return np.asarray(mesh.points[np.intersect1d(on_sides, on_top)])


def gauged_radius(section: Array) -> float:
    """Radius in mm of the circle nearest to a section (k, 2) that runs on along y.

    Looked at in even steps, so that many small triangles in one place weigh no more than
    others. Solves y^2 + z^2 = a y + b z + c (Kasa, IEEE Trans. Instrum. Meas. 25 (1976); from
    memory), with y and z about their means, so that a short arc keeps its digits.
    """
    y = np.linspace(section[0, 0], section[-1, 0], GAUGED)
    z = np.interp(y, *section.T)
    y, z = y - y.mean(), z - z.mean()
    (a, b, c), *_ = np.linalg.lstsq(np.stack([y, z, np.ones_like(y)], 1), y**2 + z**2)
    return float(np.sqrt(c + (a**2 + b**2) / 4))


def _normals(mesh: Mesh) -> Array:
    a, b, c = mesh.corners.transpose(1, 0, 2)
    normals = np.cross(b - a, c - a)
    return np.asarray(normals / np.linalg.norm(normals, axis=1, keepdims=True))


def _different(places: Array) -> Array:
    """Places that are further apart than rounding, rising."""
    places = np.unique(places)
    return np.asarray(places[np.r_[True, np.diff(places) > BESIDE / 10]])
