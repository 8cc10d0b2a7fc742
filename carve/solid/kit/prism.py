"""Closed meshes that stand upright over a closed plan, between two faces of any shape.

A face is a skin: triangles over the plan whose first points are the plan's own, in its order.
A flat one is its plan filled; a carved one brings more points within. Sewn along the plan they
are one closed mesh, whatever the two faces are.
"""

from dataclasses import dataclass

import numpy as np

from carve.arrays import Array, IntArray
from carve.solid.kit.slab import filled
from carve.solid.mesh import Mesh


@dataclass(frozen=True, eq=False)
class Skin:
    """A face over a plan of n points. points: (n + m, 3) mm, the plan's n first.

    triangles: (t, 3) indices, counter-clockwise from above.
    """

    points: Array
    triangles: IntArray


def flat_skin(plan: Array, heights: Array | float) -> Skin:
    """A plane face. plan: (n, 2) mm, counter-clockwise. heights: (n,) of a plane, or one; mm."""
    points = np.empty((len(plan), 3))
    points[:, :2], points[:, 2] = plan, heights
    return Skin(points, filled(plan, np.arange(len(plan))))


def upright(rim: int, top: Skin, back: Skin, names: tuple[str, str, str]) -> Mesh:
    """The closed mesh between two skins over one plan.

    rim: how many points the plan has. names: of top, back and sides; alike names are one surface.
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
