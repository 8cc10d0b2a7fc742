"""Each mesh closed, oriented, close to its shape and as large as its sections say."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import EVERY_PART, looks_at
from carve.check.finding import OUR_FAULT, Finding
from carve.check.judge import at_most, within
from carve.check.tolerances import ROUNDING
from carve.parts.job import Job
from carve.solid.mesh import volume


@looks_at(each=EVERY_PART)
def check(job: Job) -> Iterator[Finding]:
    """Three findings a part: soundness, chord error, and volume by two independent ways."""
    for part in job.parts:
        # what counts is the mesh in the file, with its 32-bit coordinates
        mesh, state = part.written, part.state
        faults = state.open_edges + state.flat + state.twins
        yield at_most(faults, 0, tolerance=ROUNDING).finding(
            part=part.name,
            name="mesh-closed",
            check="mesh closed and oriented",
            quantity="count",
            place="whole part",
            source="3MF Core Specification 1.4.0, section 4.1",
            advice=OUR_FAULT,
            detail=f"{len(mesh.triangles)} triangles; {state.open_edges} open edges, "
            f"{state.flat} without area, {state.twins} twice",
        )
        yield at_most(part.chord_error, part.chord_bound, tolerance=ROUNDING).finding(
            part=part.name,
            name="chord-error",
            check="chord error",
            place="whole part",
            source="the chord error asked for",
            advice=OUR_FAULT,
        )
        # a skin that is nowhere further than e from the shape misses at most e times its area;
        # a flat part has no chord error, but its 32-bit coordinates are rounded all the same
        rounding = float(np.spacing(np.float32(np.abs(mesh.points).max())))
        limit = (part.chord_error + rounding) * float(mesh.doubled_areas.sum()) / 2
        yield within(volume(mesh), part.integral, limit, tolerance=ROUNDING).finding(
            part=part.name,
            name="volume",
            check="volume",
            quantity="volume",
            place="whole part",
            source="integral of the sections' areas, give or take chord error times skin",
            advice=OUR_FAULT,
        )
