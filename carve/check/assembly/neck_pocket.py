"""The neck in the body's pocket, with room for glue, once both are finished."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_least, at_most, first_missed
from carve.check.reading.keys import SCALE
from carve.check.reading.meeting import NUDGE
from carve.check.tolerances import WOOD
from carve.design.values.units import show_length
from carve.parts.job import Job, Part
from carve.shape.neck.finish import pocket_width, room_in_pocket
from carve.shape.neck.shape import NeckShape
from carve.solid.measure import slice_at


@looks_at(each=NeckShape, keys=("limits.pocket_play", "joint", "finish", "units", *SCALE))
def check(job: Job) -> Iterator[Finding]:
    """One finding where the design says how wide the pocket is cut."""
    joint, finish = job.design.joint, job.design.finish
    if joint is None or joint.pocket_width is None:
        return
    unit, play = job.design.units, job.design.limits.pocket_play
    x = job.design.place(joint.at)
    on_neck = 0.0 if finish is None else finish.on("neck sides")
    on_walls = 0.0 if finish is None else finish.on("pocket walls")
    for part in job.parts_with_shape(NeckShape):
        wood = _width(part, _in_pocket(part.shape, x))
        room = room_in_pocket(joint.pocket_width, wood, on_neck, on_walls)
        right = pocket_width(wood, on_neck, on_walls, joint.glue_line)
        judged = first_missed(
            at_least(room, joint.glue_line, tolerance=WOOD),
            at_most(room, joint.glue_line + play, tolerance=WOOD, missed=Verdict.WARNING),
        )
        loose = judged.sense == "at most"
        yield judged.finding(
            part="assembly",
            name="room-beside-neck",
            check="room beside the neck in its pocket",
            place=f"{show_length(x, unit)} from the nut, at the body's edge, on each side",
            point=(x, wood / 2, 0.0),
            source="joint.glue_line"
            + (" and limits.pocket_play" if loose else "")
            + "; common practice",
            advice=f"cut the pocket {show_length(right, unit)} wide there (joint.pocket_width)",
            detail=f"neck's wood {show_length(wood, unit)}, film {show_length(on_neck, unit)} on "
            f"its sides and {show_length(on_walls, unit)} on the pocket's walls",
        )


def _in_pocket(shape: NeckShape, x: float) -> float:
    """Where what stands in the pocket begins: of a tenon behind its shoulders, in mm."""
    heel = shape.heel
    return max(x, heel.start + NUDGE) if heel is not None and heel.shouldered else x


def _width(part: Part[NeckShape], x: float) -> float:
    """Width of the neck's wood at the glue face in mm, on the mesh."""
    return float(np.ptp(slice_at(part.mesh.only("glue face"), x)[..., 0]))
