"""The body drawn at true scale: from above, and cut open along and across."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array
from carve.design.values.units import Unit, show_length
from carve.shape.body.chambers import Chamber
from carve.shape.body.cuts import Cut, Removal, RoundBore
from carve.shape.body.shape import BodyShape
from carve.shape.views.kit.drawing import (
    AXIS_OVERRUN,
    DRAWING_CHORD,
    Circle,
    Drawing,
    Line,
    Style,
    Words,
)

SECTION_STEP = 0.5  # mm between the points of a carved face's section
ROUND = 24  # pieces of a bore's section on each side
WORD, LINE = 30.0, 4.0  # mm that a name takes in the drawing
SECTION_GAP = 1e-6  # mm^2; less is no piece of wood


def body_outlines(shape: BodyShape, title: str, unit: Unit) -> Mapping[str, Drawing]:
    """Whole views by name: from above, along the centre line, across where it is widest."""
    name = f"{title}, body"
    low, high = _reach(shape)
    points = shape.outline.points(DRAWING_CHORD)
    widest = float(points[np.argmax(np.abs(points[:, 1])), 0])
    return {
        "from-above": Drawing(
            title=name,
            note=f"{show_length(float(high[0] - low[0]), unit)} long, "
            f"{show_length(float(high[1] - low[1]), unit)} wide, "
            f"{show_length(shape.thickness, unit)} thick",
            lines=plan_lines(shape),
            words=tuple(_names(shape)),
            circles=plan_circles(shape),
            treble="up",
        ),
        "along-the-centre-line": body_section_drawing(
            shape, ((low[0], 0.0), (high[0], 0.0)), f"{name}, cut along the centre line", unit
        ),
        "across": body_section_drawing(
            shape,
            ((widest, low[1]), (widest, high[1])),
            f"{name}, cut across {show_length(widest, unit)} from the body's edge",
            unit,
        ),
    }


def _reach(shape: BodyShape) -> tuple[Array, Array]:
    points = shape.outline.points(DRAWING_CHORD)
    return points.min(axis=0), points.max(axis=0)


def layer_of(taken: Removal) -> str:
    """The layer of a cut: what it is, and the face it is cut from where that is the back."""
    if isinstance(taken, RoundBore):
        return "bores from the side"
    return {
        "front": f"{taken.kind} from front",
        "back": f"{taken.kind} from back",
        "through": f"{taken.kind} through",
        "nowhere": "chambers",
    }[taken.opens]


def plan_lines(shape: BodyShape) -> tuple[Line, ...]:
    """Outline, pockets and axis from above: x to the right, treble side up. Circles apart."""
    low, high = _reach(shape)
    lines = [Line(shape.outline.points(DRAWING_CHORD), closed=True, layer="body outline")]
    for taken, plan in zip(shape.removals, shape.within, strict=True):
        if isinstance(taken, RoundBore):
            ring = np.asarray(plan.exterior.coords)[:-1]
            lines.append(Line(ring, "other part", closed=True, layer=layer_of(taken)))
        elif taken.plan.circle is None:
            style: Style = "other part" if taken.opens in ("back", "nowhere") else "cut"
            ring = taken.plan.points(DRAWING_CHORD)
            lines.append(Line(ring, style, closed=True, layer=layer_of(taken)))
    ends = np.array([[low[0] - AXIS_OVERRUN, 0.0], [high[0] + AXIS_OVERRUN, 0.0]])
    return (*lines, Line(ends, "centre line", layer="centre line"))


def plan_circles(shape: BodyShape) -> tuple[Circle, ...]:
    """Round pockets and holes from above."""
    found = []
    for cut in shape.cuts:
        if cut.plan.circle is not None:
            x, y, radius = cut.plan.circle
            style: Style = "other part" if cut.opens == "back" else "cut"
            found.append(Circle(x, y, radius, style, layer=layer_of(cut)))
    return tuple(found)


def _names(shape: BodyShape) -> Iterator[Words]:
    placed: list[tuple[float, float]] = []
    for taken, plan in zip(shape.removals, shape.within, strict=True):
        if isinstance(taken, Cut) and taken.plan.circle is not None:
            continue  # a hole is too small to write in
        x0, y0, x1, y1 = plan.bounds
        x, y = float(x0 + x1) / 2, float(y0 + y1) / 2
        while any(abs(x - there) < WORD and abs(y - level) < LINE for there, level in placed):
            y -= LINE  # two that lie over one another are written one under the other
        placed.append((x, y))
        yield Words(taken.name, x, y)


def body_section_drawing(
    shape: BodyShape, line: tuple[tuple[float, float], tuple[float, float]], title: str, unit: Unit
) -> Drawing:
    """The wood where an upright plane over a line cuts the body. line: its ends, x and y in mm."""
    axis = np.array([[-AXIS_OVERRUN, 0.0], [math.dist(*line) + AXIS_OVERRUN, 0.0]])
    return Drawing(
        title=title,
        note=f"{show_length(shape.thickness, unit)} from the top's edge plane to the back",
        lines=(
            *_rings(body_section(shape, line), "outline", "wood"),
            Line(axis, "centre line", layer="edge plane"),
        ),
    )


def along_the_centre_line(shape: BodyShape, style: Style, layer: str) -> tuple[Line, ...]:
    """The wood cut along the centre line, x and z in the body's frame."""
    low, high = _reach(shape)
    wood = body_section(shape, ((low[0] - 1.0, 0.0), (high[0] + 1.0, 0.0)))
    return tuple(
        replace(line, points=line.points + np.array([low[0] - 1.0, 0.0]), style=style)
        for line in _rings(wood, style, layer)
    )


