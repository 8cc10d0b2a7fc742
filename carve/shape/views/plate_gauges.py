"""A carved plate cut open along any line, and gauges of its outside to check the carve by hand."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely

from carve.arrays import Array
from carve.design.values.units import Unit, show_length
from carve.shape.plate.relief import Relief, relief_section
from carve.shape.views.kit.drawing import (
    AXIS_OVERRUN,
    CAPITAL,
    CURVE_STEP,
    GAUGE_GAP,
    Drawing,
    Line,
    Words,
    extent,
)

ALIKE_TOLERANCE = 0.01  # mm within which two halves are alike
GAUGE_WOOD = 20.0  # mm of a gauge's material over the plate's highest place under it
GAUGE_TICK = 6.0  # mm that a mark runs into a gauge
ROOM = 2.0  # mm from a tick to the foot of its words
LEAST = 1e-6  # mm; a shorter stretch is no wood

GaugeHeights = Callable[[Array, Array], Array]
"""Height in mm over places x, y (n,) mm."""
GaugeEnds = tuple[tuple[float, float], tuple[float, float]]
"""Both ends of a line in plan, x and y in mm."""


def stretches(outline: Array, line: GaugeEnds) -> list[tuple[float, float]]:
    """Where a line runs inside an outline (n, 2) mm: from and to, in mm from its start."""
    start, stop = np.array(line[0]), np.array(line[1])
    along = (stop - start) / np.hypot(*(stop - start))
    met = shapely.intersection(shapely.Polygon(outline), shapely.LineString(line))
    found = []
    for part in shapely.get_parts(met):
        places = (shapely.get_coordinates(part) - start) @ along
        if len(places) > 1 and np.ptp(places) > LEAST:
            found.append((float(places.min()), float(places.max())))
    return sorted(found)


def cut_drawing(
    over: GaugeHeights,
    under: GaugeHeights,
    outline: Array,
    line: GaugeEnds,
    marks: Sequence[float],
    title: str,
    unit: Unit,
) -> Drawing:
    """A plate's wood over a line, between its two faces, with its thickness at stated places.

    over, under: heights of top and back. line: from its start to the right. marks: mm from there.
    """
    start, stop = np.array(line[0]), np.array(line[1])
    along = (stop - start) / np.hypot(*(stop - start))

    def faces(places: Array) -> tuple[Array, Array]:
        points = start + np.atleast_1d(places)[:, None] * along
        return over(*points.T), under(*points.T)

    lines, words = [], []
    thinnest = math.inf
    for first, last in stretches(outline, line):
        s = np.linspace(first, last, max(2, math.ceil((last - first) / CURVE_STEP) + 1))
        high, low = faces(s)
        thinnest = min(thinnest, float((high - low).min()))
        rim = np.vstack([np.stack([s, low], 1), np.stack([s, high], 1)[::-1]])
        lines.append(Line(rim, closed=True, layer="wood"))
        for mark in marks:
            if first <= mark <= last:
                (top,), (foot,) = faces(np.array([mark]))
                upright = np.array([[mark, foot], [mark, top]])
                lines.append(Line(upright, "other part", layer="stations"))
                text = show_length(float(top - foot), unit)
                words.append(Words(text, mark, float(top) + ROOM))
    length = float(np.hypot(*(stop - start)))
    axis = np.array([[-AXIS_OVERRUN, 0.0], [length + AXIS_OVERRUN, 0.0]])
    lines.append(Line(axis, "centre line", layer="edge plane"))
    note = f"thinnest {show_length(thinnest, unit)}" if lines[:-1] else "no wood under this line"
    return Drawing(title, note, tuple(lines), tuple(words))


def long_gauge(
    surface: Relief, outline: Array, crosses: Sequence[float], title: str, unit: Unit
) -> Drawing:
    """The gauge that stands on the centre line, flush with both ends of the plate.

    surface: heights outward from the edge plane. crosses: x in mm of the cross gauges, marked.
    """
    x = outline[:, 0]
    line = ((float(x.min()) - 1, 0.0), (float(x.max()) + 1, 0.0))
    pieces = []
    for first, last in stretches(outline, line):
        curve = _curve(surface, line, first, last)
        marks = [(at + 1 - float(x.min()), show_length(at, unit)) for at in crosses]
        on_it = [(at, name) for at, name in marks if first <= at <= last]
        pieces.append(_gauge(curve, on_it, "centre line", unit))
    return _one_above_another(
        pieces, title, "lower edge on the carved face, ends flush with the plate's"
    )


def cross_gauges(
    surface: Relief, outline: Array, places: Sequence[float], title: str, unit: Unit
) -> Drawing:
    """Gauges that stand across the plate at stated x in mm, from the centre line to its edge.

    Where bass and treble differ each side has its own; the bass side's is turned over, so all of
    them look alike. Where the plate is cut away on the centre line a gauge is as wide as its wood.
    """
    low, high = float(outline[:, 1].min()) - 1, float(outline[:, 1].max()) + 1
    pieces: list[Drawing] = []
    for x in places:
        line = ((x, low), (x, high))
        for name, curve in _sides(surface, outline, line, -low):
            called = f"{show_length(x, unit)} from the edge{name}"
            pieces.append(_gauge(curve, [], called, unit))
    return _one_above_another(
        pieces, title, "lower edge on the carved face, left edge on the centre line, right flush"
    )


def _sides(
    surface: Relief, outline: Array, line: GaugeEnds, centre: float
) -> Iterator[tuple[str, Array]]:
    """A name and a curve for each gauge across, outward to the right from the centre line.

    centre: mm from the line's start to the centre line.
    """
    halves: list[tuple[str, Array]] = []
    for first, last in stretches(outline, line):
        if last > centre:
            curve = _curve(surface, line, max(first, centre), last)
            halves.append((", treble", curve - [centre, 0.0]))
        if first < centre:
            curve = _curve(surface, line, first, min(last, centre))[::-1]
            halves.append((", bass", (curve - [centre, 0.0]) * [-1.0, 1.0]))
    if len(halves) == 2 and _alike(halves[0][1], halves[1][1]):
        halves = [("", halves[0][1])]
    yield from halves


def _alike(one: Array, other: Array) -> bool:
    return len(one) == len(other) and bool(np.abs(one - other).max() < ALIKE_TOLERANCE)


def _curve(surface: Relief, line: GaugeEnds, first: float, last: float) -> Array:
    """(n, 2) mm along the line from its start, and height, between two places of it."""
    start, along = np.array(line[0]), np.subtract(line[1], line[0])
    along = along / np.hypot(*along)
    found = relief_section(surface, start + first * along, start + last * along, CURVE_STEP)
    return np.asarray(found + np.array([first, 0.0]))


def _gauge(curve: Array, marks: Sequence[tuple[float, str]], name: str, unit: Unit) -> Drawing:
    """One gauge: its lower edge is the curve (n, 2) mm. marks: places on it and their names."""
    (first, _), (last, _) = curve[0], curve[-1]
    highest = float(curve[:, 1].max())
    top = highest + GAUGE_WOOD
    outline = np.vstack([curve, [[last, top], [first, top]]])
    lines = [Line(outline, closed=True, layer="gauges")]
    said = f"{name}; {show_length(highest, unit)} at its highest"
    words = [Words(said, float(first + last) / 2, top - 4.0 - CAPITAL)]
    for at, called in marks:
        foot = float(np.interp(at, *curve.T))
        tick = np.array([[at, foot], [at, foot + GAUGE_TICK]])
        lines.append(Line(tick, "centre line", layer="cross gauges"))
        words.append(Words(called, at, foot + GAUGE_TICK + ROOM / 2))
    return Drawing(name, "", tuple(lines), tuple(words))


def _one_above_another(gauges: Sequence[Drawing], title: str, note: str) -> Drawing:
    """All gauges as pieces of one drawing, each under the one before."""
    pieces: list[Drawing] = []
    upper = 0.0
    for gauge in gauges:
        low, high = extent(gauge)
        down = upper - float(high[1])
        by = np.array([0.0, down])
        pieces.append(
            replace(
                gauge,
                lines=tuple(replace(one, points=one.points + by) for one in gauge.lines),
                words=tuple(replace(words, y=words.y + down) for words in gauge.words),
            )
        )
        upper -= float(high[1] - low[1]) + GAUGE_GAP
    return Drawing(
        title=title,
        note=note,
        lines=tuple(line for piece in pieces for line in piece.lines),
        words=tuple(words for piece in pieces for words in piece.words),
        pieces=tuple(pieces),
    )
