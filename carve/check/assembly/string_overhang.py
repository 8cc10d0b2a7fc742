"""The outer strings well inside the fretboard's edges, from nut to the board's end."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict, show_place
from carve.check.judge import at_least
from carve.check.reading.keys import BOARD
from carve.check.tolerances import STRING
from carve.design.derived.board_plan import board_plan
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.fretboard.strings import strings_of_design


@looks_at(keys=("limits.overhang", "units", *BOARD))
def check(job: Job) -> Iterator[Finding]:
    """Two findings where strings are laid: the least distance from either edge.

    String and edge are straight, so the least is at one end of the board.
    """
    design = job.design
    if design.strings is None:
        return
    plan, limit, unit = board_plan(design), design.limits.overhang, design.units
    layout = strings_of_design(design, design.strings)
    for number, (name, gauge, start) in enumerate(
        zip(("bass", "treble"), layout.gauges[[0, -1]], layout.starts[[0, -1]], strict=True)
    ):
        x = np.array([float(start), plan.end])
        half = plan.nut_half + plan.flare * x
        away = layout.overhang(x, half)[number]
        end = int(np.argmin(away))
        value = float(away[end])
        missed = Verdict.FAILED if value <= 0 else Verdict.WARNING
        judged = at_least(value, limit, tolerance=STRING, missed=missed)
        sign = -1.0 if name == "bass" else 1.0
        yield judged.finding(
            part="assembly",
            name=f"string-overhang:{name}",
            check=f"outer {name} string inside the board's edge",
            place=show_place(design, float(x[1])) + ", at the board's end" if end else "at the nut",
            point=(float(x[end]), sign * float(half[end] - value), plan.board.thickness),
            source="limits.overhang; common practice",
            advice=f"move the string {show_length(judged.missing, unit)} inward there "
            + (
                "(strings.bridge_spread, strings.bridge_offset)"
                if end
                else f"(strings.nut_edge_{name})"
            )
            + ", or make the neck wider",
            detail=f"{show_length(float(away[0]), unit)} at the nut, "
            f"{show_length(float(away[1]), unit)} at the board's end"
            + (
                f"; beside the string itself {show_length(value - float(gauge) / 2, unit)}"
                if gauge
                else ""
            ),
        )
