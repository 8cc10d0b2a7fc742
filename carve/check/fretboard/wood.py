"""Wood left between the fretboard's glue face and what is cut into it from above.

Read off the mesh: the lowest point of each kind of cut. Under slots that follow the radius
that is at the edges, where board and slot lie lowest.
"""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding, show_place
from carve.check.judge import at_least
from carve.check.reading.keys import PLACE
from carve.check.tolerances import WOOD
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.fretboard.shape import FretboardShape
from carve.solid.fretboard import MARKERS, NUT_SLOT, SLOTS

KEYS = {
    SLOTS: "fretboard.slots.depth",
    MARKERS: "fretboard.markers.depth",
    NUT_SLOT: "fretboard.nut_slot.depth",
}


@looks_at(each=FretboardShape, keys=("limits.board_under_slots", *PLACE))
def check(job: Job) -> Iterator[Finding]:
    """A finding for each kind of cut that the board has."""
    limit, unit = job.design.limits.board_under_slots, job.design.units
    for part in job.parts_with_shape(FretboardShape):
        for name, key in KEYS.items():
            if name not in part.mesh.names:
                continue
            points = part.mesh.only(name).points
            lowest = points[np.argmin(points[:, 2])]
            wood, aside = float(lowest[2]), abs(float(lowest[1]))
            judged = at_least(wood, limit, tolerance=WOOD)
            through = wood <= WOOD
            yield judged.finding(
                part=part.name,
                name=f"wood-under-cut:{key.split('.')[1]}",
                check=f"wood under the {name}",
                place=f"{show_place(job.design, float(lowest[0]))}, "
                f"{show_length(aside, unit)} from the centre line",
                point=lowest,
                source="limits.board_under_slots; common practice",
                advice=f"make {key} {show_length(judged.missing, unit)} less, or the board that "
                "much thicker (fretboard.thickness)",
                detail="it comes out of the glue face" if through else "",
            )
