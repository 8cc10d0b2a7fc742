"""Drawings as PDF at true scale on a builder's paper, by reportlab.

A point is 1/72 in (ISO 32000, default user space), so a millimetre is 72 / 25.4 of them.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from carve.design.values.units import MM_PER_INCH, Unit
from carve.export.formats.kinds import DrawingFormat
from carve.shape.views.kit.drawing import CAPITAL, Drawing, Line, Style, Words
from carve.shape.views.kit.paper import Paper, PrintedPage, pages

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

POINT = 72 / MM_PER_INCH  # points in a millimetre
LETTERS = 2.6  # mm, the size of words
ABOVE = 0.35  # of the size of words: from the middle of a line of words down to its foot
FONT = "carve-sans"
FONT_FILE = Path("mpl-data", "fonts", "ttf", "DejaVuSans.ttf")  # in matplotlib

_PENS: dict[Style, tuple[float, tuple[float, float, float], tuple[float, ...]]] = {
    "outline": (0.18, (0.0, 0.0, 0.0), ()),
    "cut": (0.18, (0.7, 0.15, 0.13), ()),
    "other part": (0.13, (0.17, 0.42, 0.61), (1.5, 1.0)),
    "centre line": (0.13, (0.4, 0.4, 0.4), (4.0, 1.0, 1.0, 1.0)),
    "height": (0.13, (0.48, 0.36, 0.2), ()),
    "main height": (0.3, (0.35, 0.25, 0.11), ()),
}
"""Width in mm, colour from 0 to 1, and dashes in mm."""


def pdf(drawing: Drawing, paper: Paper, unit: Unit) -> bytes:
    """A drawing as the content of a PDF file, as many sheets as it takes.

    unit: of the bar on each sheet. The same drawing gives the same bytes.
    """
    # imported here, as the DXF writer's library is: `check` and the dials need not wait for it
    from reportlab.pdfgen.canvas import Canvas

    _has_font()
    content = io.BytesIO()
    canvas = Canvas(content, invariant=1)  # neither a date nor a random number
    canvas.setTitle(drawing.title)
    canvas.setViewerPreference("PrintScaling", "None")  # what a viewer then offers first
    for page in pages(drawing, paper, unit):
        _sheet(canvas, page)
    canvas.save()
    return content.getvalue()


def _sheet(canvas: Canvas, page: PrintedPage) -> None:
    canvas.setPageSize((page.width * POINT, page.height * POINT))
    canvas.setLineJoin(1)
    for drawing in (page.drawn, page.marks):
        for line in drawing.lines:
            _pen(canvas, line.style)
            _chain(canvas, line)
        for circle in drawing.circles:
            _pen(canvas, circle.style)
            canvas.circle(circle.x * POINT, circle.y * POINT, circle.radius * POINT)
        canvas.setFont(FONT, LETTERS * POINT)
        for words in drawing.words:
            foot = words.y - ABOVE * LETTERS
            if words.on_line:
                _clear(canvas, words, foot)
            canvas.drawCentredString(words.x * POINT, foot * POINT, words.text)
    canvas.showPage()


def _clear(canvas: Canvas, words: Words, foot: float) -> None:
    """Take the line away where words stand on it."""
    wide = canvas.stringWidth(words.text, FONT, LETTERS * POINT) + LETTERS * POINT / 2
    canvas.setFillColorRGB(1, 1, 1)
    canvas.rect(words.x * POINT - wide / 2, foot * POINT, wide, CAPITAL * POINT, stroke=0, fill=1)
    canvas.setFillColorRGB(0, 0, 0)


def _pen(canvas: Canvas, style: Style) -> None:
    width, colour, dashes = _PENS[style]
    canvas.setLineWidth(width * POINT)
    canvas.setStrokeColorRGB(*colour)
    canvas.setDash([dash * POINT for dash in dashes])


def _chain(canvas: Canvas, line: Line) -> None:
    path = canvas.beginPath()
    corners = _in_points(line)
    path.moveTo(*next(corners))
    for corner in corners:
        path.lineTo(*corner)
    if line.closed:
        path.close()
    canvas.drawPath(path)


def _in_points(line: Line) -> Iterator[tuple[float, float]]:
    return ((float(x), float(y)) for x, y in line.points * POINT)


def _has_font() -> None:
    """Make known DejaVu Sans, which has 5,900 signs: a title may have any.

    It lies in matplotlib, which pyvista and vtk need in any case, so it costs nothing more to
    install. PDF's own fonts and reportlab's Vera have 256 signs, of western Europe only, without
    ″ and ⅝; Open Sans, which PyPI has by itself, has 883, without ♯ and ♭.
    """
    from reportlab.pdfbase.pdfmetrics import getRegisteredFontNames, registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    if FONT in getRegisteredFontNames():
        return
    found = find_spec("matplotlib")  # where it lies; the library itself is not loaded
    if found is None or found.origin is None:
        raise ModuleNotFoundError("matplotlib, whose font is used, is not installed")
    registerFont(TTFont(FONT, str(Path(found.origin).parent / FONT_FILE)))


FORMAT = DrawingFormat(
    ending=".pdf",
    holds="the drawing at true scale, to print on the builder's own paper",
    write=lambda drawing, printing: pdf(drawing, printing.paper, printing.unit),
)
