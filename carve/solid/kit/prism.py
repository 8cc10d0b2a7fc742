"""Solids over a plan or a side view: prisms, and closed meshes between two faces of any shape.

- ``prism_across`` extrudes a side view across the neck, ``prism_upright`` a plan upward.
- ``solid_between`` joins two faces over one plan by upright walls. Each face is a ``Skin``: a flat
  one is its plan triangulated, a carved one has more points within.
- ``end_slab`` lengthens a carved part by a flat-topped prism over a plan. It shares the points in
  which the carved part ends, so that both are one closed surface.
"""

from dataclasses import dataclass

import manifold3d
import numpy as np

from carve.arrays import Array, IntArray
from carve.solid.mesh import Mesh


def triangulated(plan: Array, loop: IntArray) -> IntArray:
    """Triangles within a loop of points, counter-clockwise as the loop.

    plan: (n, 2) of all points. loop: (k,) indices of points. Returns (k - 2, 3) indices of points.
    """
    outline = np.ascontiguousarray(plan[loop], dtype=np.float64)
    triangles: IntArray = np.asarray(manifold3d.triangulate([outline]), dtype=np.int64)
    return np.asarray(loop[triangles])


def prism_across(outline: Array, half_width: float, name: str) -> Mesh:
    """A side view extruded across the neck, as one surface.

    outline: (k, 2) x and z in mm, counter-clockwise seen with x right and z up.
    Returns the closed mesh between y = -half_width and y = half_width mm.
    """
    k = len(outline)
    points = np.empty((2 * k, 3))
    points[:, [0, 2]] = np.vstack([outline, outline])
    points[:k, 1], points[k:, 1] = -half_width, half_width
    here = np.arange(k)
    following = np.roll(here, -1)
    near = triangulated(outline, here)
    sides = np.concatenate(
        [
            np.stack([here, following + k, following], 1),
            np.stack([here, here + k, following + k], 1),
        ]
    )
    triangles = np.concatenate([near, near[:, ::-1] + k, sides])
    return Mesh(points, triangles, np.zeros(len(triangles), dtype=np.int64), (name,))


def prism_upright(plan: Array, low: float, high: float, name: str) -> Mesh:
    """A plan extruded upward, as one surface.

    plan: (k, 2) x and y in mm, counter-clockwise seen from above. low, high: mm in z.
    """
    lying = prism_across(plan, (high - low) / 2, name)
    # a quarter turn about x, from (x, y, z) to (x, z, -y)
    x, middle = lying.points[:, 0], (high + low) / 2
    points = np.stack([x, lying.points[:, 2], middle - lying.points[:, 1]], 1)
    return lying.moved(points)


@dataclass(frozen=True, eq=False)
class Skin:
    """An open surface over a plan of n points.

    points: (n + m, 3) mm, the n of the plan first and in its order. triangles: (t, 3) indices,
    counter-clockwise seen from above.
    """

    points: Array
    triangles: IntArray


def flat_skin(plan: Array, heights: Array | float) -> Skin:
    """A plane face over a plan.

    plan: (n, 2) mm, counter-clockwise seen from above. heights: (n,) mm in one plane, or one for
    all.
    """
    points = np.empty((len(plan), 3))
    points[:, :2], points[:, 2] = plan, heights
    return Skin(points, triangulated(plan, np.arange(len(plan))))


def solid_between(rim: int, top: Skin, back: Skin, names: tuple[str, str, str]) -> Mesh:
    """The closed mesh between two skins over one plan.

    rim: how many points the plan has. names: of the surfaces top, back and sides; those with one
    name are one surface.
    """
    shift = len(top.points)
    here = np.arange(rim)
    following = np.roll(here, -1)
    sides = np.concatenate(
        [
            np.stack([here + shift, following + shift, following], 1),
            np.stack([here + shift, following, here], 1),
        ]
    )
    parts = (top.triangles, back.triangles[:, ::-1] + shift, sides)
    known = tuple(dict.fromkeys(names))
    numbers = [known.index(name) for name in names]
    return Mesh(
        np.concatenate([top.points, back.points]),
        np.concatenate(parts),
        np.repeat(numbers, [len(part) for part in parts]),
        known,
    )


@dataclass(frozen=True, eq=False)
class EndSlab:
    """What lengthens a carved part by a slab.

    points: (2 k, 3) mm, to be added to those of the part. top, back, sides: (t, 3) indices of the
    points of both.
    """

    points: Array
    top: IntArray
    back: IntArray
    sides: IntArray


def end_slab(
    row: IntArray, edges: tuple[int, int], points: Array, rim: Array, back_height: Array
) -> EndSlab:
    """A slab with its top at z = 0 on the end of a carved part of n points.

    row: (m,) indices of the points of the part's back along its end, from the side on which ``rim``
    begins. edges: indices of the points of its top over the row's first and last point.
    points: (n, 3) mm of the part. rim: (k, 2) x and y in mm of the plan beyond the end,
    counter-clockwise seen from above. back_height: (k,) mm, z of the slab's back at the rim.
    """
    first, k = len(points), len(rim)
    low = first + np.arange(k)
    high = low + k
    added = np.empty((2 * k, 3))
    added[:, :2] = np.vstack([rim, rim])
    added[:k, 2], added[k:, 2] = back_height, 0.0
    plan = np.vstack([points, added])[:, :2]
    back_loop = np.concatenate([row[:1], low, row[::-1][:-1]])
    top_loop = np.concatenate([[edges[0]], high, [edges[1]]])
    below, above = np.concatenate([row[:1], low, row[-1:]]), top_loop
    sides = np.concatenate(
        [
            np.stack([below[:-1], below[1:], above[1:]], 1),
            np.stack([below[:-1], above[1:], above[:-1]], 1),
        ]
    )
    back = triangulated(plan, back_loop)[:, ::-1]
    return EndSlab(added, triangulated(plan, top_loop), back, sides)
