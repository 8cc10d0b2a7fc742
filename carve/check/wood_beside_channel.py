"""Wood left between the channel's walls and the neck's sides."""

from collections.abc import Iterator

from carve.check.finding import Curve, Finding, Verdict, show_place
from carve.check.wood import thinnest
from carve.design.units import show_length
from carve.shape.channel import Channel
from carve.shape.neck import NeckShape
from carve.solid.parts import Job

ORDER = 20


def check(job: Job) -> Iterator[Finding]:
    """One finding a channel: the thinnest place beside it."""
    limit, unit = job.design.limits.wood_beside_channel, job.design.units
    for part in job.having(NeckShape):
        for channel in part.shape.channels:
            found = thinnest(part.shape, channel, Channel.to_walls)
            missing = limit - found.value
            yield Finding(
                part=part.name,
                check=f"wood beside the {channel.name}",
                verdict=Verdict.FAILED if missing > 0 else Verdict.GOOD,
                value=found.value,
                limit=limit,
                sense="at least",
                place=show_place(job.design, float(found.point[0])),
                point=(float(found.point[0]), float(found.point[1]), float(found.point[2])),
                source="limits.wood_beside_channel; common practice",
                advice=f"make the neck there {show_length(2 * missing, unit)} wider, its "
                f"shoulders fuller, or the {channel.name} narrower or shallower"
                if missing > 0
                else "",
                curve=Curve(f"wood beside the {channel.name}", found.x, found.along),
            )
