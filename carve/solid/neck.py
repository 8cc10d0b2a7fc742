"""The neck as a closed mesh: back, glue face and ends, its channels cut out."""

import numpy as np

from carve.arrays import Array, IntArray
from carve.shape.channel import Channel
from carve.shape.neck import NeckShape
from carve.solid.boolean import cut, prism
from carve.solid.mesh import Mesh
from carve.solid.tessellate import Grid, grid_triangles, sample

LONGEST = 10.0  # mm between rows: keeps triangles from growing into needles
OVERCUT = 1.0  # mm that a tool stands out of the face it opens, so that no faces coincide

NUT_END = "nut end"
SURFACES = ("back", "glue face", NUT_END, "heel end")


def neck_solid(shape: NeckShape, chord_error: float) -> tuple[Mesh, float]:
    """Mesh a neck. chord_error: mm, the bound on the back's distance from the shape.

    Returns the closed mesh and the greatest distance in mm that was measured.

    The grid has a row at every station and a column on the keel, so what a caliper reads
    there is on the mesh exactly.
    """
    rows = tuple(np.unique(np.r_[0.0, shape.square_from, shape.stations, shape.length]))
    grid = sample(shape.rows, rows, (-1.0, 0.0, 1.0), chord_error, LONGEST)
    body = _closed(grid)
    tools = [_tool(channel, shape) for channel in shape.channels]
    return (cut(body, tools) if tools else body), grid.error


def _closed(grid: Grid) -> Mesh:
    """The grid closed by a flat glue face and two flat ends."""
    n, m = grid.points.shape[:2]
    back = grid_triangles(n, m)
    index = np.arange(n * m).reshape(n, m)
    bass, treble = index[:, 0], index[:, -1]
    glue = np.concatenate(
        [
            np.stack([bass[:-1], bass[1:], treble[1:]], 1),
            np.stack([bass[:-1], treble[1:], treble[:-1]], 1),
        ]
    )
    nut_end = index[0][_ladder(grid.points[0, :, 1:])][:, ::-1]
    heel_end = index[-1][_ladder(grid.points[-1, :, 1:])]
    parts = [back, glue, nut_end, heel_end]
    return Mesh(
        grid.points.reshape(-1, 3),
        np.concatenate(parts),
        np.repeat(np.arange(len(parts)), [len(part) for part in parts]),
        SURFACES,
    )


def _ladder(outline: Array) -> IntArray:
    """Triangles over a section: a ladder between its bass and its treble side.

    outline: (m, 2) from the bass edge over the keel to the treble edge.
    Advances on the side that lies higher, so that no triangle is thinner than it must be.
    """
    low, high = 0, len(outline) - 1
    triangles = []
    while high - low > 1:
        if outline[low + 1, 1] >= outline[high - 1, 1]:
            triangles.append((low, low + 1, high))
            low += 1
        else:
            triangles.append((low, high - 1, high))
            high -= 1
    return np.array(triangles, dtype=np.int64)


def _tool(channel: Channel, shape: NeckShape) -> Mesh:
    """The volume to take out for a channel, standing out of every face that it opens."""
    floor = channel.floor.copy()
    above = OVERCUT
    start, end = floor[0].copy(), floor[-1].copy()
    if channel.start <= 1e-9:
        start[0] = -shape.before - OVERCUT
    if channel.end >= shape.length - 1e-9:
        end[0] = shape.length + OVERCUT
    chain = [floor]
    if start[0] < floor[0, 0]:
        chain.insert(0, start[None])
    if end[0] > floor[-1, 0]:
        chain.append(end[None])
    top = np.array([[end[0], above], [start[0], above]])
    return prism(np.vstack([*chain, top]), channel.half_width, channel.name)
