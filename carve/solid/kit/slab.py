"""A flat-backed end joined to a carved surface: a prism over a plan, sewn on point by point.

The carved part ends in a row of points across its back and one point at each edge of its
top. The slab takes these very points for its own, so the two are one skin from the start.
"""

from dataclasses import dataclass

import manifold3d
import numpy as np

from carve.arrays import Array, IntArray


@dataclass(frozen=True, eq=False)
class Slab:
    """Points and triangles to add. points: (k, 3) mm. top, back, sides: (n, 3) indices."""

    points: Array
    top: IntArray
    back: IntArray
    sides: IntArray


def sewn_slab(
    row: IntArray, edges: tuple[int, int], points: Array, rim: Array, back_height: Array
) -> Slab:
    """A slab on the end of a carved part.

    row: (m,) indices of the back's points in their order along the end, beginning on the
    side where ``rim`` begins. edges: indices of the top's points at the row's first and last
    point. points: (n, 3) mm, of the carved part. rim: (k, 2) x, y of the plan beyond the end,
    counter-clockwise from above. back_height: (k,) z of the back at the rim. The top is z = 0.
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
    return Slab(added, filled(plan, top_loop), filled(plan, back_loop)[:, ::-1], sides)


def filled(plan: Array, loop: IntArray) -> IntArray:
    """Triangles over a loop of points, counter-clockwise as the loop. plan: (n, 2) of all points.

    Returns (len(loop) - 2, 3) indices into ``plan``.
    """
    outline = np.ascontiguousarray(plan[loop])
    triangles: IntArray = np.asarray(manifold3d.triangulate([outline]), dtype=np.int64)
    return np.asarray(loop[triangles])
