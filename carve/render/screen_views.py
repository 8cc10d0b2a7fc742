"""Drawings as SVG for a screen: small ones in a row, a large one fitted, lines over a picture."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from carve.arrays import Array
from carve.render.svg_elements import (
    FILLED,
    FOOT,
    HEADING,
    MARGIN,
    NOTE_SIZE,
    THIN,
    TITLE_SIZE,
    WOOD,
    chain,
    circle,
    file_text,
    number_pairs,
    scale_bar,
    text,
    words_in_drawing,
)
from carve.shape.views.kit.drawing import Drawing, extent

SCREEN_WIDTH = 218.0  # mm, width of a drawing beside the lab's dials
LETTER_WIDTH = 0.5  # of the size of words: what a letter takes, digits and spaces among them
BAR, LONG_BAR = 10.0, 100.0  # mm, length of the bar that says the scale


def row_of_drawings(drawings: Sequence[Drawing], scale: float = 1.0) -> str:
    """Drawings side by side, all at one scale, with a bar to measure the scale by.

    Returns the text of an SVG file; its width and height are in mm.
    """
    boxes = [extent(drawing) for drawing in drawings]
    columns = [_column(drawing, box) for drawing, box in zip(drawings, boxes, strict=True)]
    width = sum(columns)
    tallest = max((float(high[1] - low[1]) for low, high in boxes), default=0.0)
    height = tallest + 2 * MARGIN + HEADING + FOOT
    parts = []
    left = 0.0
    for drawing, (low, high), across in zip(drawings, boxes, columns, strict=True):
        shift_x = left + across / 2 - float(low[0] + high[0]) / 2
        shift_y = HEADING + MARGIN + float(high[1])
        parts += _heading(drawing, left + across / 2)
        parts += _contents(drawing, shift_x, shift_y)
        left += across
    parts.append(scale_bar(width / 2 - BAR / 2, height - 4, scale, BAR))
    return file_text(width, height, scale, parts)


def fitted_to_screen(drawing: Drawing, width: float = SCREEN_WIDTH) -> str:
    """One drawing on a screen, as large as it can be in a width and no larger than it is.

    width: mm. Words and strokes keep their size, and the bar says the scale.
    Returns the text of an SVG file; its width and height are in mm.
    """
    low, high = extent(drawing)
    across, tall = (float(size) for size in high - low)
    scale = min(1.0, (width - 2 * MARGIN) / across)
    shift_x = MARGIN - float(low[0]) * scale
    shift_y = HEADING + MARGIN + float(high[1]) * scale
    bar = LONG_BAR if across >= LONG_BAR else BAR
    height = tall * scale + 2 * MARGIN + HEADING + FOOT
    parts = _heading(drawing, across * scale / 2 + MARGIN)
    parts += _contents(_scaled(drawing, scale), shift_x, shift_y)
    parts.append(scale_bar(MARGIN, height - 4, round(scale, 4), bar, bar * scale))
    return file_text(max(across * scale + 2 * MARGIN, MARGIN + bar), height, 1.0, parts)


def overlay(drawing: Drawing, placed: Callable[[Array], Array]) -> str:
    """A drawing's lines and circles alone, thin and unfilled, to lay over a picture.

    placed: from points (n, 2) in mm to the picture's own coordinates, y downward.
    """
    look = 'stroke-width="0.2" fill="none"'
    chains = [
        f"<{'polygon' if line.closed else 'polyline'} "
        f'points="{number_pairs(placed(line.points), 2)}" {THIN[line.style]} {look}/>'
        for line in drawing.lines
    ]
    rounds = []
    for found in drawing.circles:
        middle_and_rim = np.array([[found.x, found.y], [found.x + found.radius, found.y]])
        (x, y), (rim, _) = placed(middle_and_rim)
        rounds.append(
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{rim - x:.2f}" {THIN[found.style]} {look}/>'
        )
    return "".join((*chains, *rounds))


def _heading(drawing: Drawing, middle: float) -> list[str]:
    return [
        text(drawing.title, middle, 3.5, TITLE_SIZE),
        text(drawing.note, middle, 7.5, NOTE_SIZE),
    ]


def _contents(drawing: Drawing, shift_x: float, shift_y: float) -> list[str]:
    lines = [chain(line, shift_x, shift_y, FILLED[line.style]) for line in drawing.lines]
    rounds = [circle(one, shift_x, shift_y, FILLED[one.style]) for one in drawing.circles]
    words = [words_in_drawing(w, w.x + shift_x, shift_y - w.y, WOOD) for w in drawing.words]
    return [*lines, *rounds, *words]


def _scaled(drawing: Drawing, scale: float) -> Drawing:
    """The drawing with its places scaled; strokes and words keep their size."""
    return replace(
        drawing,
        lines=tuple(replace(line, points=line.points * scale) for line in drawing.lines),
        circles=tuple(
            replace(one, x=one.x * scale, y=one.y * scale, radius=one.radius * scale)
            for one in drawing.circles
        ),
        words=tuple(replace(one, x=one.x * scale, y=one.y * scale) for one in drawing.words),
    )


def _column(drawing: Drawing, box: tuple[Array, Array]) -> float:
    """Width in mm that a drawing takes in a row: its own, or its words' where they are longer."""
    low, high = box
    words = max(TITLE_SIZE * len(drawing.title), NOTE_SIZE * len(drawing.note)) * LETTER_WIDTH
    return max(float(high[0] - low[0]) + 2 * MARGIN, words + MARGIN)
