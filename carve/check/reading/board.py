"""Reading a fretboard's mesh as a gauge would: walls, floors, edges, a radius gauge's arc.

Shared by the checks of the board. Nothing here asks the shape: what is measured is the mesh.
"""

from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.values.fan import SlantedLine
from carve.solid.fretboard import EDGES, SLOTS, SURFACE
from carve.solid.measure import slice_at
from carve.solid.mesh import Mesh

SAME = 0.002  # mm; a corner no further from a wall's plane lies in it
BESIDE = 0.02  # mm; as close to a slot's wall as the surface is looked at
GAUGED = 241  # steps across a section
FACING = 0.7  # of a unit normal; a face turned less than this does not face that way


@dataclass(frozen=True, eq=False)
class MeshSlot:
    """A slot as it stands in the mesh.

    near, far: x of its walls on the centre line; floor: (k, 2) y and z. mm. slant: of its
    walls from above, x = at + slant y.
    """

    near: float
    far: float
    floor: Array
    slant: float

    @property
    def middle(self) -> float:
        """Where it is, mm from the nut."""
        return (self.near + self.far) / 2

    @property
    def line(self) -> SlantedLine:
        """Its middle from above."""
        return SlantedLine(self.middle, self.slant)

    @property
    def width(self) -> float:
        """Between its walls, square to them, in mm."""
        return (self.far - self.near) / self.line.stretch()


def fret_slots(mesh: Mesh) -> tuple[MeshSlot, ...]:
    """Every fret slot of a mesh from nut to end, found by its walls and its floor."""
    slots = mesh.only(SLOTS)
    if not len(slots.triangles):
        return ()
    normals = _normals(slots)
    floors = slots.corners[normals[:, 2] > FACING].reshape(-1, 3)
    walls = _walls(slots, normals)
    found = []
    for near, far in zip(walls[0::2], walls[1::2], strict=False):
        slant = (near.slant + far.slant) / 2
        along = floors[:, 0] - slant * floors[:, 1]
        within = (along > near.at - BESIDE) & (along < far.at + BESIDE)
        points = floors[within][:, 1:]
        found.append(MeshSlot(near.at, far.at, points[np.argsort(points[:, 0])], slant))
    return tuple(found)


def _walls(slots: Mesh, normals: Array) -> list[SlantedLine]:
    """The planes of the slots' walls from above, from nut to end.

    A wall's largest triangle tells its plane; the others lie in it but for rounding.
    """
    facing = np.abs(normals[:, 0]) > FACING
    corners, normals = slots.corners[facing], normals[facing]
    order = np.argsort(-slots.doubled_areas[facing], kind="stable")
    corners, normals = corners[order], normals[order]
    found: list[SlantedLine] = []
    while len(corners):
        slant = -float(normals[0, 1] / normals[0, 0])
        wall = SlantedLine(float(corners[0, 0, 0] - slant * corners[0, 0, 1]), slant)
        found.append(wall)
        off = np.abs(corners[..., 0] - slant * corners[..., 1] - wall.at).max(axis=1)
        corners, normals = corners[off >= SAME], normals[off >= SAME]
    return sorted(found, key=lambda wall: wall.at)


def section_at(top: Mesh, x: float) -> Array:
    """(k, 2) y and z in mm, by y: where a plane across at x meets the playing surface.

    top: that surface alone, ``mesh.only(SURFACE)``.
    """
    points = slice_at(top, x).reshape(-1, 2)
    return np.asarray(points[np.argsort(points[:, 0])])


def section_along(top: Mesh, line: SlantedLine) -> Array:
    """(k, 2) y and z in mm, by y: where an upright plane over a line meets the surface."""
    points = top.points.copy()
    points[:, 0] -= line.slant * points[:, 1]
    return section_at(Mesh(points, top.triangles, top.surface, top.names), line.at)


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
