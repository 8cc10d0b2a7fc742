"""The cover plate as a closed mesh, in a frame of its own: its origin lies on its outside.

Two flat faces with holes, joined along each of their rims. A countersink is a cone between the
rim at the outside and the hole's own, as many points around as that has.
"""

from collections.abc import Sequence

import manifold3d
import numpy as np

from carve.arrays import Array, IntArray
from carve.errors import SolidError
from carve.shape.cover.shape import CoverShape
from carve.solid.faces import Faces
from carve.solid.kit.drill import circle
from carve.solid.mesh import Mesh

OUTSIDE, INSIDE, EDGE = "outside", "inside", "edge"


def hole_name(number: int) -> str:
    """The surface of a screw's hole. number: from 1."""
    return f"screw hole {number}"


def sink_name(number: int) -> str:
    """The surface of a screw's countersink, likewise."""
    return f"countersink {number}"


def cover_faces(shape: CoverShape) -> Faces:
    """Which surfaces are machined from the front and which from the back; holes from either."""
    sinks = (sink_name(number) for number, hole in enumerate(shape.screws, 1) if hole.sink)
    out, into = frozenset({OUTSIDE, *sinks}), frozenset({INSIDE})
    return Faces(out, into) if shape.face == "front" else Faces(into, out)


def cover_solid(shape: CoverShape, chord_error: float) -> tuple[Mesh, float]:
    """Mesh a cover. chord_error: mm.

    Returns the closed mesh and the greatest distance in mm of its edge and its holes from true.
    Raises SolidError where edge and holes leave no face between them.
    """
    edge = shape.plan.points(chord_error) - shape.middle
    heads, holes, errors = [], [], [shape.plan.error(chord_error)]
    for one in shape.screws:
        ring, error = circle(one.head, chord_error)
        middle = np.array([one.x, one.y]) - shape.middle
        heads.append(middle + ring)
        holes.append(middle + ring * (one.radius / one.head))
        errors.append(error)
    drawn = _Skin()
    outer = drawn.face([edge, *heads], 0.0, OUTSIDE, up=True)
    inner = drawn.face([edge, *holes], -shape.thickness, INSIDE, up=False)
    drawn.wall(outer[0], inner[0], EDGE)
    for number, one in enumerate(shape.screws, start=1):
        rim = outer[number]
        if one.sink:
            throat = drawn.points(holes[number - 1], -one.sink)
            drawn.wall(throat, rim, sink_name(number))
            rim = throat
        drawn.wall(inner[number], rim, hole_name(number))
    return drawn.mesh(shape.up), max(errors)


class _Skin:
    """Points and named triangles, gathered face by face. Its outside looks up."""

    def __init__(self) -> None:
        self._points: list[Array] = []
        self._count = 0
        self._named: dict[str, list[IntArray]] = {}

    def points(self, plan: Array, z: float) -> IntArray:
        """Points (n, 2) at a height; their indices (n,)."""
        self._points.append(np.column_stack([plan, np.full(len(plan), z)]))
        self._count += len(plan)
        return np.arange(self._count - len(plan), self._count)

    def face(self, rims: Sequence[Array], z: float, name: str, *, up: bool) -> list[IntArray]:
        """A level face within the first rim and outside of the others, all counter-clockwise.

        Returns the indices of each rim's points.
        """
        inside_out = [rims[0], *(rim[::-1] for rim in rims[1:])]
        found = np.asarray(manifold3d.triangulate(inside_out), dtype=np.int64)
        whole = sum(len(rim) for rim in rims) + 2 * (len(rims) - 1) - 2
        if len(found) != whole:
            raise SolidError("a cover's edge and its holes leave no face; move the holes inward")
        placed = [self.points(rim, z) for rim in rims]
        index = np.concatenate([placed[0], *(rim[::-1] for rim in placed[1:])])
        self._add(name, index[found if up else found[:, ::-1]])
        return placed

    def wall(self, one: IntArray, other: IntArray, name: str) -> None:
        """A band between two rims alike, both counter-clockwise.

        Of a plate's edge the first is the upper one, of a hole the lower one.
        """
        after, beyond = np.roll(one, -1), np.roll(other, -1)
        self._add(name, np.stack([one, other, beyond], axis=1))
        self._add(name, np.stack([one, beyond, after], axis=1))

    def _add(self, name: str, triangles: IntArray) -> None:
        self._named.setdefault(name, []).append(triangles)

    def mesh(self, up: float) -> Mesh:
        """The whole. up: 1.0, or -1.0 where its outside is to look down."""
        points = np.concatenate(self._points) * [1.0, 1.0, up]
        parts = [np.concatenate(found) for found in self._named.values()]
        triangles = np.concatenate(parts)
        return Mesh(
            points,
            triangles if up > 0 else triangles[:, ::-1],
            np.repeat(np.arange(len(parts)), [len(part) for part in parts]),
            tuple(self._named),
        )
