"""The builder's drawings: as long as measured on paper, and which small gaps were closed."""

from collections.abc import Iterator

from carve.check.finding import Finding, Verdict
from carve.design.derived.outline_choice import page_of
from carve.design.schema.headstock import DrawnHead
from carve.design.schema.outline import OutlineFile, outlines_in
from carve.design.values.quote import quoted
from carve.design.values.tolerances import LENGTH_AGREES
from carve.parts.job import Job
from carve.shape.outlines.placed import placed
from carve.shape.planar.curves import curve_extent


def check(job: Job) -> Iterator[Finding]:
    """Two findings an outline that comes from a drawing."""
    for key, outline in outlines_in(job.design):
        if outline.file is not None and outline.length is not None:
            yield from _of_drawing(job, key, outline, outline.length)


def _of_drawing(job: Job, key: str, outline: OutlineFile, length: float) -> Iterator[Finding]:
    assert outline.file is not None
    unit = job.design.units
    found = placed(outline, "headstock" if isinstance(outline, DrawnHead) else "body")
    low, high = curve_extent(found.outline)
    long, part = float(high[0] - low[0]), key.partition(".")[0]
    yield Finding(
        part=part,
        check="drawing's length",
        verdict=Verdict.GOOD,  # a drawing that disagrees is refused before there is a part
        value=long,
        target=length,
        limit=LENGTH_AGREES * length,
        sense="within",
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
    yield Finding(
        part=part,
        check="gaps closed in the drawing",
        verdict=Verdict.GOOD if widest is None else Verdict.WARNING,
        value=widest.width if widest is not None else 0.0,
        limit=outline.gap,
        sense="at most",
        place=place or outline.file.name,
        source=f"{key}.gap; common practice",
        advice=advice,
        detail=detail,
    )
