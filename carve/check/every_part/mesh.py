"""Each mesh closed, oriented, close to its shape and as large as its sections say."""

from collections.abc import Iterator

import numpy as np

from carve.check.finding import OUR_FAULT, Finding, Verdict
from carve.parts.job import Job
from carve.solid.mesh import volume


def check(job: Job) -> Iterator[Finding]:
    """Three findings a part: soundness, chord error, and volume by two independent ways."""
    for part in job.parts:
        # what counts is the mesh in the file, with its 32-bit coordinates
        mesh, state = part.written, part.state
        faults = state.open_edges + state.flat + state.twins
        yield Finding(
            part=part.name,
            check="mesh closed and oriented",
            verdict=Verdict.GOOD if state.sound else Verdict.FAILED,
            value=faults,
            limit=0,
            sense="at most",
            quantity="count",
            place="whole part",
            source="3MF Core Specification 1.4.0, section 4.1",
            advice="" if state.sound else OUR_FAULT,
            detail=f"{len(mesh.triangles)} triangles; {state.open_edges} open edges, "
            f"{state.flat} without area, {state.twins} twice",
        )
        near = part.chord_error <= part.chord_bound
        yield Finding(
            part=part.name,
            check="chord error",
            verdict=Verdict.GOOD if near else Verdict.FAILED,
            value=part.chord_error,
            limit=part.chord_bound,
            sense="at most",
            place="whole part",
            source="the chord error asked for",
            advice="" if near else OUR_FAULT,
        )
        meshed, integral = volume(mesh), part.integral
        # a skin that is nowhere further than e from the shape misses at most e times its area;
        # a flat part has no chord error, but its 32-bit coordinates are rounded all the same
        rounding = float(np.spacing(np.float32(np.abs(mesh.points).max())))
        limit = (part.chord_error + rounding) * float(mesh.doubled_areas.sum()) / 2
        equal = abs(meshed - integral) <= limit
        yield Finding(
            part=part.name,
            check="volume",
            verdict=Verdict.GOOD if equal else Verdict.FAILED,
            value=meshed,
            target=integral,
            limit=limit,
            sense="within",
            quantity="volume",
            place="whole part",
            source="integral of the sections' areas, give or take chord error times skin",
            advice="" if equal else OUR_FAULT,
        )
