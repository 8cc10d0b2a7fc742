"""Wood left between the channel's floor and the neck's back."""

import math
from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import Finding, FindingCurve, Verdict, show_place
from carve.check.judge import at_least
from carve.check.reading.keys import PLACE
from carve.check.reading.wood_in_space import CHANNELS, Thinnest, thinnest
from carve.check.tolerances import WOOD
from carve.design.values.units import Unit, show_length
from carve.parts.job import Job
from carve.shape.neck.channel import Channel
from carve.shape.neck.shape import NeckShape

WANDER = 1.03  # the thinnest place moves a little as the neck grows: ask for a little more


@looks_at(
    each=NeckShape, keys=("limits.wood_under_channel", "limits.wood_under_channel_good", *PLACE)
)
def check(job: Job) -> Iterator[Finding]:
    """One finding a channel: the thinnest place, and the wood left along the neck."""
    limits, unit = job.design.limits, job.design.units
    for part in job.parts_with_shape(NeckShape):
        for channel in part.shape.channels:
            found = thinnest(part.shape, channel, Channel.to_floor)
            judged = at_least(
                found.value,
                limits.wood_under_channel,
                warning=limits.wood_under_channel_good,
                tolerance=WOOD,
            )
            warned = judged.verdict is Verdict.WARNING
            yield judged.finding(
                part=part.name,
                name=f"wood-under-{CHANNELS[channel.name]}",
                check=f"wood under the {channel.name}",
                place=show_place(job.design, float(found.point[0])),
                point=found.point,
                source=("limits.wood_under_channel_good" if warned else "limits.wood_under_channel")
                + "; common practice",
                advice=_advice(part.shape, channel, found, max(judged.missing, 0.0), unit),
                detail="the channel comes out of the back" if found.value <= 0 else "",
                curve=FindingCurve(f"wood under the {channel.name}", found.x, found.along),
            )


def _advice(shape: NeckShape, channel: Channel, found: Thinnest, missing: float, unit: Unit) -> str:
    """How much thicker or shallower leaves ``missing`` mm more between floor and back.

    The wood is measured along a slant: only the upright share of a change counts, and of a
    thicker neck only as much as reaches the thinnest place.
    """
    x = found.point[:1]
    below = float(-found.point[2] - channel.depth(x)[0])
    if found.value <= 0 or below <= 0:
        return "make the neck there thicker or the channel shallower, until wood is left"
    upright = min(1.0, below / found.value)
    reaching = upright * float(-found.point[2] / shape.depth(x)[0])
    thicker, less = (_up(WANDER * missing / share) for share in (reaching, upright))
    return (
        f"make the neck there {show_length(thicker, unit)} thicker, "
        f"or the {channel.name} {show_length(less, unit)} shallower"
    )


def _up(length: float) -> float:
    """A length to the next 0.05 mm: a builder cannot set less, and too little would not do."""
    return math.ceil(length / 0.05 - 1e-9) * 0.05
