"""The radius of the playing surface as asked, by a circle laid through sections of the mesh."""

from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import FINER, Finding
from carve.check.judge import at_most, within
from carve.check.reading.board import BESIDE, gauged_radius, section_along
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
        for name, place, line, way in _places(part.shape):
            # a gauge is laid beside a slot, not over it; beside a slanted one it follows it, and
            # what it reads is seen along the neck, as the radius is meant
            x = line.at + way * aside * line.stretch()
            section = section_along(top, SlantedLine(x, line.slant))
            asked = float(part.shape.radius(np.array([x]))[0])
            if np.isfinite(asked):
                yield _radius(job, part, (name, place), x, section, asked)
            else:
                yield _flatness(job, part, (name, place), x, section)


def _places(shape: FretboardShape) -> Iterator[tuple[str, str, SlantedLine, int]]:
    """Name and words for each place, where it is, and to which side there is surface."""
    lines = shape.plan.lines
    yield "nut", "at the nut", shape.plan.nut, 1
    count = len(lines)
    if count > 12:
        yield "fret-12", "at fret 12", lines[11], 1
    if count:
        yield "last-fret", f"at fret {count}", lines[-1], 1
    else:
        yield "end", "at the board's end", SlantedLine(shape.end, 0.0), -1


def _radius(
    job: Job,
    part: Part[FretboardShape],
    place: tuple[str, str],
    x: float,
    section: Array,
    asked: float,
) -> Finding:
    """place: its name and its words."""
    error, half = job.design.limits.board_surface, float(np.ptp(section[:, 0])) / 2
    found = gauged_radius(section)
    # what the radius may be off follows from what the edges may be off: R = (h^2 + s^2) / 2 s
    fall = sagitta(asked, half) + error
    limit = asked - (half**2 + fall**2) / (2 * fall)
    name, said = place
    return within(found, asked, limit).finding(
        part=part.name,
        name=f"radius:{name}",
        check=f"radius {said}",
        place=said,
        point=(x, 0.0, part.shape.thickness),
        source="fretboard.radius, limits.board_surface; common practice",
        advice=FINER,
        detail=f"gauged {show_length(x, job.design.units)} from the nut",
    )


def _flatness(
    job: Job, part: Part[FretboardShape], place: tuple[str, str], x: float, section: Array
) -> Finding:
    """place: its name and its words."""
    off = float(np.abs(section[:, 1] - part.shape.thickness).max())
    name, said = place
    return at_most(off, job.design.limits.board_surface).finding(
        part=part.name,
        name=f"flatness:{name}",
        check=f"flatness {said}",
        place=said,
        point=(x, 0.0, part.shape.thickness),
        source="fretboard.radius, limits.board_surface; common practice",
        advice=FINER,
    )
