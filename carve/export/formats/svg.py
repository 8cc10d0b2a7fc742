"""Drawings as SVG at a stated scale. At scale 1 a millimetre is a millimetre.

SVG and CSS fix an inch at 25.4 mm and 96 pixels (CSS Values and Units, absolute lengths).
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from xml.sax.saxutils import escape

import numpy as np

from carve.arrays import Array
from carve.design.values.units import Unit
from carve.shape.views.kit.drawing import Circle, Drawing, Line, Style, Words, extent
from carve.shape.views.kit.paper import BARS, measuring_bar

MARGIN = 4.0  # mm around each drawing
HEADING = 9.0  # mm above each drawing for its title and its figures
FOOT = 6.0  # mm below the drawings for the bar
SCREEN = 218.0  # mm, width of a drawing beside the lab's dials
LETTER = 0.5  # of the size of words: what a letter takes of a line, digits and spaces among them
BAR, LONG_BAR = 10.0, 100.0  # mm, length of the bar to measure a print by

_STROKES: dict[Style, str] = {
    "outline": 'stroke="#222" stroke-width="0.35" fill="#e9d3ab"',
    "cut": 'stroke="#8e111c" stroke-width="0.3" fill="#fff"',
    "other part": 'stroke="#666" stroke-width="0.25" stroke-dasharray="1.5 1" fill="none"',
    "centre line": 'stroke="#888" stroke-width="0.15" stroke-dasharray="4 1 1 1" fill="none"',
    "height": 'stroke="#7a5c33" stroke-width="0.2" fill="none"',
    "main height": 'stroke="#7a5c33" stroke-width="0.45" fill="none"',
}


_THIN: dict[Style, str] = {
    "outline": 'stroke="#000"',
    "cut": 'stroke="#b12520"',
    "other part": 'stroke="#2b6c9b"',
    "centre line": 'stroke="#888"',
    "height": 'stroke="#7a5c33"',
    "main height": 'stroke="#5a3f1b"',
}
_PAPER, _WOOD = "#fff", "#e9d3ab"  # what lies behind words on a line


def template(drawing: Drawing, unit: Unit) -> str:
    """One drawing for the shop at true scale: thin lines, nothing filled, a group a layer.

    unit: of the bar to measure it by, which with its words is a group of its own.
    Returns the text of an SVG file whose units are millimetres.
    """
    low, high = extent(drawing)
    across, tall = (float(size) for size in high - low)
    bar, _, called = BARS[unit]
    width = max(across, bar) + 2 * MARGIN
    height = tall + 2 * MARGIN + HEADING + FOOT
    shift_x, shift_y = MARGIN - float(low[0]), HEADING + MARGIN + float(high[1])
    groups: dict[str, list[str]] = {}
    for line in drawing.lines:
        look = f'{_THIN[line.style]} stroke-width="{_width(line.style)}" fill="none"'
        groups.setdefault(line.layer or line.style, []).append(_chain(line, shift_x, shift_y, look))
    for circle in drawing.circles:
        look = f'{_THIN[circle.style]} stroke-width="0.1" fill="none"'
        groups.setdefault(circle.layer or circle.style, []).append(
            _round(circle, shift_x, shift_y, look)
        )
    said = [_words(drawing.title, width / 2, 3.5, 3.0), _words(drawing.note, width / 2, 7.5, 2.6)]
    said += [_placed(w, w.x + shift_x, shift_y - w.y, _PAPER) for w in drawing.words]
    look = 'stroke="#000" stroke-width="0.1" fill="none"'
    measured = [_chain(line, MARGIN, height - 4, look) for line in measuring_bar(0.0, 0.0, unit)]
    measured.append(_words(called, MARGIN + bar / 2, height - 0.6, 2.4))
    groups |= {"words": said, "check bar": measured}
    body = [
        f'<g id="{escape(name.replace(" ", "-"))}">\n' + "\n".join(items) + "\n</g>"
        for name, items in groups.items()
    ]
    return _file(width, height, 1.0, body)


def svg(drawings: Sequence[Drawing], scale: float = 1.0) -> str:
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
        parts.append(_words(drawing.title, left + across / 2, 3.5, 3.0))
        parts.append(_words(drawing.note, left + across / 2, 7.5, 2.6))
        parts += [_chain(line, shift_x, shift_y, _STROKES[line.style]) for line in drawing.lines]
        parts += [
            _round(circle, shift_x, shift_y, _STROKES[circle.style]) for circle in drawing.circles
        ]
        parts += [
            _placed(words, words.x + shift_x, shift_y - words.y, _WOOD) for words in drawing.words
        ]
        left += across
    parts.append(_bar(width / 2 - BAR / 2, height - 4, scale, BAR))
    return _file(width, height, scale, parts)


def fitted_to_screen(drawing: Drawing, width: float = SCREEN) -> str:
    """One drawing on a screen, as large as it can be in a width and no larger than it is.

    width: mm. Words and strokes keep their size, and the bar says the scale.
    Returns the text of an SVG file; its width and height are in mm.
    """
    low, high = extent(drawing)
    across, tall = (float(size) for size in high - low)
    scale = min(1.0, (width - 2 * MARGIN) / across)
    shift_x = MARGIN - float(low[0]) * scale
    shift_y = HEADING + MARGIN + float(high[1]) * scale
    middle = across * scale / 2 + MARGIN
    bar = LONG_BAR if across >= LONG_BAR else BAR
    height = tall * scale + 2 * MARGIN + HEADING + FOOT
    parts = [_words(drawing.title, middle, 3.5, 3.0), _words(drawing.note, middle, 7.5, 2.6)]
    for line in drawing.lines:
        smaller = replace(line, points=line.points * scale)
        parts.append(_chain(smaller, shift_x, shift_y, _STROKES[line.style]))
    for circle in drawing.circles:
        x, y, radius = circle.x * scale, circle.y * scale, circle.radius * scale
        smaller_circle = replace(circle, x=x, y=y, radius=radius)
        parts.append(_round(smaller_circle, shift_x, shift_y, _STROKES[circle.style]))
    parts += [
        _placed(w, w.x * scale + shift_x, shift_y - w.y * scale, _WOOD) for w in drawing.words
    ]
    parts.append(_bar(MARGIN, height - 4, round(scale, 4), bar, bar * scale))
    return _file(max(across * scale + 2 * MARGIN, MARGIN + bar), height, 1.0, parts)


def overlay(drawing: Drawing, placed: Callable[[Array], Array]) -> str:
    """A drawing's lines and circles alone, thin and unfilled, to lay over a picture.

    placed: from points (n, 2) in mm to the picture's own coordinates, y downward.
    """
    look = 'stroke-width="0.2" fill="none"'
    chains = [
        f'<{"polygon" if line.closed else "polyline"} points="'
        + " ".join(f"{x:.2f},{y:.2f}" for x, y in placed(line.points))
        + f'" {_THIN[line.style]} {look}/>'
        for line in drawing.lines
    ]
    rounds = []
    for circle in drawing.circles:
        (x, y), (rim, _) = placed(
            np.array([[circle.x, circle.y], [circle.x + circle.radius, circle.y]])
        )
        rounds.append(
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{rim - x:.2f}" {_THIN[circle.style]} {look}/>'
        )
    return "".join((*chains, *rounds))


def _file(width: float, height: float, scale: float, parts: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width * scale:.3f}mm" '
        f'height="{height * scale:.3f}mm" viewBox="0 0 {width:.3f} {height:.3f}">\n'
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def _column(drawing: Drawing, box: tuple[Array, Array]) -> float:
    """Width in mm that a drawing takes in a row: its own, or its words' where they are longer."""
    low, high = box
    words = max(3.0 * len(drawing.title), 2.6 * len(drawing.note)) * LETTER
    return max(float(high[0] - low[0]) + 2 * MARGIN, words + MARGIN)


