"""Taking pockets out of a solid, by manifold3d, whose booleans keep a mesh closed."""

from collections.abc import Sequence

import manifold3d
import numpy as np

from carve.errors import SolidError
from carve.solid.mesh import Mesh, bounds

OVERCUT = 1.0  # mm that a tool stands out of the faces it opens, so that no two faces coincide
APART = 1e-3  # mm between the boxes of tools that are taken out together


def cut(mesh: Mesh, tools: Sequence[Mesh], untouched: str = "") -> Mesh:
    """The mesh without the tools' volumes. Surfaces keep their names.

    untouched: a surface of which every point and triangle is to stay, even in a plane.
    Raises SolidError where a mesh is not closed or nothing is left.
    """
    names = tuple(dict.fromkeys(name for part in (mesh, *tools) for name in part.names))
    solid = _manifold(mesh, names, untouched if untouched in mesh.names else "")
    for tool in _together(tools):
        solid = solid - _manifold(tool, names, untouched if untouched in tool.names else "")
    _require(solid)
    if solid.is_empty():
        raise SolidError("nothing is left of the part once its pockets are cut out")
    out = solid.to_mesh64()
    faces = np.asarray(out.face_id, dtype=np.int64)
    if untouched:
        faces[faces >= len(names)] = names.index(untouched)
    return Mesh(
        # a copy: a view would keep the library's own mesh alive for as long as ours
        np.array(out.vert_properties[:, :3], dtype=np.float64),
        np.asarray(out.tri_verts, dtype=np.int64),
        faces,
        names,
    )


def _together(tools: Sequence[Mesh]) -> list[Mesh]:
    """The same volumes in fewer meshes: tools whose bounding boxes are apart become one.

    A boolean takes its time for each mesh, however small.
    """
    groups: list[list[Mesh]] = []
    for tool in tools:
        clear = (group for group in groups if all(_apart(tool, other) for other in group))
        group = next(clear, None)
        if group is None:
            groups.append([tool])
        else:
            group.append(tool)
    return [joined_meshes(group) for group in groups]


def _apart(one: Mesh, other: Mesh) -> bool:
    (low, high), (other_low, other_high) = bounds(one), bounds(other)
    return bool(np.any((low > other_high + APART) | (high < other_low - APART)))


def joined_meshes(meshes: Sequence[Mesh]) -> Mesh:
    """Meshes that don't touch, as one; surfaces of one name become one."""
    names = tuple(dict.fromkeys(name for mesh in meshes for name in mesh.names))
    starts = np.cumsum([0, *(len(mesh.points) for mesh in meshes[:-1])])
    return Mesh(
        np.concatenate([mesh.points for mesh in meshes]),
        np.concatenate(
            [mesh.triangles + start for mesh, start in zip(meshes, starts, strict=True)]
        ),
        np.concatenate(
            [np.array([names.index(name) for name in m.names])[m.surface] for m in meshes]
        ),
        names,
    )


def _manifold(mesh: Mesh, names: tuple[str, ...], untouched: str = "") -> manifold3d.Manifold:
    renumbered = np.array([names.index(name) for name in mesh.names], dtype=np.uint64)
    faces = renumbered[mesh.surface]
    if untouched:
        # manifold joins what lies in a plane under one number: so each gets its own
        own = np.flatnonzero(mesh.surface == mesh.names.index(untouched))
        faces[own] = len(names) + np.arange(len(own))
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(
            np.ascontiguousarray(mesh.points),
            mesh.triangles.astype(np.uint64),
            face_id=faces,
        )
    )
    _require(solid)
    return solid


def _require(solid: manifold3d.Manifold) -> None:
    if solid.status() != manifold3d.Error.NoError:
        raise SolidError(f"a mesh is not a closed solid ({solid.status().name})")
