"""Curvature plotted under the neck's length, which is at true scale: lay it beside the neck."""

import math
from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.design.values.units import Unit, show_length
from carve.shape.neck.curvature import STRAIGHT, LineCurvature, curvatures
from carve.shape.neck.shape import NeckShape
from carve.shape.views.kit.drawing import Drawing, Line, Words

TALL = 6.0  # mm that a plot rises or falls from its axis at most
ROW = 2 * TALL + 5.0  # mm from axis to axis, with room for words
ABOVE_AXIS = TALL + 1.0  # mm from an axis to the words over it


def curvature_drawing(shape: NeckShape, title: str, unit: Unit) -> Drawing:
    """Curvature of keel, glue edges and lines between, each over an axis of its own.

    Every axis has its own scale, the roundest that fills its row: the words above it say which
    radius its greatest height stands for. unit: of these radii.
    """
    found = curvatures(shape)
    low = min(float(line.x.min()) for line in found)
    lines, words = [], []
    for number, line in enumerate(found):
        level = -ROW * number
        across = np.array([[low, level], [shape.length, level]])
        lines.append(Line(across, "centre line", layer="axes"))
        radius = _radius(float(np.abs(line.values).max()))
        lines.append(Line(_plotted(line, level, radius), layer="curvature"))
        said = (
            "straight"
            if radius is None
            else f"{TALL:g} mm high: radius {show_length(radius, unit)}"
        )
        words.append(Words(f"{line.name}; {said}", (low + shape.length) / 2, level + ABOVE_AXIS))
    foot = -ROW * (len(found) - 1) - TALL
    for x, name in _places(shape):
        upright = np.array([[x, TALL], [x, foot]])
        lines.append(Line(upright, "other part", layer="places"))
        words.append(Words(name, x, foot - 4.0))
    return Drawing(
        title=title,
        note="over its axis a line bends toward the strings, an edge outward",
        lines=tuple(lines),
        words=tuple(words),
        plot=True,
    )


def _radius(curvature: float) -> float | None:
    """The largest round radius in mm, 1, 2 or 5 times a power of 10, that fits; None if straight.

    curvature: per mm, the greatest that is to be shown.
    """
    if curvature <= STRAIGHT:
        return None
    power = 10.0 ** math.floor(math.log10(1 / curvature))
    return max(power * step for step in (1, 2, 5) if power * step * curvature <= 1 + 1e-9)


def _plotted(line: LineCurvature, level: float, radius: float | None) -> Array:
    """(n, 2) mm. Where pieces disagree the plot shows an upright step."""
    high = np.zeros_like(line.values) if radius is None else line.values * radius * TALL
    return np.stack([line.x.ravel(), level + high.ravel()], 1)


def _places(shape: NeckShape) -> Iterator[tuple[float, str]]:
    """Where one thing gives way to another, x in mm and what is there."""
    if shape.head is not None:
        yield shape.start, "flat back"
    yield 0.0, "nut"
    yield from ((float(x), "station") for x in shape.stations)
    if shape.heel is not None:
        yield shape.heel.blend, "blend"
        yield shape.heel.start, "heel"
