"""Wood left through a carved body, everywhere: the least of the whole map."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.reading.places import show_body_place
from carve.check.tolerances import WOOD
from carve.design.values.units import show_length
from carve.parts.body import wood_of
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape
from carve.shape.plate.carved_face import MAP_STEP


@looks_at(each=BodyShape, keys=("limits.carved_wood", "units"))
def check(job: Job) -> Iterator[Finding]:
    """One finding for a body with a carved face."""
    limit, unit = job.design.limits.carved_wood, job.design.units
    for part in job.parts_with_shape(BodyShape):
        if not part.shape.carvings:
            continue
        values, (x0, y0) = wood_of(part.shape)
        wood = np.where(values > 0, values, np.inf)  # nan beside the body, 0 where a hole is meant
        row, column = np.unravel_index(int(np.argmin(wood)), wood.shape)
        least = float(wood[row, column])
        x, y = x0 + MAP_STEP * float(column), y0 + MAP_STEP * float(row)
        judged = at_least(least, limit, tolerance=WOOD)
        yield judged.finding(
            part=part.name,
            name="carved-wood",
            check="wood left through the carved body",
            place=show_body_place(job.design, x, y),
            point=(x, y, 0.0),
            source="limits.carved_wood; common practice",
            advice=f"{show_length(judged.missing, unit)} more is needed: make what is cut there "
            "shallower, the arch higher or the body thicker",
            detail=f"along z, on a map of {job.design.show(MAP_STEP)}",
        )
