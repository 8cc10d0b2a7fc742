"""The builder's drawings: whether all that is shown on the layers asked for is used."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from carve.check.declare import looks_at, tables_at, value_at
from carve.check.finding import Finding
from carve.check.judge import at_most
from carve.check.tolerances import ROUNDING
from carve.design.schema.design import Design
from carve.design.schema.headstock import DrawnHead
from carve.design.schema.outline import OutlineFile
from carve.design.values.quote import quoted
from carve.design.values.units import Unit, show_length
from carve.parts.job import Job

if TYPE_CHECKING:
    from carve.shape.outlines.left_over import LeftOver

MOST_LISTED = 3  # things that are told one by one


@looks_at(keys=("units", OutlineFile, "body.pockets", "neck.headstock"))
def check(job: Job) -> Iterator[Finding]:
    """One finding an outline that comes from a drawing: what is left over of it."""
    for key in tables_at(job.design, OutlineFile):
        outline = value_at(job.design, key)
        if isinstance(outline, OutlineFile) and outline.file is not None:
            yield _of_drawing(job.design, key, outline, outline.file.name)


def _of_drawing(design: Design, key: str, outline: OutlineFile, file: str) -> Finding:
    # loaded for an outline from a drawing alone; most designs have none
    from carve.shape.outlines.left_over import used_of_drawing

    unit = design.units
    head = isinstance(outline, DrawnHead)
    pockets = [] if head or design.body is None else design.body.pockets
    layers = [pocket.layer for pocket in pockets if pocket.layer is not None]
    used = used_of_drawing(outline, "headstock" if head else "body", layers)
    left = used.left_over

    def said(one: LeftOver) -> str:
        name = f" {quoted(one.name)}" if one.name else ""
        size = f", {' x '.join(show_length(side, unit) for side in one.size)}" if one.size else ""
        where = "" if one.shown is None else f", at {_place(one.shown, unit)}"
        return f"{one.kind}{name}{size}{where}"

    spot = next((one for one in left if one.at is not None), None)
    place = file
    if spot is not None and spot.shown is not None:
        place = f"{file}, {_place(spot.shown, unit)}"
    more = len(left) - MOST_LISTED
    notes = [said(one) for one in left[:MOST_LISTED]] + ([f"and {more} more"] if more > 0 else [])
    notes += [f"{count} not shown in the drawing and not cut: {why}" for why, count in used.hidden]
    if used.twice:
        notes.append(f"the outline is drawn {used.twice + 1} times, and cut once")
    part, _, inner = key.partition(".")
    return at_most(len(left), 0, tolerance=ROUNDING).finding(
        part=part,
        name=f"drawing-used:{inner}",
        check="all of the drawing on its layer is used",
        quantity="count",
        place=place,
        source=f"{key}.{_asks(outline)}; common practice",
        advice=_advice(left, head=head),
        detail="; ".join(notes),
        point=None if spot is None or spot.at is None else _point(design, spot.at, head=head),
    )


def _asks(outline: OutlineFile) -> str:
    """The key that says where in the drawing the outline is."""
    given = (name for name in ("layer", "curve") if getattr(outline, name) is not None)
    return next(given, "file")


def _place(shown: tuple[float, float], unit: Unit) -> str:
    return f"x {show_length(shown[0], unit)}, y {show_length(shown[1], unit)}"


def _advice(left: tuple[LeftOver, ...], *, head: bool) -> str:
    kinds = {one.lies for one in left}
    cut_off = any(one.kind.startswith("curve cut off") for one in left)
    ways = []
    if "within" in kinds and not head:
        ways.append(
            "make pockets of closed curves: put them on a layer of their own, and name it in a "
            '[[body.pockets]] with shape = "drawing"'
        )
    if kinds - {"within"} or head:
        ways.append("put what is not to be cut on another layer")
    if cut_off:
        ways.append("draw a curve that is cut off as it is to be cut")
    return ", or ".join(ways)


def _point(design: Design, at: tuple[float, float], *, head: bool) -> tuple[float, float, float]:
    """A place of the placed frame in that of the meshes."""
    x, y = at
    table = design.neck.headstock
    if not head or table is None:
        return x, y, 0.0
    tilt = math.radians(table.tilt)
    drop = 0.0 if tilt else table.drop
    return -x * math.cos(tilt), y, -drop - x * math.sin(tilt)
