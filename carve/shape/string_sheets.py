"""The strings as tables for the bench, and as a drawing from above."""

import numpy as np

from carve.arrays import Array
from carve.design.board_plan import BoardPlan
from carve.design.units import MM_PER_INCH, Unit, show_length
from carve.shape.drawing import Drawing, Line, Words
from carve.shape.sheet import Sheet
from carve.shape.string_heights import StringHeights
from carve.shape.strings import StringLayout, bow_under, cone_radius

BEYOND = 8.0  # mm that the centre line runs out of the drawing


def layout_sheet(
    layout: StringLayout, heights: StringHeights | None, half_nut: float, unit: Unit
) -> Sheet:
    """Where each string lies at nut and bridge, and how high its nut slot is cut.

    heights: None where the design has no action. half_nut: mm, of the board at the nut.
    """
    head = ["string from the bass"]
    columns = [[str(number + 1) for number in range(layout.count)]]
    for name, values in (
        ("diameter", layout.gauges if layout.gauges.any() else None),
        ("nut, from the bass edge", layout.nut + half_nut),
        ("nut, from the string before", np.diff(layout.nut, prepend=np.nan)),
        ("bridge, from the centre line", layout.bridge),
        ("bridge, from the string before", np.diff(layout.bridge, prepend=np.nan)),
        ("nut slot above the board", None if heights is None else heights.nut_slots),
        ("saddle above the glue plane", None if heights is None else heights.saddles),
    ):
        if values is not None:
            head.append(f"{name} ({unit})")
            columns.append(_figures(values, unit))
    return Sheet("string layout", tuple(head), tuple(zip(*columns, strict=True)))


def radius_sheet(layout: StringLayout, plan: BoardPlan, unit: Unit) -> Sheet:
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
    return Sheet("radius along the fretboard", head, tuple(zip(*columns, strict=True)))


def _figures(values: Array, unit: Unit, decimals: int = 3) -> list[str]:
    per, digits = (MM_PER_INCH, decimals + 1) if unit == "in" else (1.0, decimals)
    rounded = np.round(np.asarray(values) / per, digits) + 0.0  # no "-0.000"
    return ["" if np.isnan(value) else f"{value:.{digits}f}" for value in rounded]


def strings_drawing(layout: StringLayout, plan: BoardPlan, title: str, unit: Unit) -> Drawing:
    """Strings and board from above, strings' side up: x to the right, treble side at the top."""
    ends = np.array([plan.start, plan.end])
    half = plan.nut_half + plan.flare * ends
    board = np.array(
        [[ends[0], -half[0]], [ends[1], -half[1]], [ends[1], half[1]], [ends[0], half[0]]]
    )
    lines = [Line(board, "other part", closed=True, layer="board")]
    for nut, bridge in zip(layout.nut, layout.bridge, strict=True):
        lines.append(Line(np.array([[0.0, nut], [layout.length, bridge]]), layer="strings"))
    for x, y, layer in ((0.0, layout.nut, "nut"), (layout.length, layout.bridge, "bridge")):
        across = np.array([[x, y[0] - 3.0], [x, y[-1] + 3.0]])
        lines.append(Line(across, "cut", layer=layer))
    axis = np.array([[plan.start - BEYOND, 0.0], [layout.length + BEYOND, 0.0]])
    lines.append(Line(axis, "centre line", layer="centre line"))
    nut, bridge = layout.spread(np.array([0.0, layout.length]))
    return Drawing(
        title=title,
        note=f"{layout.count} strings, {show_length(float(nut), unit)} between the outer ones' "
        f"middles at the nut, {show_length(float(bridge), unit)} at the bridge",
        lines=tuple(lines),
        words=(
            Words("nut", 0.0, float(half[0]) + 5.0),
            Words("bridge", layout.length, float(layout.bridge[-1]) + 6.0),
        ),
    )
