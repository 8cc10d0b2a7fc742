"""The profile at each station as asked, measured on the mesh and not on the formula.

A station that lies on the heel says what the shaft runs toward. No caliper finds that there, since
the heel's own back is there; so it is measured where the shaft ends.
"""

from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import FINER, Finding
from carve.check.judge import at_most, within
from carve.check.reading.keys import SCALE
from carve.check.tolerances import MEASURED
from carve.design.schema.design import Station
from carve.design.values.profile import show_profile
from carve.design.values.units import show_length
from carve.parts.job import Job, Part
from carve.shape.neck.finish import BARE, NeckFilm
from carve.shape.neck.heel_blend import SAME_PLACE
from carve.shape.neck.shape import NeckShape
from carve.solid.measure import slice_at, to_segments
from carve.solid.mesh import Mesh

NUDGE = 1e-7  # mm; a slice at the very end of a part takes its plane this far inside


@looks_at(each=NeckShape, keys=("limits.profile", "neck.stations", "units", *SCALE))
def check(job: Job) -> Iterator[Finding]:
    """Two findings a station: its thickness, and how far its outline is off."""
    for part in job.parts_with_shape(NeckShape):
        back = part.mesh.only("back")
        for number, station in enumerate(job.design.neck.stations):
            yield from _at_station(job, part, back, number, station)


def _at_station(
    job: Job, part: Part[NeckShape], back: Mesh, number: int, station: Station
) -> Iterator[Finding]:
    limit, unit = job.design.limits.profile, job.design.units
    at = job.design.place(station.at)
    x = min(at, part.shape.shaft_end)
    on_heel = at > x + SAME_PLACE
    asked_for = float(part.shape.thickness(np.array([x]))[0]) if on_heel else station.thickness
    inside = float(np.clip(x, NUDGE, part.shape.length - NUDGE))
    outline = slice_at(back, inside)
    keel = outline.reshape(-1, 2)[np.argmin(outline[..., 1])]
    film = part.shape.film
    thickness = part.shape.board - float(keel[1]) + film.back + film.board_top
    place = station.at.show(unit)
    toward = f"{show_length(x, unit)} from the nut, where the shaft ends" if on_heel else place
    yield within(thickness, asked_for, limit, tolerance=MEASURED).finding(
        part=part.name,
        name=f"thickness:stations[{number}]",
        check=f"thickness {'toward' if on_heel else 'at'} {place}",
        place=toward,
        point=(x, float(keel[0]), float(keel[1])),
        source=f"neck.stations[{number}].thickness, limits.profile; common practice",
        advice=FINER,
        detail=f"{place} lies on the heel; the shaft runs toward "
        f"{show_length(station.thickness, unit)} there"
        if on_heel
        else "",
    )
    # wood + film = asked: the mesh must lie one film, square to the surface, within what is asked
    whole = part.shape.finished().section(x, 41)
    # across a slanted nut there is wood on one side of its line only
    asked = whole[part.shape.nut_slant * whole[:, 0] <= inside + 1e-9]
    away = np.abs(to_segments(asked, outline) - _film(asked, film))
    worst = int(np.argmax(away))
    cut = len(asked) < len(whole)
    width = float(np.ptp(whole[:, 0])) if cut else float(np.ptp(outline[..., 0])) + 2 * film.sides
    yield at_most(float(away[worst]), limit, tolerance=MEASURED).finding(
        part=part.name,
        name=f"profile:stations[{number}]",
        check=f"profile {'toward' if on_heel else 'at'} {place}",
        place=toward,
        point=(x, float(asked[worst, 0]), float(asked[worst, 1])),
        source=f"neck.stations[{number}].shape, limits.profile; common practice",
        advice=FINER if film == BARE else f"{FINER}, or lay a thinner film (finish.films)",
        detail=("" if on_heel else f"{show_profile(station.shape)}, ")
        + f"{show_length(width, unit)} wide"
        + (", finished" if film != BARE else "")
        + (", beyond the slanted nut" if cut else ""),
    )


def _film(section: Array, film: NeckFilm) -> Array:
    """(n,) film in mm along a section (n, 2): the sides' where it faces sideways, the back's below.

    Between them by the square of the normal's parts, which is even where both are.
    """
    along = np.gradient(section, axis=0)
    level = along[:, 0] ** 2 / (along**2).sum(axis=1)
    return np.asarray(film.back * level + film.sides * (1 - level))
