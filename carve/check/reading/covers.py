"""Covers with the body that they lie in, and both meshes in the body's frame."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.parts.job import Job, Part
from carve.shape.assembly.frames import moved
from carve.shape.body.cuts import Cut
from carve.shape.body.shape import BodyShape
from carve.shape.cover.shape import CoverShape
from carve.solid.body import BACK, TOP, surface_of
from carve.solid.measure import slice_level
from carve.solid.mesh import Mesh


@dataclass(frozen=True, eq=False)
class Covered:
    """A cover in its body. recess: the body's cut that it lies in."""

    cover: Part[CoverShape]
    body: Part[BodyShape]
    recess: Cut

    @property
    def shape(self) -> CoverShape:
        """The cover's shape."""
        return self.cover.shape

    @property
    def laid(self) -> Mesh:
        """The cover's mesh where it lies, in the body's frame."""
        mesh = self.cover.mesh
        points = moved(mesh.points, self.shape.to_body)
        return Mesh(points, mesh.triangles, mesh.surface, mesh.names)

    def point(self, x: float, y: float, z: float) -> tuple[float, float, float]:
        """A place of the body's frame in the cover's own, in which its findings speak."""
        there = np.array([x, y, z]) - self.shape.to_body[:3, 3]
        return float(there[0]), float(there[1]), float(there[2])

    def walls(self, z: float) -> Array:
        """(k, 2, 2) mm: where a level plane meets the recess's walls on the body's mesh."""
        return slice_level(self.body.mesh.only(surface_of(self.recess)), z)

    def rim(self) -> Array:
        """(n, 3) points of the body's mesh where its face ends at the recess.

        None where the recess lies wholly in another cut.
        """
        mesh = self.body.mesh
        face = TOP if self.shape.face == "front" else BACK
        both = (
            np.unique(mesh.triangles[mesh.surface == mesh.names.index(name)])
            for name in (face, surface_of(self.recess))
            if name in mesh.names
        )
        shared = set.intersection(*(set(found.tolist()) for found in both))
        return mesh.points[sorted(shared)]


def covers(job: Job) -> Iterator[Covered]:
    """Every cover that has been made together with the body it lies in."""
    for body in job.parts_with_shape(BodyShape):
        recesses = {cut.name: cut for cut in body.shape.cuts}
        for cover in job.parts_with_shape(CoverShape):
            if cover.shape.name in recesses:
                yield Covered(cover, body, recesses[cover.shape.name])
