"""The neck's cross-sections as drawings: back, fretboard, and the channel in them."""

import numpy as np

from carve.design.values.units import Unit, show_length
from carve.shape.neck.finish import BARE
from carve.shape.neck.shape import NeckShape
from carve.shape.views.kit.drawing import Drawing, Line, Words
from carve.shape.views.kit.section_cuts import SectionPlane, SectionPlanes


def neck_section_drawing(shape: NeckShape, x: float, title: str, unit: Unit) -> Drawing:
    """The section at x mm from the nut, seen from the nut: treble side right, strings up."""
    back = shape.section(x)
    half = float(shape.half_width(np.array([x]))[0])
    depth, thickness = float(-back[:, 1].min()), float(shape.thickness(np.array([x]))[0])
    width = 2 * (half + shape.film.sides)
    board_half = half + shape.film.narrower
    board = np.array([[-1, 0], [-1, shape.board], [1, shape.board], [1, 0]]) * [board_half, 1]
    lines = [
        Line(back, closed=True),
        Line(board, "other part"),
        Line(np.array([[0, shape.board + 2], [0, -depth - 2]]), "centre line"),
    ]
    for channel in shape.channels:
        floor = float(channel.depth(np.array([x]))[0])
        if floor > 0:
            w = channel.half_width
            lines.append(Line(np.array([[-w, 0], [-w, -floor], [w, -floor], [w, 0]]), "cut"))
    return Drawing(
        title=title,
        note=f"{show_length(thickness, unit)} thick, {show_length(width, unit)} wide"
        + (", finished" if shape.film != BARE else ""),
        lines=tuple(lines),
        words=(
            Words("bass", -half + 5, shape.board + 2.5),
            Words("treble", half - 5, shape.board + 2.5),
        ),
        treble="right",
    )


def neck_cuts(shape: NeckShape, unit: Unit) -> SectionPlanes:
    """The cuts through a neck: square across, anywhere under the fretboard up to the heel."""

    def drawn(cut: SectionPlane) -> Drawing:
        return neck_section_drawing(shape, cut.x, f"neck, {cut.words(unit, 'from the nut')}", unit)

    return SectionPlanes("from the nut", (0.0, min(shape.carved_end, shape.glue_end)), None, drawn)
