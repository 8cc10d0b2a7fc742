"""The two sides of a part as a machine meets them: what is cut from the front, what from the back.

A surface of the part belongs to the clamping that reaches it from above. Upright walls (sides,
ends, holes that go through) belong to both: a cutter passes along them from either side, CAM
programs ask for them as the bound of either cut, and which of the two finishes them is the
builder's choice. So the two open meshes overlap on the walls, and together they are the closed
one. Names decide, not normals: a channel's wall is cut from the front however it is inclined.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from carve.solid.mesh import Mesh

Side = Literal["front", "back"]
"""Which way a surface faces as the part lies in the instrument: the strings' side, or away."""

SIDES: tuple[Side, ...] = ("front", "back")


@dataclass(frozen=True)
class Faces:
    """Names of the surfaces that only one clamping reaches; all others are upright walls.

    front, back: the side from which they are cut.
    """

    front: frozenset[str]
    back: frozenset[str]

    def named(self, mesh: Mesh, side: Side) -> tuple[str, ...]:
        """The surfaces of a mesh that belong to a side, upright walls among them."""
        other = self.back if side == "front" else self.front
        there = {mesh.names[number] for number in np.unique(mesh.surface)}
        return tuple(name for name in mesh.names if name in there - other)

    def of(self, mesh: Mesh, side: Side) -> Mesh:
        """A side as an open mesh: the triangles and the points are the closed one's."""
        return mesh.only(*self.named(mesh, side))
