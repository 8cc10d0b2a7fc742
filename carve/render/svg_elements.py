"""The elements of an SVG picture: lines, circles, words, and a bar to measure the scale by.

SVG and CSS fix an inch at 25.4 mm and 96 pixels (CSS Values and Units, absolute lengths).
"""

from collections.abc import Sequence
from xml.sax.saxutils import escape

import numpy as np

from carve.arrays import Array
from carve.shape.views.kit.drawing import Circle, Line, Style, Words

MARGIN = 4.0  # mm around each drawing
HEADING = 9.0  # mm above each drawing for its title and its figures
FOOT = 6.0  # mm below the drawings for the bar
TITLE_SIZE, NOTE_SIZE, WORDS_SIZE = 3.0, 2.6, 2.4  # mm

WOOD = "#e9d3ab"
FILLED: dict[Style, str] = {
    "outline": f'stroke="#222" stroke-width="0.35" fill="{WOOD}"',
    "cut": 'stroke="#8e111c" stroke-width="0.3" fill="#fff"',
    "other part": 'stroke="#666" stroke-width="0.25" stroke-dasharray="1.5 1" fill="none"',
    "centre line": 'stroke="#888" stroke-width="0.15" stroke-dasharray="4 1 1 1" fill="none"',
    "height": 'stroke="#7a5c33" stroke-width="0.2" fill="none"',
    "main height": 'stroke="#7a5c33" stroke-width="0.45" fill="none"',
}
"""Each style on a screen: what is wood looks like wood."""

THIN: dict[Style, str] = {
    "outline": 'stroke="#000"',
    "cut": 'stroke="#b12520"',
    "other part": 'stroke="#2b6c9b"',
    "centre line": 'stroke="#888"',
    "height": 'stroke="#7a5c33"',
    "main height": 'stroke="#5a3f1b"',
}
"""The colour alone of each style, for a file to cut by and for lines over a picture."""


def file_text(width: float, height: float, scale: float, parts: Sequence[str]) -> str:
    """An SVG file that holds some elements.

    width, height: mm before it is scaled. Returns its text; its size is in mm.
    """
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width * scale:.3f}mm" '
        f'height="{height * scale:.3f}mm" viewBox="0 0 {width:.3f} {height:.3f}">\n'
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def chain(line: Line, shift_x: float, shift_y: float, look: str) -> str:
    """A line. shift_x, shift_y: where the drawing's origin is, mm from the upper left corner.

    look: its stroke and fill, as SVG attributes.
    """
    points = line.points * [1.0, -1.0] + [shift_x, shift_y]
    kind = "polygon" if line.closed else "polyline"
    return f'<{kind} points="{number_pairs(points, 3)}" {look}/>'


def number_pairs(points: Array, digits: int) -> str:
    """Points (n, 2) as SVG has them: ``1.000,2.000 3.000,4.000``.

    All in one step, which is four times as fast as one after the other: a drawing may have ten
    thousand points, and a dial waits for them.
    """
    pair = f"%.{digits}f,%.{digits}f"
    return " ".join([pair] * len(points)) % tuple(np.ravel(points).tolist())


def circle(found: Circle, shift_x: float, shift_y: float, look: str) -> str:
    """A circle; the rest as for ``chain``."""
    x, y = shift_x + found.x, shift_y - found.y
    return f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{found.radius:.3f}" {look}/>'


def text(said: str, x: float, y: float, size: float) -> str:
    """Words whose foot has its middle at (x, y). All in mm, y downward."""
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size}" font-family="sans-serif" '
        f'text-anchor="middle" fill="#222">{escape(said)}</text>'
    )


def words_in_drawing(words: Words, x: float, y: float, ground: str) -> str:
    """A drawing's own words; where they stand on a line, the ground shows between it and them."""
    plain = text(words.text, x, y, WORDS_SIZE)
    if not words.on_line:
        return plain
    halo = f' stroke="{ground}" stroke-width="1" stroke-linejoin="round" paint-order="stroke"'
    return plain.replace(' fill="#222"', f' fill="#222"{halo}')


def scale_bar(x: float, y: float, scale: float, length: float, drawn: float | None = None) -> str:
    """A bar that stands for ``length`` mm, ``drawn`` so long in the drawing's units."""
    long = length if drawn is None else drawn
    said = f"{length:g} mm" + ("" if scale == 1 else f", drawn {scale:g} : 1")
    return (
        f'<path d="M{x:.2f} {y - 1:.2f}v2m0 -1h{long:.5g}m0 -1v2" stroke="#222" '
        f'stroke-width="0.3" fill="none"/>' + text(said, x + long / 2, y + 3.4, WORDS_SIZE)
    )
