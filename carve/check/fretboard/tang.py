"""Whether the slots are deep enough for the fretwire's tang, all the way across."""

from collections.abc import Iterator

import numpy as np

from carve.check.finding import Finding, Verdict
from carve.check.reading.board import BESIDE, MeshSlot, fret_slots, section_along
from carve.design.values.fan import SlantedLine
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.fretboard.shape import FretboardShape
from carve.solid.fretboard import SURFACE
from carve.solid.mesh import Mesh


def check(job: Job) -> Iterator[Finding]:
    """One finding where the tang's depth is given: the shallowest place of all slots."""
    slots, unit = job.design.fretboard.slots, job.design.units
    if slots is None or slots.tang is None:
        return
    for part in job.parts_with_shape(FretboardShape):
        top = part.mesh.only(SURFACE)
        depth, x, y, z = min(_shallowest(top, slot) for slot in fret_slots(part.mesh))
        missing = slots.tang - depth
        short = missing > part.chord_bound
        yield Finding(
            part=part.name,
            check="slots deeper than the tang",
            verdict=Verdict.FAILED if short else Verdict.GOOD,
            value=depth,
            limit=slots.tang,
            sense="at least",
            place=f"{show_length(x, unit)} from the nut, {show_length(abs(y), unit)} from the "
            "centre line",
            point=(x, y, z),
            source="fretboard.slots.tang, give or take the chord error",
            advice=_advice(show_length(missing, unit), flat=slots.floor == "flat") if short else "",
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
