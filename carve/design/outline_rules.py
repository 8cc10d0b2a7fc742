"""What an outline's keys must agree on, with one another and with the drawing."""

from collections.abc import Iterator

from carve.design.outline_choice import candidates, centre_line, page_of
from carve.design.outline_file import OutlineFile, outlines_in
from carve.design.quoting import quoted
from carve.design.table import Table
from carve.design.units import Unit
from carve.errors import DesignError

_OF_A_DRAWING = ("layer", "curve", "unit", "length", "centre_layer", "centre_at", "edge_at")


def outline_contradictions(table: Table) -> Iterator[str]:
    """Every contradiction in the outlines of a design."""
    unit: Unit = getattr(table, "units", "mm")
    for key, outline in outlines_in(table):
        found = list(_contradictions(key, outline))
        yield from found
        if not found and outline.file is not None and outline.file.drawn is not None:
            try:
                page = page_of(outline, key)
                candidates(page, outline, key, unit)
                if outline.centre_layer is not None:
                    centre_line(page, outline.centre_layer, key)
            except DesignError as error:
                yield from error.problems


def _contradictions(key: str, outline: OutlineFile) -> Iterator[str]:
    if outline.file is None and outline.points is None:
        yield f"{key}: missing; give `file`, a drawing of your own, or `points`"
    elif outline.file is not None and outline.points is not None:
        yield f"{key}.points: the outline comes from {quoted(outline.file.name)}; leave one out"
    elif outline.points is not None:
        for name in _OF_A_DRAWING:
            if getattr(outline, name) is not None:
                yield f"{key}.{name}: is for a drawing; with `points` leave it out"
    else:
        if outline.smooth:
            yield f"{key}.smooth: is for `points`; a drawing has its own curves"
        if outline.length is None:
            yield (
                f"{key}.length: missing; measure the outline along the instrument on paper, so "
                "that the drawing's scale is proven"
            )
        if (outline.centre_layer is None) == (outline.centre_at is None):
            yield (
                f"{key}.centre_layer: give either the layer with the centre line, or `centre_at`, "
                "where on the page it runs"
            )
