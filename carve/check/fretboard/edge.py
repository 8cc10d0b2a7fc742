"""The fretboard's thickness at its edges, where the radius has fallen away most."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding, show_place
from carve.check.judge import at_least
from carve.check.reading.board import edge_points
from carve.check.reading.keys import PLACE
from carve.check.tolerances import WOOD
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.fretboard.shape import FretboardShape


@looks_at(each=FretboardShape, keys=("limits.board_edge", *PLACE))
def check(job: Job) -> Iterator[Finding]:
    """One finding: the least thickness along both edges, read off the mesh."""
    limit, unit = job.design.limits.board_edge, job.design.units
    for part in job.parts_with_shape(FretboardShape):
        edge = edge_points(part.mesh)
        thinnest = edge[np.argmin(edge[:, 2])]
        judged = at_least(float(thinnest[2]), limit, tolerance=WOOD)
        yield judged.finding(
            part=part.name,
            name="thickness-at-edges",
            check="thickness at the edges",
            place=show_place(job.design, float(thinnest[0])),
            point=thinnest,
            source="limits.board_edge; common practice",
            advice=f"make the board {show_length(judged.missing, unit)} thicker "
            "(fretboard.thickness) or its radius flatter (fretboard.radius)",
            detail=f"{show_length(float(edge[:, 2].max()), unit)} where it is thickest",
        )