def _chain(line: Line, shift_x: float, shift_y: float, look: str) -> str:
    points = " ".join(f"{shift_x + y:.3f},{shift_y - z:.3f}" for y, z in line.points)
    kind = "polygon" if line.closed else "polyline"
    return f'<{kind} points="{points}" {look}/>'


def _round(circle: Circle, shift_x: float, shift_y: float, look: str) -> str:
    x, y = shift_x + circle.x, shift_y - circle.y
    return f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{circle.radius:.3f}" {look}/>'


def _words(text: str, x: float, y: float, size: float) -> str:
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size}" font-family="sans-serif" '
        f'text-anchor="middle" fill="#222">{escape(text)}</text>'
    )


def _placed(words: Words, x: float, y: float, ground: str) -> str:
    """A drawing's own words; where they stand on a line, the ground shows between it and them."""
    if not words.on_line:
        return _words(words.text, x, y, 2.4)
    halo = f' stroke="{ground}" stroke-width="1" stroke-linejoin="round" paint-order="stroke"'
    return _words(words.text, x, y, 2.4).replace(' fill="#222"', f' fill="#222"{halo}')


def _width(style: Style) -> float:
    """Millimetres that a line is wide at true scale."""
    return 0.25 if style == "main height" else 0.1


def _bar(x: float, y: float, scale: float, length: float, drawn: float | None = None) -> str:
    """A bar that stands for ``length`` mm, ``drawn`` so long in the drawing's units."""
    long = length if drawn is None else drawn
    said = f"{length:g} mm" + ("" if scale == 1 else f", drawn {scale:g} : 1")
    return (
        f'<path d="M{x:.2f} {y - 1:.2f}v2m0 -1h{long:.5g}m0 -1v2" stroke="#222" '
        f'stroke-width="0.3" fill="none"/>' + _words(said, x + long / 2, y + 3.4, 2.4)
    )
