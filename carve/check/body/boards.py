"""The boards that a body's blank is glued up of: whether each is wide enough."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.tolerances import BLANK
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.solid.body import SIDES


@looks_at(each=BodyShape, keys=("body.blank", "units"))
def check(job: Job) -> Iterator[Finding]:
    """One finding for a body whose blank is glued up, or has a joint on the centre line.

    With a joint on the centre line each side takes half of the boards, and the wider side says
    how wide they are. Otherwise the body lies in the middle of the blank.
    """
    body, unit = job.design.body, job.design.units
    if body is None or body.blank is None or body.blank.boards < 2:
        return
    blank = body.blank
    for part in job.parts_with_shape(BodyShape):
        y = part.mesh.only(SIDES).points[:, 1]
        centred = blank.joint == "centre line"
        wide = 2 * float(np.abs(y).max()) if centred else float(np.ptp(y))
        needed = (wide + 2 * blank.allowance) / blank.boards
        judged = at_least(blank.width / blank.boards, needed, tolerance=BLANK)
        yield judged.finding(
            part=part.name,
            name="board-width",
            check="width of each board of the blank",
            place=f"{blank.boards} boards side by side",
            source="the body's width and body.blank.allowance; common practice",
            advice=f"take boards {show_length(judged.missing, unit)} wider, so a blank of at least "
            f"{show_length(needed * blank.boards, unit)} (body.blank.width)",
            detail=f"the wider side is {show_length(wide / 2, unit)} from the glue line"
            if centred
            else f"the body is {show_length(wide, unit)} wide",
        )
