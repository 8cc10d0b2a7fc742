"""How straight the playing surface is along the outer strings, and what would be straight.

On a cone whose rulings are the strings' paths it is straight; on a cylinder, or on a cone
with a radius of one's own at each end, it bows. Frets are levelled along the strings, so
what it bows here is what a file takes off there.
"""

from collections.abc import Iterator

import numpy as np

from carve.check.finding import Finding, Verdict, show_place
from carve.design.units import show_length
from carve.shape.fretboard import FretboardShape
from carve.solid.parts import Job

ORDER = 34
SIDES = ("bass", "treble")


def check(job: Job) -> Iterator[Finding]:
    """One finding where strings are laid and the board is round: the greatest bow."""
    limit, unit = job.design.limits.string_bow, job.design.units
    for part in job.having(FretboardShape):
        shape, plan = part.shape, part.shape.plan
        if plan.radius is None or not plan.outer:
            continue
        sides = [
            (name, *shape.bow_along(*way)) for name, way in zip(SIDES, plan.outer, strict=True)
        ]
        name, x, bow = max(sides, key=lambda side: float(np.abs(side[2]).max()))
        worst = int(np.argmax(np.abs(bow)))
        good = abs(bow[worst]) <= limit
        (bass, bass_drift), (treble, treble_drift) = plan.outer
        last = plan.last_fret or shape.end
        follows = plan.radius * (1 + (treble_drift - bass_drift) / (treble - bass) * last)
        has = float(shape.radius(np.array([last]))[0])
        yield Finding(
            part=part.name,
            check="surface along the outer strings",
            verdict=Verdict.GOOD if good else Verdict.WARNING,
            value=abs(float(bow[worst])),
            limit=limit,
            sense="at most",
            place=f"under the outer {name} string, {show_place(job.design, float(x[worst]))}",
            point=(float(x[worst]), *_on_board(shape, name, float(x[worst]))),
            source="limits.string_bow; common practice",
            advice=""
            if good
            else "level the frets along the strings, or let the radius follow them "
            '(fretboard.radius = { nut = ..., follow = "strings" })',
            detail=f"{'a rise' if bow[worst] > 0 else 'a hollow'}; radius at the last fret "
            f"{show_length(has, unit)}, of the cone that follows the strings "
            f"{show_length(follows, unit)}",
        )


def _on_board(shape: FretboardShape, name: str, x: float) -> tuple[float, float]:
    place, drift = shape.plan.outer[SIDES.index(name)]
    y = place + drift * x
    return y, float(shape.height(np.array([x]), np.array([y]))[0])
