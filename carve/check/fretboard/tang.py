"""Whether the slots are deep enough for the fretwire's tang, all the way across."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.reading.board import BESIDE, MeshSlot, fret_slots, section_along
from carve.check.tolerances import MEASURED
from carve.design.values.fan import SlantedLine
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.fretboard.shape import FretboardShape
from carve.solid.fretboard import SURFACE
from carve.solid.mesh import Mesh


@looks_at(each=FretboardShape, keys=("fretboard.slots", "units"))
def check(job: Job) -> Iterator[Finding]:
    """One finding where the tang's depth is given: the shallowest place of all slots."""
    slots, unit = job.design.fretboard.slots, job.design.units
    if slots is None or slots.tang is None:
        return
    for part in job.parts_with_shape(FretboardShape):
        top = part.mesh.only(SURFACE)
        depth, x, y, z = min(_shallowest(top, slot) for slot in fret_slots(part.mesh))
        judged = at_least(depth, slots.tang, tolerance=part.chord_error + MEASURED)
        yield judged.finding(
            part=part.name,
            name="slot-depth",
            check="slots deeper than the tang",
            place=f"{show_length(x, unit)} from the nut, {show_length(abs(y), unit)} from the "
            "centre line",
            point=(x, y, z),
            source="fretboard.slots.tang, give or take the chord error",
            advice=_advice(show_length(judged.missing, unit), flat=slots.floor == "flat"),
        )


def _shallowest(top: Mesh, slot: MeshSlot) -> tuple[float, float, float, float]:
    """Depth, x, y and z in mm where a slot is least deep below the surface beside it."""
    beside = section_along(top, SlantedLine(slot.far + BESIDE, slot.slant))
    y, z = slot.floor.T
    depth = np.interp(y, beside[:, 0], beside[:, 1]) - z
    at = int(np.argmin(depth))
    return float(depth[at]), slot.line.x(float(y[at])), float(y[at]), float(z[at])


def _advice(missing: str, *, flat: bool) -> str:
    deeper = f"make fretboard.slots.depth {missing} more"
    return f'{deeper}, or fretboard.slots.floor "radius"' if flat else deeper