def _rings(wood: BaseGeometry, style: Style, layer: str) -> Iterator[Line]:
    for part in shapely.get_parts(wood):
        if part.area > SECTION_GAP:
            yield Line(np.asarray(part.exterior.coords)[:-1], style, closed=True, layer=layer)
            for hole in part.interiors:
                yield Line(np.asarray(hole.coords)[:-1], "cut", closed=True, layer=layer)


def body_section(
    shape: BodyShape, line: tuple[tuple[float, float], tuple[float, float]]
) -> BaseGeometry:
    """The wood over a line as an area: along the line from its start, and up; mm."""
    start, along = np.array(line[0]), np.array(line[1]) - np.array(line[0])
    along = along / np.hypot(*along)
    wood = shapely.union_all(
        [
            _between_faces(shape, start, along, first, last)
            for first, last in _stretches(shape.polygon, line, start, along)
        ]
    )
    taken = [
        _profile(one, start, along, first, last, shape.reach)
        for one, plan in zip(shape.removals, shape.within, strict=True)
        for first, last in _stretches(plan, line, start, along)
    ]
    return shapely.difference(wood, shapely.union_all(taken))


def _between_faces(
    shape: BodyShape, start: Array, along: Array, first: float, last: float
) -> BaseGeometry:
    """The body whole over a stretch of a line: from the back to the top."""
    if not shape.carvings:
        return shapely.box(first, -shape.thickness, last, 0.0)
    s = np.linspace(first, last, max(2, math.ceil((last - first) / SECTION_STEP) + 1))
    points = start + s[:, None] * along
    back, top = shape.back_at(points), shape.top_at(points)
    return shapely.Polygon(np.concatenate([np.stack([s, back], 1), np.stack([s, top], 1)[::-1]]))


def _stretches(
    plan: BaseGeometry,
    line: tuple[tuple[float, float], tuple[float, float]],
    start: Array,
    along: Array,
) -> list[tuple[float, float]]:
    """Where a line runs within a plan: from and to, in mm from its start."""
    met = shapely.intersection(plan, shapely.LineString(line))
    found = []
    for part in shapely.get_parts(met):
        places = (np.asarray(part.coords) - start) @ along
        if len(places) > 1 and np.ptp(places) > SECTION_GAP:
            found.append((float(places.min()), float(places.max())))
    return found


def _profile(
    taken: Removal,
    start: Array,
    along: Array,
    first: float,
    last: float,
    reach: tuple[float, float],
) -> BaseGeometry:
    """What a cut takes out of the section between two places of its line.

    reach: lowest and highest of the body.
    """
    pieces = 1
    if isinstance(taken, RoundBore):
        pieces = 2 * ROUND
    elif isinstance(taken, Chamber):
        pieces = math.ceil((last - first) / SECTION_STEP)
    # evenly by the angle about a bore's axis, so that its ends come out round
    s = first + (last - first) * (1 - np.cos(np.linspace(0, np.pi, pieces + 1))) / 2
    low, high = taken.heights(start + s[:, None] * along)
    low, high = np.maximum(low, reach[0] - 1.0), np.minimum(high, reach[1] + 1.0)
    ring = np.concatenate([np.stack([s, low], 1), np.stack([s, high], 1)[::-1]])
    return shapely.Polygon(ring).buffer(0)
