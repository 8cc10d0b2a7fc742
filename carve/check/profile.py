"""The profile at each station as asked, measured on the mesh and not on the formula."""

from collections.abc import Iterator

import numpy as np

from carve.check.finding import Finding, Verdict
from carve.design.models import Station
from carve.design.profile import show_profile
from carve.design.units import show_length
from carve.shape.neck import NeckShape
from carve.solid.measure import slice_at, to_segments
from carve.solid.mesh import Mesh
from carve.solid.parts import Built, Job

ORDER = 30
NUDGE = 1e-7  # mm; a slice at the very end of a part takes its plane this far inside


def check(job: Job) -> Iterator[Finding]:
    """Two findings a station: its thickness, and how far its outline is off."""
    for part in job.having(NeckShape):
        back = part.mesh.only("back")
        for number, station in enumerate(job.design.neck.stations):
            yield from _at_station(job, part, back, number, station)


def _at_station(
    job: Job, part: Built[NeckShape], back: Mesh, number: int, station: Station
) -> Iterator[Finding]:
    limit, unit = job.design.limits.profile, job.design.units
    x = job.design.place(station.at)
    inside = float(np.clip(x, NUDGE, part.shape.length - NUDGE))
    outline = slice_at(back, inside)
    keel = outline.reshape(-1, 2)[np.argmin(outline[..., 1])]
    thickness = part.shape.board - float(keel[1])
    off = abs(thickness - station.thickness)
    place = station.at.show(unit)
    yield Finding(
        part=part.name,
        check=f"thickness at {place}",
        verdict=Verdict.GOOD if off <= limit else Verdict.FAILED,
        value=thickness,
        target=station.thickness,
        limit=limit,
        sense="within",
        place=place,
        point=(x, float(keel[0]), float(keel[1])),
        source=f"neck.stations[{number}].thickness, limits.profile; common practice",
        advice="" if off <= limit else "export with a smaller chord error",
    )
    asked = part.shape.section(x, 41)
    away = to_segments(asked, outline)
    worst = int(np.argmax(away))
    width = float(np.ptp(outline[..., 0]))
    yield Finding(
        part=part.name,
        check=f"profile at {place}",
        verdict=Verdict.GOOD if away[worst] <= limit else Verdict.FAILED,
        value=float(away[worst]),
        limit=limit,
        sense="at most",
        place=place,
        point=(x, float(asked[worst, 0]), float(asked[worst, 1])),
        source=f"neck.stations[{number}].shape, limits.profile; common practice",
        advice="" if away[worst] <= limit else "export with a smaller chord error",
        detail=f"{show_profile(station.shape)}, {show_length(width, unit)} wide",
    )
