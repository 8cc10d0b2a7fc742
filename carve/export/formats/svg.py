"""Drawings as SVG for the shop: true scale, thin lines, nothing filled, a group a layer.

SVG and CSS fix an inch at 25.4 mm and 96 pixels (CSS Values and Units, absolute lengths).
"""

from xml.sax.saxutils import escape

from carve.design.values.units import Unit
from carve.export.formats.kinds import DrawingFormat
from carve.render.svg_elements import (
    FOOT,
    HEADING,
    MARGIN,
    NOTE_SIZE,
    THIN,
    TITLE_SIZE,
    WORDS_SIZE,
    chain,
    circle,
    file_text,
    text,
    words_in_drawing,
)
from carve.shape.views.kit.drawing import Drawing, Style, extent
from carve.shape.views.kit.paper import BARS, measuring_bar

PAPER = "#fff"  # what lies behind words on a line


def svg(drawing: Drawing, unit: Unit) -> str:
    """One drawing at true scale. unit: of the bar to measure it by.

    The bar with its words is a group of its own. Returns the text of an SVG file whose units are
    millimetres.
    """
    low, high = extent(drawing)
    across, tall = (float(size) for size in high - low)
    bar, _, called = BARS[unit]
    width = max(across, bar) + 2 * MARGIN
    height = tall + 2 * MARGIN + HEADING + FOOT
    shift_x, shift_y = MARGIN - float(low[0]), HEADING + MARGIN + float(high[1])
    groups: dict[str, list[str]] = {}
    for line in drawing.lines:
        look = f'{THIN[line.style]} stroke-width="{_width(line.style)}" fill="none"'
        groups.setdefault(line.layer or line.style, []).append(chain(line, shift_x, shift_y, look))
    for found in drawing.circles:
        look = f'{THIN[found.style]} stroke-width="0.1" fill="none"'
        groups.setdefault(found.layer or found.style, []).append(
            circle(found, shift_x, shift_y, look)
        )
    said = [
        text(drawing.title, width / 2, 3.5, TITLE_SIZE),
        text(drawing.note, width / 2, 7.5, NOTE_SIZE),
    ]
    said += [words_in_drawing(w, w.x + shift_x, shift_y - w.y, PAPER) for w in drawing.words]
    look = 'stroke="#000" stroke-width="0.1" fill="none"'
    measured = [chain(line, MARGIN, height - 4, look) for line in measuring_bar(0.0, 0.0, unit)]
    measured.append(text(called, MARGIN + bar / 2, height - 0.6, WORDS_SIZE))
    groups |= {"words": said, "check bar": measured}
    body = [
        f'<g id="{escape(name.replace(" ", "-"))}">\n' + "\n".join(items) + "\n</g>"
        for name, items in groups.items()
    ]
    return file_text(width, height, 1.0, body)


def _width(style: Style) -> float:
    """Millimetres that a line is wide at true scale."""
    return 0.25 if style == "main height" else 0.1


FORMAT = DrawingFormat(
    ending=".svg",
    holds="the drawing at true scale, for a laser cutter or a drawing program",
    write=lambda drawing, printing: svg(drawing, printing.unit).encode(),
)
