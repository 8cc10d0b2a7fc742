"""Channels cut into the glue face: the truss rod's, and the pocket for its nut.

A channel is a prism across the neck: its side view (a floor over a stretch of x) drawn
out to a half width either side of the centre line. Its ends are square; the round end a
cutter leaves takes less wood away, so every figure here is on the safe side.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from carve.arrays import Array, BoolArray
from carve.design.schema.design import TrussRod

ROD, ROD_ACCESS = "truss-rod channel", "access pocket"
FLOOR_CHORD = 0.005  # mm; a curved floor is a chain of chords no further than this from it


@dataclass(frozen=True, eq=False)
class Channel:
    """A channel open at the glue plane z = 0.

    name: as the builder calls it. floor: (k, 2) x and z in mm from nut to heel, z negative.
    half_width: mm.
    """

    name: str
    floor: Array
    half_width: float

    @property
    def start(self) -> float:
        """Nut-side end, mm from the nut."""
        return float(self.floor[0, 0])

    @property
    def end(self) -> float:
        """Heel-side end, mm from the nut."""
        return float(self.floor[-1, 0])

    def depth(self, x: Array) -> Array:
        """(n,) depth of the floor in mm at x (n,), 0 beyond the ends."""
        inside = (x >= self.start) & (x <= self.end)
        return np.where(inside, -np.interp(x, self.floor[:, 0], self.floor[:, 1]), 0.0)

    def holds(self, points: Array) -> BoolArray:
        """(n,) whether points (n, 3) lie within the channel."""
        return (np.abs(points[:, 1]) <= self.half_width) & self._in_side_view(points)

    def to_floor(self, points: Array) -> Array:
        """(n,) mm from points (n, 3) to the floor, in space."""
        across = np.maximum(np.abs(points[:, 1]) - self.half_width, 0)
        return np.hypot(across, _to_chain(points[:, [0, 2]], self.floor))

    def to_channel(self, points: Array) -> Array:
        """(n,) mm from points (n, 3) to the whole channel, 0 within it."""
        across = np.maximum(np.abs(points[:, 1]) - self.half_width, 0)
        return np.hypot(across, self._to_side_view(points))

    def _to_side_view(self, points: Array) -> Array:
        """(n,) mm in the x-z plane to the area between floor and glue plane, 0 within it."""
        corners = np.vstack([[self.start, 0.0], self.floor, [self.end, 0.0]])
        within = self._in_side_view(points)
        return np.where(within, 0.0, _to_chain(points[:, [0, 2]], corners))

    def _in_side_view(self, points: Array) -> BoolArray:
        x, z = points[:, 0], points[:, 2]
        return np.asarray((x >= self.start) & (x <= self.end) & (z <= 0) & (z >= -self.depth(x)))


def _to_chain(points: Array, chain: Array) -> Array:
    """(n,) distance from points (n, 2) to a chain of segments through (k, 2)."""
    nearest = np.full(len(points), np.inf)
    for a, b in pairwise(chain):
        along = b - a
        share = np.clip((points - a) @ along / (along @ along), 0, 1)
        # one segment at a time: (n,) arrays stay in cache, an (n, k, 2) one would not
        dx = points[:, 0] - a[0] - share * along[0]
        dz = points[:, 1] - a[1] - share * along[1]
        np.minimum(nearest, dx * dx + dz * dz, out=nearest)
    return np.asarray(np.sqrt(nearest))


def channels(rod: TrussRod | None, scale_length: float) -> tuple[Channel, ...]:
    """The channels that a truss rod needs. scale_length: mm."""
    if rod is None:
        return ()
    start, end = rod.start.mm(scale_length), rod.end.mm(scale_length)
    bow = rod.depth_along(0.5) - (rod.depth_along(0) + rod.depth_along(1)) / 2
    # a parabola of rise b over n chords is b / n^2 from them
    pieces = max(1, int(np.ceil(np.sqrt(abs(bow) / FLOOR_CHORD))))
    shares = np.linspace(0, 1, pieces + 1)
    floor = np.array([[start + (end - start) * s, -rod.depth_along(float(s))] for s in shares])
    found = [Channel(ROD, floor, rod.width / 2)]
    if rod.access is not None:
        near, far = {
            "nut": (start - rod.access.behind, start + rod.access.length),
            "heel": (end - rod.access.length, end),
        }[rod.access.at]
        depth = -rod.access.depth
        found.append(
            Channel(ROD_ACCESS, np.array([[near, depth], [far, depth]]), rod.access.width / 2)
        )
    return tuple(found)


def removed_area(cut: tuple[Channel, ...], x: Array, top: Array | float = 0.0) -> Array:
    """(n,) area in mm^2 that the channels take out of the section at x (n,).

    top: (n,) or one number, mm below the glue plane where the wood begins. All channels stand
    on the centre line and are open above, so their union is a staircase.
    """
    if not cut:
        return np.zeros_like(x)
    depths = np.array([np.maximum(channel.depth(x) - top, 0.0) for channel in cut])
    widths = np.array([2 * channel.half_width for channel in cut])
    area, deeper_width = np.zeros_like(x), np.zeros_like(x)
    order = np.argsort(-depths, axis=0)
    for rank in range(len(cut)):
        which = order[rank]
        depth = np.take_along_axis(depths, which[None], 0)[0]
        width = widths[which]
        area += depth * np.maximum(width - deeper_width, 0)
        deeper_width = np.maximum(deeper_width, width)
    return area
