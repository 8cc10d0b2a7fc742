"""How a part is laid in its blank: level, or turned about y so that the least thickness holds it.

A neck whose headstock is tilted hangs far below its glue face; a builder lays it askew on the
side of a board and saves the wood in both corners.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely

from carve.arrays import Array


@dataclass(frozen=True)
class Laying:
    """A part laid in a board. length, thickness: mm of the box around it, without allowance.

    raised: radians by which the end toward the nut is turned up, negative where down.
    """

    raised: float
    length: float
    thickness: float


def laid_askew(points: Array, raised: float = 0.0) -> Laying:
    """Points (n, 2) in mm, x to the heel and z up, turned by an angle in radians and boxed."""
    sine, cosine = math.sin(raised), math.cos(raised)
    along, up = points @ [cosine, sine], points @ [-sine, cosine]
    return Laying(raised, float(np.ptp(along)), float(np.ptp(up)))


def thinnest_laying(points: Array) -> Laying:
    """The laying in the thinnest board. points: (n, 2) mm, x to the heel and z up.

    The thinnest strip around points has one edge of their convex hull on its rim (rotating
    calipers; Shamos 1978, from memory), so each edge's direction is tried.
    """
    hull = shapely.convex_hull(shapely.linestrings(points))  # quicker than one of loose points
    corners = shapely.get_coordinates(hull)[:-1]
    edges = np.roll(corners, -1, axis=0) - corners
    edges = edges[np.linalg.norm(edges, axis=1) > 0]
    # a strip has no sense of direction: its edge's slope alone says how the part is turned
    turns = np.arctan2(edges[:, 1], edges[:, 0])
    turns -= np.pi * np.round(turns / np.pi)
    layings = [laid_askew(corners, float(turn)) for turn in turns if abs(turn) < math.pi / 4]
    return min(layings, key=lambda laying: (round(laying.thickness, 9), abs(laying.raised)))
