"""A drawing laid out at true scale on sheets of a builder's own paper.

What is too large for one sheet is cut into tiles that overlap; what consists of pieces that
may lie apart, as gauges do, is packed piece by piece, each whole on one sheet. Paper that a
printer has shrunk is worse than none, so every sheet carries a bar to measure first.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely

from carve.arrays import Array
from carve.design.values.paper import A4 as A4
from carve.design.values.paper import LETTER as LETTER
from carve.design.values.paper import PAPERS as PAPERS
from carve.design.values.paper import Paper as Paper
from carve.design.values.units import MM_PER_INCH, Unit
from carve.shape.views.kit.drawing import Circle, Drawing, Line, Style, Words, extent

EDGE = 10.0  # mm around a sheet that not every printer reaches; common practice
FOOT = 22.0  # mm above the lower edge for the bar and the words
OVERLAP = 12.0  # mm that neighbouring sheets share
GAP = 6.0  # mm between pieces on a sheet
CROSS = 4.0  # mm, half of an alignment cross
TICK = 1.5  # mm, half of a bar's end marks; those between are half as long
LINE = 4.3  # mm from one line of words to the next
KEY = (60.0, 11.0)  # mm, the most that a key plan takes
KEY_CHORD = 0.05  # mm on paper that a key plan may be off
ARC_CHORD = 0.002  # mm; a circle that a sheet's edge cuts is drawn by chords

BARS: dict[Unit, tuple[float, int, str]] = {
    "mm": (100.0, 10, "100 mm"),
    "in": (4 * MM_PER_INCH, 8, "4 in"),
}
"""The bar to measure a print by: its length in mm, its parts, and what it is called."""


@dataclass(frozen=True, eq=False)
class PrintedPage:
    """One sheet. width, height: mm as it lies.

    drawn: what it shows of the drawing, moved onto the sheet and cut off at its window.
    marks: the bar, words, seams, crosses and key plan. Both in mm from the lower left corner.
    """

    width: float
    height: float
    drawn: Drawing
    marks: Drawing


def usual_paper(unit: Unit) -> Paper:
    """The paper that goes with a unit: A4 with millimetres, Letter with inches."""
    return LETTER if unit == "in" else A4


def pages(drawing: Drawing, paper: Paper, unit: Unit) -> tuple[PrintedPage, ...]:
    """A drawing on as few sheets as upright or lying paper allows, its pieces whole if they fit.

    Rows are counted from the top and columns from the left. unit: of the bar on each sheet.
    """
    lying = replace(paper, width=paper.height, height=paper.width)
    ways = [_laid(drawing, way) for way in (paper, lying)]
    way, tiles = min(zip((paper, lying), ways, strict=True), key=lambda found: _cost(found[1]))
    return tuple(
        PrintedPage(way.width, way.height, tile.drawn, _marks(tile, tiles, n, way, drawing, unit))
        for n, tile in enumerate(tiles)
    )


def _cost(tiles: Sequence["_Tile"]) -> tuple[bool, int]:
    """What speaks against a way of laying: first that something is split, then each sheet."""
    return any(tile.seams for tile in tiles), len(tiles)


def measuring_bar(x: float, y: float, unit: Unit) -> tuple[Line, ...]:
    """The bar to measure a print by, its left end at (x, y) mm."""
    length, parts, _ = BARS[unit]
    found = [Line(np.array([[x, y], [x + length, y]]), layer="check bar")]
    for n in range(parts + 1):
        at, high = x + length * n / parts, TICK if n in (0, parts) else TICK / 2
        found.append(Line(np.array([[at, y - high], [at, y + high]]), layer="check bar"))
    return tuple(found)


@dataclass(frozen=True, eq=False)
class _Tile:
    """What one sheet shows. low: (2,) mm in the drawing, its window's corner; None if packed.

    seams: chains on the sheet along which it meets its neighbours. crosses: (k, 2) mm there.
    """

    drawn: Drawing
    low: Array | None = None
    row: int = 1
    column: int = 1
    seams: tuple[Array, ...] = ()
    crosses: tuple[Array, ...] = ()


def _room(paper: Paper) -> Array:
    """(2,) mm of a sheet that a drawing may take."""
    return np.array([paper.width - 2 * EDGE, paper.height - 2 * EDGE - FOOT])


def _laid(drawing: Drawing, paper: Paper) -> list[_Tile]:
    room = _room(paper)
    sizes = [np.subtract(*extent(piece)[::-1]) for piece in drawing.pieces]
    if sizes and all((size <= room).all() for size in sizes):
        return list(_packed(drawing, sizes, room))
    return list(_tiled(drawing, room))


def _packed(drawing: Drawing, sizes: Sequence[Array], room: Array) -> Iterator[_Tile]:
    """Pieces in rows from the top, in the order that the builder gave them."""
    sheet: list[Drawing] = []
    x, top, tall = 0.0, float(room[1]), 0.0
    for piece, size in zip(drawing.pieces, sizes, strict=True):
        wide, high = (float(length) for length in size)
        if x > 0 and x + wide > room[0]:
            x, top = 0.0, top - tall - GAP
            tall = 0.0
        if sheet and top - high < 0:
            yield _Tile(_together(drawing, sheet))
            sheet, x, top, tall = [], 0.0, float(room[1]), 0.0
        corner = np.array([EDGE + x, EDGE + FOOT + top - high])
        sheet.append(_moved(piece, corner - extent(piece)[0]))
        x, tall = x + wide + GAP, max(tall, high)
    yield _Tile(_together(drawing, sheet))


def _together(drawing: Drawing, pieces: Sequence[Drawing]) -> Drawing:
    return replace(
        drawing,
        lines=tuple(line for piece in pieces for line in piece.lines),
        words=tuple(words for piece in pieces for words in piece.words),
        circles=tuple(circle for piece in pieces for circle in piece.circles),
        pieces=tuple(pieces),
    )


def _tiled(drawing: Drawing, room: Array) -> Iterator[_Tile]:
    """Windows in rows and columns over the drawing, those with nothing in them left out."""
    low, high = extent(drawing)
    step = room - OVERLAP
    counts = np.maximum(np.ceil((high - low - OVERLAP) / step - 1e-9), 1).astype(int)
    columns, rows = (int(count) for count in counts)
    first = (low + high - counts * step - OVERLAP) / 2  # the drawing in the middle of them all
    for row in range(rows):
        for column in range(columns):
            corner = first + step * [column, rows - 1 - row]
            shown = _window(drawing, corner, corner + room)
            if not shown.lines and not shown.circles:
                continue
            onto = np.array([EDGE, EDGE + FOOT])
            seams, crosses = _joints(row, column, rows, columns, room)
            yield _Tile(
                _moved(shown, onto - corner),
                corner,
                row + 1,
                column + 1,
                tuple(seam + onto for seam in seams),
                tuple(cross + onto for cross in crosses),
            )


def _joints(
    row: int, column: int, rows: int, columns: int, room: Array
) -> tuple[list[Array], list[Array]]:
    """Seams (2, 2) and crosses (2,) in mm of the window: half way into each overlap."""
    wide, tall = (float(size) for size in room)
    seams, crosses = [], []
    for there, x in ((column > 0, OVERLAP / 2), (column < columns - 1, wide - OVERLAP / 2)):
        if there:
            seams.append(np.array([[x, 0.0], [x, tall]]))
            crosses += [np.array([x, tall / 4]), np.array([x, tall * 3 / 4])]
    for there, y in ((row < rows - 1, OVERLAP / 2), (row > 0, tall - OVERLAP / 2)):
        if there:
            seams.append(np.array([[0.0, y], [wide, y]]))
            crosses += [np.array([wide / 4, y]), np.array([wide * 3 / 4, y])]
    return seams, crosses


def _window(drawing: Drawing, low: Array, high: Array) -> Drawing:
    """What of a drawing lies within a rectangle."""
    cut = partial(_clipped, low=low, high=high)
    lines = [piece for line in drawing.lines for piece in cut(line)]
    circles = []
    for circle in drawing.circles:
        middle = np.array([circle.x, circle.y])
        if (middle - circle.radius >= low).all() and (middle + circle.radius <= high).all():
            circles.append(circle)
        else:
            lines += cut(_as_line(circle))
    words = tuple(w for w in drawing.words if low[0] <= w.x <= high[0] and low[1] <= w.y <= high[1])
    return replace(drawing, lines=tuple(lines), words=words, circles=tuple(circles), pieces=())


def _clipped(line: Line, low: Array, high: Array) -> list[Line]:
    """What of a line lies within a rectangle: itself, or the chains that are left of it."""
    points = line.points
    if (points >= low).all() and (points <= high).all():
        return [line]
    closed = np.vstack([points, points[:1]]) if line.closed else points
    left = shapely.clip_by_rect(shapely.LineString(closed), *low, *high)
    chains = (shapely.get_coordinates(part) for part in shapely.get_parts(shapely.line_merge(left)))
    return [replace(line, points=chain, closed=False) for chain in chains if len(chain) > 1]


def _as_line(circle: Circle) -> Line:
    pieces = math.ceil(math.pi / math.acos(1 - min(ARC_CHORD / circle.radius, 0.5)))
    turn = np.linspace(0, 2 * np.pi, pieces, endpoint=False)
    points = circle.radius * np.stack([np.cos(turn), np.sin(turn)], 1)
    middle = np.array([circle.x, circle.y])
    return Line(points + middle, circle.style, closed=True, layer=circle.layer)


def _moved(drawing: Drawing, by: Array) -> Drawing:
    x, y = (float(step) for step in by)
    return replace(
        drawing,
        lines=tuple(replace(line, points=line.points + by) for line in drawing.lines),
        words=tuple(replace(words, x=words.x + x, y=words.y + y) for words in drawing.words),
        circles=tuple(replace(one, x=one.x + x, y=one.y + y) for one in drawing.circles),
        pieces=(),
    )


def _marks(
    tile: _Tile, tiles: Sequence[_Tile], number: int, paper: Paper, drawing: Drawing, unit: Unit
) -> Drawing:
    """What stands on a sheet beside the drawing."""
    length, _, called = BARS[unit]
    middle, over_bar = paper.width / 2, EDGE + length / 2
    at = f": row {tile.row}, column {tile.column}" if tile.low is not None and tile.seams else ""
    words = [
        Words(f"{called}: measure this bar before you trust the sheet", over_bar, EDGE),
        Words("print at 100 %, do not fit to page", over_bar, EDGE + 8.0),
        Words(drawing.note, middle, EDGE + FOOT - 2 * LINE),
        Words(
            f"{drawing.title}, sheet {number + 1} of {len(tiles)}{at}", middle, EDGE + FOOT - LINE
        ),
    ]
    lines = list(measuring_bar(EDGE, EDGE + 5.0, unit))
    lines += [Line(seam, "centre line", layer="seams") for seam in tile.seams]
    for cross in tile.crosses:
        for arm in (np.array([CROSS, 0.0]), np.array([0.0, CROSS])):
            lines.append(Line(np.stack([cross - arm, cross + arm]), layer="alignment crosses"))
    lines += _key_plan(tile, tiles, paper, drawing) if tile.seams else []
    return Drawing(drawing.title, drawing.note, tuple(lines), tuple(words))


def _key_plan(
    tile: _Tile, tiles: Sequence[_Tile], paper: Paper, drawing: Drawing
) -> Iterator[Line]:
    """All sheets small, with the drawing on them and this one crossed out."""
    room = _room(paper)
    corners = np.array([one.low for one in tiles if one.low is not None])
    low, high = corners.min(axis=0), corners.max(axis=0) + room
    scale = float((KEY / (high - low)).min())
    onto = np.array([paper.width - EDGE, EDGE]) - np.array([high[0], low[1]]) * scale

    def small(points: Array, style: Style, *, closed: bool = False) -> Line:
        return Line(points * scale + onto, style, closed, layer="key plan")

    for line in drawing.lines:
        if line.style == "outline":
            closed = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
            plain = shapely.simplify(shapely.LineString(closed), KEY_CHORD / scale)
            yield small(shapely.get_coordinates(plain), "outline")
    for corner in corners:
        yield small(_rectangle(corner, corner + room), "other part", closed=True)
    if tile.low is not None:
        here = _rectangle(tile.low, tile.low + room)
        for chain in (here[[0, 2]], here[[1, 3]]):
            yield small(chain, "cut")


def _rectangle(low: Array, high: Array) -> Array:
    return np.array([low, [high[0], low[1]], high, [low[0], high[1]]])
