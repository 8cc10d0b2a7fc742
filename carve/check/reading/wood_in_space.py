"""Wood left between the back and something cut into the neck, measured in space.

Shared by the checks on the channel. The back is looked at on a grid, and around the
thinnest place on ever finer ones, on the continuous surface and not on a mesh.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.shape.neck.channel import ROD, ROD_ACCESS, Channel
from carve.shape.neck.shape import NeckShape

ROW_STEP = 6.0  # mm
ACROSS = np.linspace(-1, 1, 97)
ZOOMS, ZOOM_STEPS = 3, 31  # each zoom looks 15 times closer: steps of 6 mm end below 0.002 mm

CHANNELS = {ROD: "channel", ROD_ACCESS: "access-pocket"}
"""What the names of findings call the channels."""

Distance = Callable[[Channel, Array], Array]
"""A channel and points (n, 3) to their distances (n,) from some face of it."""


@dataclass(frozen=True, eq=False)
class Thinnest:
    """The least wood and where. value: mm, negative where the cut comes out of the back.

    point: (3,) mm on the back. x, along: (n,) places and least wood at each of them.
    """

    value: float
    point: Array
    x: Array
    along: Array


def thinnest(shape: NeckShape, channel: Channel, distance: Distance) -> Thinnest:
    """Least distance between the back and a face of a channel."""

    def wood(x: Array, t: Array) -> tuple[Array, Array]:
        points = shape.outside(x, t)
        flat = points.reshape(-1, 3)
        away = distance(channel, flat)
        away = np.where(channel.holds(flat), -away, away)
        return points, away.reshape(len(x), len(t))

    x, t = rows_along(shape), ACROSS
    points, away = wood(x, t)
    along = away.min(axis=1)
    rows, columns = x, t
    for _ in range(ZOOMS):
        i, j = np.unravel_index(int(np.argmin(away)), away.shape)
        rows, columns = _closer(rows, int(i)), _closer(columns, int(j))
        points, away = wood(rows, columns)
    i, j = np.unravel_index(int(np.argmin(away)), away.shape)
    return Thinnest(float(away[i, j]), points[i, j], x, along)


def rows_along(shape: NeckShape) -> Array:
    """(n,) places in mm to look at: every few mm, and wherever something starts or ends."""
    count = max(2, int(np.ceil((shape.length - shape.start) / ROW_STEP)))
    return np.unique(np.r_[np.linspace(shape.start, shape.length, count), shape.breaks()])


def _closer(lines: Array, best: int) -> Array:
    """Lines over the two steps around the best one."""
    low, high = max(best - 1, 0), min(best + 1, len(lines) - 1)
    # the best line stays in: a closer look never finds more wood than the last
    return np.unique(np.r_[np.linspace(lines[low], lines[high], ZOOM_STEPS), lines[best]])
