"""The carved faces of a body, and their heights as a depth gauge reads them on the mesh."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.schema.design import Design
from carve.design.schema.plate import CarvedPlate
from carve.parts.cache import kept_many
from carve.parts.job import Job, Part
from carve.shape.body.shape import BodyShape
from carve.shape.plate.carved_face import CarvedFace
from carve.shape.plate.fairness import Unasked, highest_of, unasked
from carve.shape.plate.relief import Extreme
from carve.solid.body import BACK, TOP
from carve.solid.measure import height_over
from carve.solid.mesh import Mesh

FACES = 8  # of which is kept what was looked for all over them
CUT_AWAY = "cut away there, so told by the surface before its pockets"


@dataclass(frozen=True, eq=False)
class MeasuredFace:
    """A carved face of a body that is made.

    part: the body. name: "top" or "back". plate: what the design asks of it. carving: its shape.
    """

    part: Part[BodyShape]
    name: str
    plate: CarvedPlate
    carving: CarvedFace

    @property
    def key(self) -> str:
        """Its table in the file."""
        return f"body.{self.name}"

    @property
    def surface(self) -> str:
        """Its name on the mesh."""
        return TOP if self.name == "top" else BACK

    @property
    def skin(self) -> Mesh:
        """What is left of it on the mesh."""
        return self.part.mesh.only(self.surface)

    def read(self, points: Array) -> tuple[Array, Array]:
        """(n,) mm of height over the edge plane at points (n, 2), and which the mesh has no more.

        Those are told by the surface.
        """
        z = height_over(self.part.mesh, points, self.surface)
        height = z if self.name == "top" else -self.part.shape.thickness - z
        gone = np.isnan(height)
        return np.where(gone, self.carving.surface(*points.T), height), gone

    def read_surface(self, x: float, y: float) -> float:
        """Mm of height over the edge plane, by the surface."""
        return float(self.carving.surface(np.array([x]), np.array([y]))[0])

    def point(self, x: float, y: float, height: float) -> tuple[float, float, float]:
        """A place on it in the body's frame."""
        z = height if self.name == "top" else -self.part.shape.thickness - height
        return x, y, z


@kept_many(FACES)
def highest_point_of(carving: CarvedFace) -> Extreme:
    """The highest point of a face in mm, kept while the face stays as it is."""
    return highest_of(carving)


@kept_many(FACES)
def unasked_of(carving: CarvedFace) -> tuple[Unasked, ...]:
    """What stands out of a face that nobody asked for, likewise."""
    return tuple(unasked(carving))


def carved_faces(job: Job) -> Iterator[MeasuredFace]:
    """Every carved face, the top first."""
    design: Design = job.design
    for part in job.parts_with_shape(BodyShape):
        if design.body is None:
            continue
        for name, plate, carving in (
            ("top", design.body.top, part.shape.top),
            ("back", design.body.back, part.shape.back),
        ):
            if plate is not None and carving is not None:
                yield MeasuredFace(part, name, plate, carving)
