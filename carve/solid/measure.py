"""Reading a mesh as a caliper or a gauge would: by the mesh alone, not by any formula."""

import numpy as np

from carve.arrays import Array
from carve.solid.mesh import Mesh


def slice_at(mesh: Mesh, x: float) -> Array:
    """Where a plane across the neck meets the mesh. Returns (k, 2, 2): segments' y, z in mm.

    A mesh point exactly on the plane counts as beyond it.
    """
    beyond = mesh.points[:, 0] >= x
    sides = beyond[mesh.triangles]
    crossed = mesh.triangles[sides.any(axis=1) & ~sides.all(axis=1)]
    beyond_there = beyond[crossed]
    # the corner that is alone on its side is where both crossing edges start
    lone_is_beyond = beyond_there.sum(axis=1) == 1
    lone = np.argmax(beyond_there == lone_is_beyond[:, None], axis=1)
    turn = (lone[:, None] + np.arange(3)) % 3
    corners = mesh.points[np.take_along_axis(crossed, turn, axis=1)]
    start, stops = corners[:, :1], corners[:, 1:]
    share = (x - start[..., 0]) / (stops[..., 0] - start[..., 0])
    return np.asarray((start + share[..., None] * (stops - start))[..., 1:])


def to_segments(points: Array, segments: Array) -> Array:
    """(n,) distance from points (n, 2) to the nearest of segments (k, 2, 2)."""
    a, along = segments[:, 0], segments[:, 1] - segments[:, 0]
    length2 = np.maximum((along**2).sum(axis=1), 1e-30)
    offset = points[:, None] - a
    share = np.clip((offset * along).sum(axis=2) / length2, 0, 1)
    return np.asarray(np.linalg.norm(offset - share[..., None] * along, axis=2).min(axis=1))
