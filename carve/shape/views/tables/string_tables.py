"""The strings as tables for the bench, and as a drawing from above."""

import numpy as np

from carve.arrays import Array
from carve.design.derived.board_plan import BoardPlan
from carve.design.values.fan import SlantedLine
from carve.design.values.units import MM_PER_INCH, Unit, show_length
from carve.shape.assembly.string_heights import StringHeights
from carve.shape.fretboard.strings import StringLayout, bow_under, cone_radius
from carve.shape.views.kit.drawing import Drawing, Line, Words
from carve.shape.views.kit.table import DataTable

PLAN_OVERRUN = 8.0  # mm that the centre line runs out of the drawing


def string_layout_table(
    layout: StringLayout, heights: StringHeights | None, plan: BoardPlan, unit: Unit
) -> DataTable:
    """Where each string lies at nut and bridge, and how high its nut slot is cut.

    heights: None where the design has no action. A slanted nut is marked off along itself.
    """
    edge, stretch = plan.edges(plan.nut, finished=True)[0], plan.nut.stretch()
    along = "along it " if layout.slanted else ""
    head = ["string from the bass"]
    columns = [[str(number + 1) for number in range(layout.count)]]
    for name, values in (
        ("diameter", layout.gauges if layout.gauges.any() else None),
        (f"nut, {along}from the bass edge", (layout.nut - edge) * stretch),
        (f"nut, {along}from the string before", np.diff(layout.nut, prepend=np.nan) * stretch),
        ("bridge, from the centre line", layout.bridge),
        ("bridge, from the string before", np.diff(layout.bridge, prepend=np.nan)),
        ("nut, along the centre line", layout.starts if layout.slanted else None),
        ("saddle, along the centre line", layout.ends if layout.slanted else None),
        ("own scale length, along the string", layout.scales if layout.slanted else None),
        ("nut slot above the board", None if heights is None else heights.nut_slots),
        ("saddle above the glue plane", None if heights is None else heights.saddles),
    ):
        if values is not None:
            head.append(f"{name} ({unit})")
            columns.append(_figures(values, unit))
    return DataTable("string layout", tuple(head), tuple(zip(*columns, strict=True)))


def board_radius_table(layout: StringLayout, plan: BoardPlan, unit: Unit) -> DataTable:
    """The board's radius along it beside that of the cone that follows the strings.

    Both have the design's radius at the nut. The bow is how far the board lies below
    straight under each outer string, from nut to the board's end.
    """
    nut_radius = 0.0 if plan.radius is None else plan.radius
    x = np.array([0.0, *plan.frets, plan.end])
    radius = nut_radius + plan.growth * x
    nut, bridge = layout.spread(np.array([0.0, layout.length]))
    cone = cone_radius(x, nut_radius, float(nut), float(bridge), layout.length)
    bow = bow_under(layout, x, radius)
    names = ["nut", *(f"fret {number + 1}" for number in range(len(plan.frets))), "end"]
    columns = [names, *(_figures(v, unit) for v in (x, radius, cone, radius - cone))]
    columns += [_figures(v, unit, 4) for v in (bow[0], bow[-1])]
    head = (
        "at",
        f"from nut ({unit})",
        f"radius ({unit})",
        f"cone through the strings ({unit})",
        f"difference ({unit})",
        f"below straight under the outer bass string ({unit})",
        f"below straight under the outer treble string ({unit})",
    )
    return DataTable("radius along the fretboard", head, tuple(zip(*columns, strict=True)))


def _scales_said(layout: StringLayout, unit: Unit) -> str:
    bass, treble = (show_length(float(scale), unit) for scale in layout.scales[[0, -1]])
    return f"; scale length {bass} bass, {treble} treble"


def _figures(values: Array, unit: Unit, decimals: int = 3) -> list[str]:
    per, digits = (MM_PER_INCH, decimals + 1) if unit == "in" else (1.0, decimals)
    rounded = np.round(np.asarray(values) / per, digits) + 0.0  # no "-0.000"
    return ["" if np.isnan(value) else f"{value:.{digits}f}" for value in rounded]


def strings_drawing(layout: StringLayout, plan: BoardPlan, title: str, unit: Unit) -> Drawing:
    """Strings and board from above, strings' side up: x to the right, treble side at the top."""
    (near_bass, near_treble), (far_bass, far_treble) = (
        [(line.x(y), y) for y in plan.edges(line, finished=True)]
        for line in (plan.nut_end, SlantedLine(plan.end, 0.0))
    )
    board = np.array([near_bass, far_bass, far_treble, near_treble])
    lines = [Line(board, "other part", closed=True, layer="board")]
    for start, nut, end, bridge in zip(
        layout.starts, layout.nut, layout.ends, layout.bridge, strict=True
    ):
        lines.append(Line(np.array([[start, nut], [end, bridge]]), layer="strings"))
    for line, y, layer in (
        (layout.nut_line, layout.nut, "nut"),
        (layout.saddle_line, layout.bridge, "bridge"),
    ):
        low, high = float(y[0]) - 3.0, float(y[-1]) + 3.0
        across = np.array([[line.x(low), low], [line.x(high), high]])
        lines.append(Line(across, "cut", layer=layer))
    if layout.slanted:  # the fan is what one wants to see
        for fret in plan.lines:
            ends = np.array([[fret.x(y), y] for y in plan.edges(fret, finished=True)])
            lines.append(Line(ends, "centre line", layer="fret lines"))
    axis = np.array([[plan.start - PLAN_OVERRUN, 0.0], [layout.length + PLAN_OVERRUN, 0.0]])
    lines.append(Line(axis, "centre line", layer="centre line"))
    nut, bridge = (float(y[-1] - y[0]) for y in (layout.nut, layout.bridge))
    return Drawing(
        title=title,
        note=f"{layout.count} strings, {show_length(nut, unit)} between the outer ones' "
        f"middles at the nut, {show_length(bridge, unit)} at the bridge"
        + (_scales_said(layout, unit) if layout.slanted else ""),
        lines=tuple(lines),
        words=(
            Words("nut", layout.nut_line.x(near_treble[1]), near_treble[1] + 5.0),
            Words("bridge", float(layout.ends[-1]), float(layout.bridge[-1]) + 6.0),
        ),
        treble="up",
    )
