"""Fret places measured on the mesh, by the walls of its slots, against the exact ones."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import OUR_FAULT, Finding
from carve.check.judge import at_most, within
from carve.check.reading.board import MeshSlot, fret_slots
from carve.check.reading.keys import SCALE
from carve.check.tolerances import MEASURED, ROUNDING
from carve.design.schema.design import Design
from carve.design.values.fan import OuterString
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.fretboard.frets import fret_places
from carve.shape.fretboard.shape import FretboardShape


@looks_at(
    each=FretboardShape,
    keys=("limits.fret_places", "fretboard.slots", "fretboard.nut", "units", *SCALE),
)
def check(job: Job) -> Iterator[Finding]:
    """Two findings where slots are cut: their number, and the one furthest from its place.

    Places are measured on the centre line; on a multi-scale board along each outer string,
    from its own nut point, against its own scale.
    """
    board, limits, unit = job.design.fretboard, job.design.limits, job.design.units
    for part in job.parts_with_shape(FretboardShape):
        if board.slots is None:
            continue
        ratios = np.array(board.ratios())
        names = [f"fret {number}" for number in range(1, len(ratios) + 1)]
        if board.nut == "zero fret":
            ratios, names = np.r_[1.0, ratios], ["the zero fret", *names]
        found = fret_slots(part.mesh)
        complete = within(len(found), len(ratios), 0, tolerance=ROUNDING)
        yield complete.finding(
            part=part.name,
            name="fret-slots",
            check="fret slots in the mesh",
            quantity="count",
            place="whole board",
            source="fretboard.frets",
            advice=OUR_FAULT,
        )
        if not complete.good:
            continue
        tracks = _tracks(job.design)
        off = np.array([_along(track, found) for track in tracks]) - [
            fret_places(ratios, track.length) for track in tracks
        ]
        on, worst = np.unravel_index(int(np.argmax(np.abs(off))), off.shape)
        track = tracks[on]
        widest = max(slot.width for slot in found)
        x, y = track.at(1 - 1 / float(ratios[worst]))
        ends = ", ".join(
            f"{show_length(float(_along(each, found[-1:])[0]), unit)} {each.said}"
            for each in tracks
        )
        yield at_most(abs(float(off[on, worst])), limits.fret_places, tolerance=MEASURED).finding(
            part=part.name,
            name="fret-places",
            check="fret places",
            place=names[worst] + (f", {track.name}" if track.name else ""),
            point=(x, y, part.shape.thickness),
            source="L (1 - 1/ratio), limits.fret_places; common practice",
            advice=OUR_FAULT,
            detail=f"{names[-1]} {ends}, slots {show_length(widest, unit)} wide",
        )


@dataclass(frozen=True)
class _Track:
    """A line from nut to saddle on which frets are measured.

    course: the line from above. length: mm, the scale along it. name: in words, empty where there
    is no other. said: where a place on it is measured from, in words.
    """

    course: OuterString
    length: float
    name: str = ""
    said: str = "from the nut"

    def at(self, share: float) -> tuple[float, float]:
        return self.course.at(share)


def _tracks(design: Design) -> tuple[_Track, ...]:
    fan, scale = design.fan, design.scale_length
    if fan is None:
        return (_Track(OuterString((0.0, 0.0), (scale, 0.0)), scale),)
    return tuple(
        _Track(
            course,
            length,
            f"under the outer {name} string",
            f"from the nut along the outer {name} string",
        )
        for name, course, length in (
            ("bass", fan.bass, scale),
            ("treble", fan.treble, design.fretboard.treble_scale_length or scale),
        )
    )


def _along(track: _Track, slots: Sequence[MeshSlot]) -> Array:
    """(n,) mm from the track's start to where it crosses the middles of slots."""
    (x, y), drift = track.course.nut, track.course.drift
    # on the track (x + d, y + drift d), on a slot's middle x' = at + slant y'
    away = [(s.middle + s.slant * y - x) / (1 - s.slant * drift) for s in slots]
    return np.array(away) * math.hypot(1, drift)
