"""Whether each part lies inside its blank, with wood to spare on every side."""

from collections.abc import Iterator

from carve.check.finding import Finding, Verdict
from carve.design.units import show_length
from carve.solid.mesh import bounds
from carve.solid.parts import Job

ORDER = 40

_DIRECTIONS = (("length", "along the part"), ("width", "across"), ("thickness", "top to bottom"))


def check(job: Job) -> Iterator[Finding]:
    """Three findings a part with a blank: the wood to spare, the part laid in the middle."""
    unit = job.design.units
    for part in job.parts:
        blank = part.kind.blank(job.design)
        if blank is None:
            continue
        low, high = bounds(part.mesh)
        for axis, (name, where) in enumerate(_DIRECTIONS):
            size, available = float(high[axis] - low[axis]), float(getattr(blank, name))
            spare = (available - size) / 2
            missing = size + 2 * blank.allowance - available
            yield Finding(
                part=part.name,
                check=f"blank, {name}",
                verdict=Verdict.FAILED if missing > 1e-9 else Verdict.GOOD,
                value=spare,
                limit=blank.allowance,
                sense="at least",
                place=f"{where}, on each side",
                source=f"{part.name}.blank.allowance; common practice",
                advice=f"take a blank {show_length(missing, unit)} larger in {name}, at least "
                f"{show_length(available + missing, unit)}, or make the part smaller"
                if missing > 1e-9
                else "",
                detail=f"part {show_length(size, unit)}, blank {show_length(available, unit)}",
            )
