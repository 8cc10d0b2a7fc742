"""The heights to cut at nut and saddle, string by string."""

from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_least, at_most
from carve.check.reading.keys import SIDE_VIEW
from carve.check.reading.stringing import lengths, string_name
from carve.check.tolerances import STRING
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.frames import moved
from carve.shape.assembly.side_view import SideView, side_view
from carve.shape.assembly.string_heights import StringHeights, string_heights


@looks_at(
    keys=(
        "limits.first_fret_clearance_most",
        "limits.strings_over_body",
        "units",
        *SIDE_VIEW,
    )
)
def check(job: Job) -> Iterator[Finding]:
    """The nut where there are strings, action and frets; the saddle where there is a joint."""
    found, side = string_heights(job.design), side_view(job.design)
    if found is None:
        return
    if len(found.frets):
        yield _nut(job, found)
    if side is not None:
        yield _saddle(job, found, side)


def _nut(job: Job, found: StringHeights) -> Finding:
    limit, unit = job.design.limits.first_fret_clearance_most, job.design.units
    over_first = found.open[:, 0]
    highest = int(np.argmax(over_first))
    judged = at_most(float(over_first[highest]), limit, tolerance=STRING, missed=Verdict.WARNING)
    low = show_length(judged.missing, unit)
    return judged.finding(
        part="assembly",
        name="nut-height",
        check="nut height, over the 1st fret",
        place=string_name(highest, found.layout.count),
        point=(
            float(found.layout.starts[highest]),
            float(found.layout.nut[highest]),
            float(found.at_nut[highest]),
        ),
        source="limits.first_fret_clearance_most; common practice",
        advice=f"lower the string by {low} there (action.nut_height)",
        detail="slots above the fretboard's surface, bass to treble: "
        + lengths(found.nut_slots, unit),
    )


def _saddle(job: Job, found: StringHeights, side: SideView) -> Finding:
    limit, unit = job.design.limits.strings_over_body, job.design.units
    heights = over_body(found, side)
    lowest = int(np.argmin(heights))
    judged = at_least(float(heights[lowest]), limit, tolerance=STRING, missed=Verdict.WARNING)
    places = found.saddle_places
    return judged.finding(
        part="assembly",
        name="strings-over-body",
        check="strings over the body at the saddle",
        place=string_name(lowest, found.layout.count),
        point=(
            float(places[lowest]),
            float(found.layout.y(places[:, None])[lowest, 0]),
            float(found.saddles[lowest]),
        ),
        source="limits.strings_over_body; common practice",
        advice=f"raise the neck {show_length(judged.missing, unit)} (joint.height), or lean it "
        "further back (joint.angle)",
        detail=f"saddle above the body's top, bass to treble: {lengths(heights, unit)}",
    )


def over_body(found: StringHeights, side: SideView) -> Array:
    """(k,) mm of each string's bottom at the saddle above the body's top on the centre line."""
    x = found.saddle_places
    points = np.stack([x, np.zeros_like(x), found.saddles], axis=1)
    return np.asarray(moved(points, side.to_body())[:, 2] - side.top)
