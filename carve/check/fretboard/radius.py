"""The radius of the playing surface as asked, by a circle laid through sections of the mesh."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import FINER, Finding
from carve.check.judge import at_most, within
from carve.check.reading.board import BESIDE, gauged_radius, section_along
from carve.check.tolerances import MEASURED
from carve.design.values.circle import sagitta
from carve.design.values.fan import SlantedLine
from carve.design.values.units import show_length
from carve.parts.job import Job, Part
from carve.shape.fretboard.shape import FretboardShape
from carve.solid.fretboard import SURFACE


@looks_at(each=FretboardShape, keys=("limits.board_surface", "units"))
def check(job: Job) -> Iterator[Finding]:
    """A finding at the nut, at the 12th fret and at the last one."""
    for part in job.parts_with_shape(FretboardShape):
        slots, top = part.shape.plan.board.slots, part.mesh.only(SURFACE)
        aside = BESIDE + (slots.width / 2 if slots else 0.0)
        for place in _places(part.shape):
            # a gauge is laid beside a slot, not over it; beside a slanted one it follows it, and
            # what it reads is seen along the neck, as the radius is meant
            x = place.line.at + place.way * aside * place.line.stretch()
            section = section_along(top, SlantedLine(x, place.line.slant))
            asked = float(part.shape.radius(np.array([x]))[0])
            if np.isfinite(asked):
                yield _radius(job, part, place, x, section, asked)
            else:
                yield _flatness(job, part, place, x, section)


@dataclass(frozen=True)
class _Place:
    """Where a gauge is laid.

    name: as findings' names have it. said: in words. line: from above. way: 1 where there is
    surface behind the line, -1 where there is surface before it.
    """

    name: str
    said: str
    line: SlantedLine
    way: int = 1


def _places(shape: FretboardShape) -> Iterator[_Place]:
    lines = shape.plan.lines
    yield _Place("nut", "at the nut", shape.plan.nut)
    count = len(lines)
    if count > 12:
        yield _Place("fret-12", "at fret 12", lines[11])
    if count:
        yield _Place("last-fret", f"at fret {count}", lines[-1])
    else:
        yield _Place("end", "at the board's end", SlantedLine(shape.end, 0.0), way=-1)


def _radius(
    job: Job, part: Part[FretboardShape], place: _Place, x: float, section: Array, asked: float
) -> Finding:
    error, half = job.design.limits.board_surface, float(np.ptp(section[:, 0])) / 2
    found = gauged_radius(section)
    # what the radius may be off follows from what the edges may be off: R = (h^2 + s^2) / 2 s
    fall = sagitta(asked, half) + error
    limit = asked - (half**2 + fall**2) / (2 * fall)
    return within(found, asked, limit, tolerance=MEASURED).finding(
        part=part.name,
        name=f"radius:{place.name}",
        check=f"radius {place.said}",
        place=place.said,
        point=(x, 0.0, part.shape.thickness),
        source="fretboard.radius, limits.board_surface; common practice",
        advice=FINER,
        detail=f"gauged {show_length(x, job.design.units)} from the nut",
    )


def _flatness(
    job: Job, part: Part[FretboardShape], place: _Place, x: float, section: Array
) -> Finding:
    off = float(np.abs(section[:, 1] - part.shape.thickness).max())
    return at_most(off, job.design.limits.board_surface, tolerance=MEASURED).finding(
        part=part.name,
        name=f"flatness:{place.name}",
        check=f"flatness {place.said}",
        place=place.said,
        point=(x, 0.0, part.shape.thickness),
        source="fretboard.radius, limits.board_surface; common practice",
        advice=FINER,
    )
