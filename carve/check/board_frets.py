"""Fret places measured on the mesh, by the walls of its slots, against the exact ones."""

from collections.abc import Iterator

import numpy as np

from carve.check.board_reading import fret_slots
from carve.check.finding import Finding, Verdict
from carve.design.units import show_length
from carve.shape.fretboard import FretboardShape
from carve.shape.frets import fret_places
from carve.solid.parts import Job

ORDER = 32


def check(job: Job) -> Iterator[Finding]:
    """Two findings where slots are cut: their number, and the one furthest from its place."""
    board, limits, unit = job.design.fretboard, job.design.limits, job.design.units
    for part in job.having(FretboardShape):
        if board.slots is None:
            continue
        exact = fret_places(np.array(board.ratios()), job.design.scale_length)
        names = [f"fret {number}" for number in range(1, len(exact) + 1)]
        if board.nut == "zero fret":
            exact, names = np.r_[0.0, exact], ["the zero fret", *names]
        found = fret_slots(part.mesh)
        complete = len(found) == len(exact)
        yield Finding(
            part=part.name,
            check="fret slots in the mesh",
            verdict=Verdict.GOOD if complete else Verdict.FAILED,
            value=len(found),
            target=len(exact),
            limit=0,
            sense="within",
            quantity="count",
            place="whole board",
            source="fretboard.frets",
            advice="" if complete else "please report this design as a fault of the program",
        )
        if not complete:
            continue
        off = np.array([slot.middle for slot in found]) - exact
        worst = int(np.argmax(np.abs(off)))
        good = abs(off[worst]) <= limits.fret_places
        widest = max(slot.far - slot.near for slot in found)
        yield Finding(
            part=part.name,
            check="fret places",
            verdict=Verdict.GOOD if good else Verdict.FAILED,
            value=abs(float(off[worst])),
            limit=limits.fret_places,
            sense="at most",
            place=names[worst],
            point=(float(exact[worst]), 0.0, part.shape.thickness),
            source="L (1 - 1/ratio), limits.fret_places; common practice",
            advice="" if good else "please report this design as a fault of the program",
            detail=f"{names[-1]} {show_length(found[-1].middle, unit)} from the nut, slots "
            f"{show_length(widest, unit)} wide",
        )
