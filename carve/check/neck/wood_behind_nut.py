"""Wood left around the nut: where headstock and shaft meet, necks break."""

from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import Finding, FindingCurve, show_place
from carve.check.judge import at_least
from carve.check.reading.keys import PLACE
from carve.check.reading.wood_in_space import ACROSS
from carve.check.tolerances import WOOD
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.neck.shape import NeckShape
from carve.shape.planar.rounded_polygon import to_chain

BEFORE = 15.0  # mm before the nut that still belong to the place where necks break
STEP = 0.5  # mm between the places that are looked at
FACE_CHORD = 0.001  # mm


@looks_at(each=NeckShape, keys=("limits.wood_behind_nut", *PLACE))
def check(job: Job) -> Iterator[Finding]:
    """One finding for a neck with a headstock: the thinnest place, and the wood along it."""
    limit, unit = job.design.limits.wood_behind_nut, job.design.units
    for part in job.parts_with_shape(NeckShape):
        if part.shape.head is None:
            continue
        x, solid, over_channels, points = around_nut(part.shape)
        wood = np.minimum(solid, over_channels)
        thinnest = int(np.argmin(wood))
        judged = at_least(float(wood[thinnest]), limit, tolerance=WOOD)
        channels = (
            f", {show_length(float(over_channels.min()), unit)} under the truss rod's channel"
        )
        yield judged.finding(
            part=part.name,
            name="wood-behind-nut",
            check="wood behind the nut",
            place=show_place(job.design, float(x[thinnest])),
            point=points[thinnest],
            source="limits.wood_behind_nut; common practice",
            advice=f"{show_length(judged.missing, unit)} more is needed there: add a volute, or "
            "make the headstock thicker, the neck thicker at its first station, or the channel "
            "shallower",
            detail=f"{show_length(float(solid.min()), unit)} from back to face on the centre line"
            + (channels if np.isfinite(over_channels).any() else ""),
            curve=FindingCurve("wood behind the nut", x, wood),
        )


def around_nut(shape: NeckShape) -> tuple[Array, Array, Array, Array]:
    """Wood from where the headstock's back is flat to a little before the nut.

    Returns x (n,) mm; (n,) mm from the keel there to the face or the glue plane, in space;
    (n,) mm from the nearest point of the section there to the floor of a channel, infinite
    without one, negative where it comes out; and the points (n, 3) of the keel.
    """
    if shape.head is None:
        raise ValueError("a neck without a headstock has nothing behind the nut")
    count = int(np.ceil((BEFORE - shape.start) / STEP)) + 1
    x = np.linspace(shape.start, BEFORE, count)
    keel = shape.outside(x, np.zeros(1))[:, 0]
    face = shape.head.face_chain(FACE_CHORD)
    top = np.vstack([[[shape.length, 0.0]], face])
    solid = to_chain(keel[:, [0, 2]], top)
    over = np.full(len(x), np.inf)
    back = shape.outside(x, ACROSS)
    flat = back.reshape(-1, 3)
    for channel in shape.channels:
        if channel.start > BEFORE:
            continue
        away = channel.to_floor(flat)
        away = np.where(channel.holds(flat), -away, away).reshape(len(x), -1)
        over = np.minimum(over, away.min(axis=1))
    return x, solid, over, keel
