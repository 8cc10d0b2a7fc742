"""The carved top under the bridge against the height that the side view computes with."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import within
from carve.check.reading.carved_faces import CUT_AWAY, carved_faces
from carve.check.reading.keys import CARVED_FACES, SIDE_VIEW
from carve.check.tolerances import MEASURED
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.frames import moved
from carve.shape.assembly.side_view import side_view
from carve.shape.body.shape import BodyShape


@looks_at(each=BodyShape, keys=("limits.arch_at_bridge", "units", *SIDE_VIEW, *CARVED_FACES))
def check(job: Job) -> Iterator[Finding]:
    """One finding where the top is carved and there is a side view."""
    design, side = job.design, side_view(job.design)
    if side is None:
        return
    limit, unit = design.limits.arch_at_bridge, design.units
    for face in carved_faces(job):
        if face.name != "top":
            continue
        over = side.playing
        contact = float(over.string(side.action).height(np.array([over.saddle]))[0])
        x = float(moved(np.array([[over.saddle, 0.0, contact]]), side.to_body())[0, 0])
        heights, gone = face.read(np.array([[x, 0.0]]))
        height = float(heights[0])
        yield within(height, side.top, limit, tolerance=MEASURED).finding(
            part="assembly",
            name="arch-at-bridge",
            check="arch under the bridge",
            place=f"{show_length(x, unit)} from the body's edge, on the centre line",
            point=face.point(x, 0.0, height),
            source="bridge.top_height, limits.arch_at_bridge; common practice",
            advice=f"the arch is {show_length(height, unit)} high there and bridge.top_height says "
            f"{show_length(side.top, unit)}; leave bridge.top_height out, and it follows",
            detail=CUT_AWAY if gone[0] else "",
        )
