"""The builder's drawings: as long as measured on paper, and which small gaps were closed."""

from collections.abc import Iterator
from dataclasses import replace

from carve.check.declare import looks_at, tables_at, value_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_most, within
from carve.check.tolerances import ROUNDING
from carve.design.derived.outline_choice import page_of
from carve.design.schema.headstock import DrawnHead
from carve.design.schema.outline import OutlineFile
from carve.design.values.quote import quoted
from carve.design.values.tolerances import LENGTH_AGREES
from carve.parts.job import Job


@looks_at(keys=("units", OutlineFile))
def check(job: Job) -> Iterator[Finding]:
    """Two findings an outline that comes from a drawing."""
    for key in tables_at(job.design, OutlineFile):
        outline = value_at(job.design, key)
        if not isinstance(outline, OutlineFile):
            continue
        if outline.file is not None and outline.length is not None:
            yield from _of_drawing(job, key, outline, outline.length)


def _of_drawing(job: Job, key: str, outline: OutlineFile, length: float) -> Iterator[Finding]:
    # loaded for an outline from a drawing alone; most designs have none
    from carve.shape.outlines.placed import placed
    from carve.shape.planar.curves import curve_extent

    assert outline.file is not None
    unit = job.design.units
    found = placed(outline, "headstock" if isinstance(outline, DrawnHead) else "body")
    low, high = curve_extent(found.outline)
    part, _, inner = key.partition(".")
    # never missed: a drawing that disagrees is refused before there is a part
    agrees = within(
        float(high[0] - low[0]),
        length,
        LENGTH_AGREES * length,
        tolerance=ROUNDING,
        missed=Verdict.GOOD,
    )
    yield agrees.finding(
        part=part,
        name=f"drawing-length:{inner}",
        check="drawing's length",
        place=outline.file.name,
        source=f"{key}.length; common practice",
    )
    widest = max(found.gaps, key=lambda gap: gap.width, default=None)
    count = len(found.gaps)
    advice = detail = place = ""
    if widest is not None:
        place = page_of(outline, key).show((widest.x, widest.y), unit)
        advice = f"close it in the drawing, on layer {quoted(widest.layer)}"
        detail = f"{count} gaps were closed, this is the widest" if count > 1 else ""
    width = widest.width if widest is not None else 0.0
    missed = Verdict.GOOD if widest is None else Verdict.WARNING
    yield replace(at_most(width, outline.gap, tolerance=ROUNDING), verdict=missed).finding(
        part=part,
        name=f"drawing-gaps:{inner}",
        check="gaps closed in the drawing",
        place=place or outline.file.name,
        source=f"{key}.gap; common practice",
        advice=advice,
        detail=detail,
    )
