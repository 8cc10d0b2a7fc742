"""Wood left between the channel's floor and the neck's back."""

from collections.abc import Iterator

from carve.check.finding import Curve, Finding, Verdict, show_place
from carve.check.wood import thinnest
from carve.design.units import show_length
from carve.shape.channel import Channel
from carve.shape.neck import NeckShape
from carve.solid.parts import Job

ORDER = 10


def check(job: Job) -> Iterator[Finding]:
    """One finding a channel: the thinnest place, and the wood left along the neck."""
    limits, unit = job.design.limits, job.design.units
    for part in job.having(NeckShape):
        for channel in part.shape.channels:
            found = thinnest(part.shape, channel, Channel.to_floor)
            short = limits.wood_under_channel - found.value
            wanting = limits.wood_under_channel_good - found.value
            if short > 0:
                verdict, missing = Verdict.FAILED, short
            elif wanting > 0:
                verdict, missing = Verdict.WARNING, wanting
            else:
                verdict, missing = Verdict.GOOD, 0.0
            warned = verdict is Verdict.WARNING
            yield Finding(
                part=part.name,
                check=f"wood under the {channel.name}",
                verdict=verdict,
                value=found.value,
                limit=limits.wood_under_channel_good if warned else limits.wood_under_channel,
                sense="at least",
                place=show_place(job.design, float(found.point[0])),
                point=(float(found.point[0]), float(found.point[1]), float(found.point[2])),
                source=("limits.wood_under_channel_good" if warned else "limits.wood_under_channel")
                + "; common practice",
                advice=""
                if verdict is Verdict.GOOD
                else f"make the neck there {show_length(missing, unit)} thicker "
                f"or the {channel.name} as much shallower",
                detail="the channel comes out of the back" if found.value <= 0 else "",
                curve=Curve(f"wood under the {channel.name}", found.x, found.along),
            )
