"""The fretboard drawn: from above at true scale for the shop, and its ends to look at."""

from collections.abc import Iterator

import numpy as np

from carve.design.values.units import Unit, show_length
from carve.shape.fretboard.shape import FretboardShape
from carve.shape.views.kit.drawing import AXIS_OVERRUN, Circle, Drawing, Line, Words


def plan_drawing(shape: FretboardShape, title: str, unit: Unit) -> Drawing:
    """The board from above, strings' side up: x to the right, treble side at the top."""
    x, end = np.array([shape.start, shape.end]), shape.plan.end
    wide, narrow = 2 * shape.half_width(x)[::-1]
    return Drawing(
        title=title,
        note=f"{show_length(shape.end - shape.start, unit)} long, "
        f"{show_length(float(narrow), unit)} to {show_length(float(wide), unit)} wide, "
        f"{len(shape.frets)} frets",
        lines=(
            Line(shape.outline(), closed=True, layer="board outline"),
            *_binding(shape),
            *_cuts(shape),
            *_fret_lines(shape),
            Line(
                np.array([[shape.start - AXIS_OVERRUN, 0.0], [end + AXIS_OVERRUN, 0.0]]),
                "centre line",
                layer="centre line",
            ),
        ),
        words=tuple(
            Words(str(number), line.x(treble), treble + 1.2)
            for number, line in enumerate(shape.plan.lines, start=1)
            for _, treble in [shape.plan.edges(line, finished=True)]
        ),
        circles=tuple(Circle(m.x, m.y, m.radius, "cut", "markers") for m in shape.markers),
        treble="up",
    )


def _binding(shape: FretboardShape) -> Iterator[Line]:
    if shape.plan.binding:
        yield Line(shape.finished_outline(), "other part", closed=True, layer="binding outline")


def _cuts(shape: FretboardShape) -> Iterator[Line]:
    for slot in shape.slots:
        yield Line(shape.slot_outline(slot), "cut", closed=True, layer="fret slots")
    if shape.nut_slot is not None:
        yield Line(shape.slot_outline(shape.nut_slot), "cut", closed=True, layer="nut slot")


def _fret_lines(shape: FretboardShape) -> Iterator[Line]:
    """The frets' exact middles, and where the scale starts if the board goes on behind it."""
    plan = shape.plan
    behind = [(plan.nut, "scale start")] if shape.start < 0 else []
    for line, layer in [*behind, *((line, "fret lines") for line in plan.lines)]:
        ends = np.array([[line.x(y), y] for y in plan.edges(line)])
        yield Line(ends, "centre line", layer=layer)


def end_views(shape: FretboardShape, unit: Unit) -> tuple[Drawing, ...]:
    """The board's sections at the nut and at the last fret (its end, without frets)."""
    last = float(shape.frets[-1]) if len(shape.frets) else shape.end
    name = "at the last fret" if len(shape.frets) else "at its end"
    return (
        _end_view(shape, 0.0, "board at the nut", unit),
        _end_view(shape, last, f"board {name}", unit),
    )


def _end_view(shape: FretboardShape, x: float, title: str, unit: Unit) -> Drawing:
    """The section at x, seen from the nut: treble side right, strings up."""
    top = shape.section(x)
    half, edge = float(top[-1, 0]), float(top[0, 1])
    radius = float(shape.radius(np.array([x]))[0])
    said = f"radius {show_length(radius, unit)}" if np.isfinite(radius) else "flat"
    lines = [
        Line(np.vstack([[-half, 0.0], top, [half, 0.0]]), closed=True),
        Line(np.array([[0.0, -2.0], [0.0, shape.thickness + 2.0]]), "centre line"),
    ]
    strip = float(shape.finished_half_width(np.array([x]))[0]) - half
    if strip > 0:
        beside = np.array([[half, 0.0], [half + strip, 0.0], [half + strip, edge], [half, edge]])
        lines += [Line(beside * [side, 1.0], "other part", closed=True) for side in (-1.0, 1.0)]
    for slot in shape.slots:
        # a slanted slot shows on a square section only where it crosses it: it is not drawn
        if abs(slot.line.at - x) < 1e-9 and abs(slot.line.slant) < 1e-9:
            y = np.linspace(*shape.ends(slot, slot.line), 81)
            floor = shape.floor(slot, y)
            inside = floor < shape.height(np.full_like(y, x), y)
            lines.append(Line(np.stack([y[inside], floor[inside]], 1), "other part"))
    return Drawing(
        title=title,
        note=f"{said}, edge {show_length(edge, unit)}",
        lines=tuple(lines),
        words=(
            Words("bass", -half + 5, shape.thickness + 2.5),
            Words("treble", half - 5, shape.thickness + 2.5),
        ),
        treble="right",
    )
