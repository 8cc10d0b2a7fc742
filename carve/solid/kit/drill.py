"""The volume that a drill takes out."""

import math

import numpy as np

from carve.arrays import Array
from carve.shape.planar.rounded_polygon import arc_pieces
from carve.solid.kit.prism import prism_upright
from carve.solid.mesh import Mesh

FEWEST_SIDES = 12  # of a round hole


def circle(radius: float, chord_error: float, first: float = 0.0) -> tuple[Array, float]:
    """A circle about the origin as a regular polygon.

    radius, chord_error: mm. first: where its first corner stands, in sides from the x axis.
    Returns (n, 2) mm, counter-clockwise, and the polygon's greatest distance from the circle in mm.
    """
    sides = max(FEWEST_SIDES, arc_pieces(radius, 2 * math.pi, chord_error))
    turn = (np.arange(sides) + first) / sides * 2 * np.pi
    corners = np.stack([np.cos(turn), np.sin(turn)], 1) * radius
    return corners, float(radius * (1 - np.cos(np.pi / sides)))


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

    at: (3,) mm, a point of the axis. radius: mm. low, high: mm along the axis from there, upward.
    lean: radians by which the axis leans toward the nut's far side (its top to -x).
    Returns the closed mesh and how far its wall is from a true cylinder in mm.
    """
    corners, error = circle(radius, chord_error)
    tool = prism_upright(corners, low, high, name)
    sine, cosine = np.sin(lean), np.cos(lean)
    leaning = tool.points @ np.array([[cosine, 0, -sine], [0, 1, 0], [sine, 0, cosine]]).T
    return tool.moved(leaning + at), error
