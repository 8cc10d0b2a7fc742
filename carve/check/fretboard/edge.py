"""The fretboard's thickness at its edges, where the radius has fallen away most."""

from collections.abc import Iterator

import numpy as np

from carve.check.finding import Finding, Verdict, show_place
from carve.check.reading.board import edge_points
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.fretboard.shape import FretboardShape


def check(job: Job) -> Iterator[Finding]:
    """One finding: the least thickness along both edges, read off the mesh."""
    limit, unit = job.design.limits.board_edge, job.design.units
    for part in job.parts_with_shape(FretboardShape):
        edge = edge_points(part.mesh)
        thinnest = edge[np.argmin(edge[:, 2])]
        missing = limit - float(thinnest[2])
        thin = missing > 1e-9
        yield Finding(
            part=part.name,
            check="thickness at the edges",
            verdict=Verdict.FAILED if thin else Verdict.GOOD,
            value=float(thinnest[2]),
            limit=limit,
            sense="at least",
            place=show_place(job.design, float(thinnest[0])),
            point=(float(thinnest[0]), float(thinnest[1]), float(thinnest[2])),
            source="limits.board_edge; common practice",
            advice=f"make the board {show_length(missing, unit)} thicker (fretboard.thickness) or "
            "its radius flatter (fretboard.radius)"
            if thin
            else "",
            detail=f"{show_length(float(edge[:, 2].max()), unit)} where it is thickest",
        )
