"""Where curvature jumps along the neck: the eye sees it in a reflection, the thumb feels it."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import OUR_FAULT, Finding, show_place
from carve.check.judge import at_most
from carve.check.reading.keys import PLACE
from carve.check.tolerances import CURVATURE, ROUNDING
from carve.parts.job import Job
from carve.shape.neck.curvature import LineCurvature, curvatures
from carve.shape.neck.shape import NeckShape


@looks_at(each=NeckShape, keys=PLACE)
def check(job: Job) -> Iterator[Finding]:
    """One finding for a neck: how often curvature jumps along its lines, and where most."""
    for part in job.parts_with_shape(NeckShape):
        lines = curvatures(part.shape)
        line, x, most, count = worst_jump(lines)
        named = ", ".join(line.name for line in lines)
        yield at_most(count, 0, tolerance=ROUNDING).finding(
            part=part.name,
            name="curvature-jumps",
            check="jumps of curvature",
            place=show_place(job.design, x) if count else "along the neck",
            source="a smooth shape has none",
            advice=OUR_FAULT,
            quantity="count",
            detail=f"along {named}" + (f"; most by {most:.2g} per mm in {line}" if count else ""),
        )


def worst_jump(lines: tuple[LineCurvature, ...]) -> tuple[str, float, float, int]:
    """The line that jumps most, where in mm, by how much per mm, and how many jumps there are."""
    name, place, most, count = "", 0.0, 0.0, 0
    for line in lines:
        x, jumps = line.jumps()
        count += int((jumps > CURVATURE).sum())
        if len(jumps) and jumps.max() > most:
            name, place, most = line.name, float(x[int(np.argmax(jumps))]), float(jumps.max())
    return name, place, most, count
