"""How straight the playing surface is along the strings, and which cone would be straight.

On a cone whose rulings are the strings' paths it is straight; on a cylinder, or on a cone
with a radius of one's own at each end, it bows. Frets are levelled along the strings, so
what it bows here is what a file takes off there.
"""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict, show_place
from carve.check.judge import at_most
from carve.check.reading.keys import PLACE
from carve.check.reading.stringing import string_name
from carve.check.tolerances import ROUNDING
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.fretboard.shape import FretboardShape
from carve.shape.fretboard.strings import bow_under, cone_radius, strings_of_design

STEPS = 257  # along the board; the bow is a smooth arc


@looks_at(each=FretboardShape, keys=("limits.string_bow", *PLACE))
def check(job: Job) -> Iterator[Finding]:
    """One finding where strings are laid and the board is round: the greatest bow."""
    design, limit, unit = job.design, job.design.limits.string_bow, job.design.units
    if design.strings is None:
        return
    layout = strings_of_design(design, design.strings)
    for part in job.parts_with_shape(FretboardShape):
        nut_radius = part.shape.plan.radius
        if nut_radius is None:
            continue
        last = part.shape.plan.last_fret or part.shape.end
        x = np.linspace(0.0, last, STEPS)
        radius = part.shape.radius(x)
        bow = bow_under(layout, x, radius)
        string, at = np.unravel_index(int(np.argmax(np.abs(bow))), bow.shape)
        value, y = round(float(bow[string, at]), 9), layout.y(x)[string, at]
        nut, bridge = layout.spread(np.array([0.0, layout.length]))
        cone = cone_radius(x[-1:], nut_radius, float(nut), float(bridge), layout.length)
        yield at_most(abs(value), limit, tolerance=ROUNDING, missed=Verdict.WARNING).finding(
            part=part.name,
            name="surface-along-strings",
            check="surface along the strings",
            place=f"{string_name(int(string), layout.count)}, {show_place(design, float(x[at]))}",
            point=(float(x[at]), float(y), float(part.shape.height(x[at], y))),
            source="limits.string_bow; common practice",
            advice="level the frets along the strings, or let the radius follow them "
            '(fretboard.radius = { nut = ..., follow = "strings" })',
            detail=f"{_bent(value)}; radius at "
            f"{'the last fret' if len(part.shape.frets) else 'the end'} "
            f"{show_length(float(radius[-1]), unit)}, of the cone that follows the strings "
            f"{show_length(float(cone[0]), unit)}",
        )


def _bent(bow: float) -> str:
    if bow == 0:
        return "straight"
    return "a hollow" if bow > 0 else "a rise"
