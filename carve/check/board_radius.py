"""The radius of the playing surface as asked, by a circle laid through sections of the mesh."""

from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.check.board_reading import BESIDE, gauged_radius, section_at
from carve.check.finding import Finding, Verdict
from carve.design.circle import sagitta
from carve.design.units import show_length
from carve.shape.fretboard import FretboardShape
from carve.solid.fretboard import NUT_END, SURFACE
from carve.solid.parts import Built, Job

ORDER = 31


def check(job: Job) -> Iterator[Finding]:
    """A finding at the nut, at the 12th fret and at the last one."""
    for part in job.having(FretboardShape):
        slots, top = part.shape.plan.board.slots, part.mesh.only(SURFACE)
        aside = BESIDE + (slots.width / 2 if slots else 0.0)
        for place, fret, way in _places(part.shape):
            x = fret + way * aside  # a gauge is laid beside a slot, not over it
            # and square to the centre line: at a slanted nut where the whole width is there
            x = max(x, float(part.mesh.only(NUT_END).points[:, 0].max()) + BESIDE)
            section = section_at(top, x)
            asked = float(part.shape.radius(np.array([x]))[0])
            if np.isfinite(asked):
                yield _radius(job, part, place, x, section, asked)
            else:
                yield _flatness(job, part, place, x, section)


def _places(shape: FretboardShape) -> Iterator[tuple[str, float, int]]:
    """What the places are called, where they are in mm, and to which side there is surface."""
    yield "at the nut", 0.0, 1
    count = len(shape.frets)
    if count > 12:
        yield "at fret 12", float(shape.frets[11]), 1
    if count:
        yield f"at fret {count}", float(shape.frets[-1]), 1
    else:
        yield "at the board's end", shape.end, -1


def _radius(
    job: Job, part: Built[FretboardShape], place: str, x: float, section: Array, asked: float
) -> Finding:
    error, half = job.design.limits.board_surface, float(np.ptp(section[:, 0])) / 2
    found = gauged_radius(section)
    # what the radius may be off follows from what the edges may be off: R = (h^2 + s^2) / 2 s
    fall = sagitta(asked, half) + error
    limit = asked - (half**2 + fall**2) / (2 * fall)
    off = abs(found - asked)
    return Finding(
        part=part.name,
        check=f"radius {place}",
        verdict=Verdict.GOOD if off <= limit else Verdict.FAILED,
        value=found,
        target=asked,
        limit=limit,
        sense="within",
        place=place,
        point=(x, 0.0, part.shape.thickness),
        source="fretboard.radius, limits.board_surface; common practice",
        advice="" if off <= limit else "export with a smaller chord error",
        detail=f"gauged {show_length(x, job.design.units)} from the nut",
    )


def _flatness(
    job: Job, part: Built[FretboardShape], place: str, x: float, section: Array
) -> Finding:
    limit = job.design.limits.board_surface
    off = float(np.abs(section[:, 1] - part.shape.thickness).max())
    return Finding(
        part=part.name,
        check=f"flatness {place}",
        verdict=Verdict.GOOD if off <= limit else Verdict.FAILED,
        value=off,
        limit=limit,
        sense="at most",
        place=place,
        point=(x, 0.0, part.shape.thickness),
        source="fretboard.radius, limits.board_surface; common practice",
        advice="" if off <= limit else "export with a smaller chord error",
    )
