"""What an outline's keys must agree on, with one another and with the drawing."""

import math
from collections.abc import Iterator, Sequence

from carve.design.derived.outline_choice import candidates, hold_centre, page_of
from carve.design.schema.outline import Hand, OutlineFile, outlines_in
from carve.design.schema.table import Table
from carve.design.values.curve import Point
from carve.design.values.tolerances import TINY
from carve.design.values.units import Unit, show_length
from carve.errors import DesignError

_OF_A_DRAWING = (
    "layer",
    "curve",
    "unit",
    "length",
    "handed",
    "centre_layer",
    "centre_at",
    "edge_at",
)


def outline_contradictions(table: Table) -> Iterator[str]:
    """Every contradiction in the outlines of a design."""
    unit: Unit = getattr(table, "units", "mm")
    handed: Hand = getattr(table, "handed", "right")
    for key, outline in outlines_in(table):
        found = list(_contradictions(key, outline, unit, handed))
        yield from found
        if not found and outline.file is not None and outline.file.drawn is not None:
            try:
                page = page_of(outline, key)
                candidates(page, outline, key, unit)
                if outline.centre_layer is not None:
                    hold_centre(page, outline.centre_layer, key)
            except DesignError as error:
                yield from error.problems


def _contradictions(key: str, outline: OutlineFile, unit: Unit, handed: Hand) -> Iterator[str]:
    ways = _ways(outline)
    given = [name for name in ways if getattr(outline, name) is not None]
    if not given:
        yield f"{key}: missing; give {_either(ways)}"
        return
    if len(given) > 1:
        yield (
            f"{key}.{given[-1]}: the outline comes from `{given[0]}` already; give one of "
            f"{_either(ways)}"
        )
        return
    if outline.smooth and outline.points is None:
        yield f"{key}.smooth: is for `points`; leave it out with `{given[0]}`"
    if outline.file is None:
        for name in _OF_A_DRAWING:
            if getattr(outline, name) is not None:
                yield f"{key}.{name}: is for a drawing; with `{given[0]}` leave it out"
        yield from too_near(f"{key}.points", outline.points or (), unit)
        return
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
    if handed == "left" and outline.handed is None:
        yield (
            f'{key}.handed: missing; the instrument is left-handed (handed): write "left" if the '
            'drawing shows it so, or "right" if it is to be mirrored'
        )


def _ways(outline: OutlineFile) -> list[str]:
    """The keys of which one says where an outline comes from."""
    ways = ("file", "points", "bouts")
    return [name for name in ways if name in type(outline).model_fields]


def _either(ways: Sequence[str]) -> str:
    """Keys and what they are, in words."""
    means = {"file": ", a drawing of your own", "points": "", "bouts": ", a few measures"}
    named = [f"`{name}`{means[name]}" for name in ways]
    return f"{', '.join(named[:-1])}, or {named[-1]}"


def too_near(key: str, points: Sequence[Point], unit: Unit) -> Iterator[str]:
    """Neighbours of a closed chain of points that are one place, or nearly."""
    for number, (one, other) in enumerate(zip(points, (*points[1:], *points[:1]), strict=True)):
        apart = math.dist(one, other)
        if apart < TINY:
            yield (
                f"{key}: points {number + 1} and {(number + 1) % len(points) + 1} are "
                f"{show_length(apart, unit)} apart; at least {show_length(TINY, unit)}, the last "
                "and the first among them"
            )
