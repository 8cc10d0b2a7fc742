"""Wood left between the channel's walls and the neck's sides, square to the walls."""

from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import Finding, FindingCurve, show_place
from carve.check.judge import at_least
from carve.check.reading.keys import PLACE
from carve.check.reading.wood_in_space import ACROSS, CHANNELS, rows_along
from carve.check.tolerances import WOOD
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.neck.channel import Channel
from carve.shape.neck.shape import NeckShape


@looks_at(each=NeckShape, keys=("limits.wood_beside_channel", *PLACE))
def check(job: Job) -> Iterator[Finding]:
    """One finding a channel: the thinnest place beside it."""
    limit, unit = job.design.limits.wood_beside_channel, job.design.units
    for part in job.parts_with_shape(NeckShape):
        for channel in part.shape.channels:
            x, least, points = wood_beside(part.shape, channel)
            thinnest = int(np.argmin(least))
            spot = points[thinnest]
            judged = at_least(float(least[thinnest]), limit, tolerance=WOOD)
            yield judged.finding(
                part=part.name,
                name=f"wood-beside-{CHANNELS[channel.name]}",
                check=f"wood beside the {channel.name}",
                place=show_place(job.design, float(spot[0])),
                point=spot,
                source="limits.wood_beside_channel; common practice",
                advice=f"make the neck there {show_length(2 * judged.missing, unit)} wider, its "
                f"shoulders fuller, or the {channel.name} narrower or shallower",
                curve=FindingCurve(f"wood beside the {channel.name}", x, least),
            )


def wood_beside(shape: NeckShape, channel: Channel) -> tuple[Array, Array, Array]:
    """Least wood beside a channel at places along it.

    Returns x (n,) mm, wood (n,) mm, negative where a wall comes out of the side, and the
    points (n, 3) mm on the side where it is that thin.
    """
    x = rows_along(shape)
    x = x[(x >= channel.start) & (x <= channel.end)]
    outline = shape.outside(x, ACROSS)
    floor = -channel.depth(x)
    best = np.full(len(x), np.inf)
    points = np.empty((len(x), 3))
    for side in (outline[:, ACROSS <= 0], outline[:, ACROSS >= 0][:, ::-1]):
        # from the edge down to the keel; the side ends where it reaches the floor's level
        y, z = np.abs(side[..., 1]), side[..., 2]
        # where the side stands upright to below the floor, that is at its first point
        last = np.maximum((z >= floor[:, None]).sum(axis=1) - 1, 0)
        rows = np.arange(len(x))
        following = np.minimum(last + 1, side.shape[1] - 1)
        drop = z[rows, last] - z[rows, following]
        short = np.maximum(z[rows, last] - floor, 0.0)
        share = np.where(drop > 0, short / np.maximum(drop, 1e-12), 0.0)
        at_floor = side[rows, last] + share[:, None] * (side[rows, following] - side[rows, last])
        above = np.where(z >= floor[:, None], y, np.inf)
        narrowest = np.argmin(above, axis=1)  # the first point where none lies above the floor
        floor_is_it = np.abs(at_floor[:, 1]) <= above[rows, narrowest]
        spots = np.where(floor_is_it[:, None], at_floor, side[rows, narrowest])
        wood = np.abs(spots[:, 1]) - channel.half_width
        better = wood < best
        best, points = np.where(better, wood, best), np.where(better[:, None], spots, points)
    return x, best, points
