"""The volume that a drill takes out."""

import numpy as np

from carve.arrays import Array
from carve.shape.planar.rounded_polygon import arc_pieces
from carve.solid.kit.boolean import prism
from carve.solid.mesh import Mesh

FEWEST = 12  # sides of a round hole


def drill(
    at: Array,
    radius: float,
    low: float,
    high: float,
    chord_error: float,
    name: str,
    lean: float = 0.0,
) -> tuple[Mesh, float]:
    """A round tool about an axis.

    at: (3,) mm, a point of the axis. low, high: mm along the axis from there, upward.
    lean: radians by which the axis leans toward the nut's far side (its top to -x).
    Returns the closed mesh and how far its wall is from a true cylinder in mm.
    """
    sides = max(FEWEST, arc_pieces(radius, 2 * np.pi, chord_error))
    turn = np.arange(sides) / sides * 2 * np.pi
    drawn = prism(np.stack([np.cos(turn), np.sin(turn)], 1) * radius, (high - low) / 2, name)
    # a quarter turn about x stands the prism up: (x, y, z) to (x, z, -y)
    upright = np.stack([drawn.points[:, 0], drawn.points[:, 2], -drawn.points[:, 1]], 1)
    upright[:, 2] += (high + low) / 2
    sine, cosine = np.sin(lean), np.cos(lean)
    leaning = upright @ np.array([[cosine, 0, -sine], [0, 1, 0], [sine, 0, cosine]]).T
    return (
        Mesh(leaning + at, drawn.triangles, drawn.surface, drawn.names),
        float(radius * (1 - np.cos(np.pi / sides))),
    )
