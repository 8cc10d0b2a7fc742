"""A cover drawn at true scale for the shop: its edge, its screw holes, its countersinks."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from carve.design.values.units import Unit, show_length
from carve.shape.cover.shape import CoverShape
from carve.shape.views.kit.drawing import Circle, Drawing, Line

CHORD = 0.01  # mm; of what is drawn
ON_LINE = 0.05  # mm; nearer to the centre line it is said to lie on it
BEYOND = 5.0  # mm that the axes run out of the cover


def cover_outlines(shape: CoverShape, title: str, unit: Unit) -> Mapping[str, Drawing]:
    """Views by name: from above, in x and y of its mesh, and of a cover in the back from behind.

    The latter shows its outside, as it lies under the cutter that sinks its screws' heads.
    """
    above, says = _from_above(shape, title), _note(shape, unit)
    if shape.face == "front":
        return {"from-above": replace(above, note=f"{says}; its outside is up")}
    behind = replace(above.mirrored(), title=f"{title}, from behind")
    return {
        "from-above": replace(above, note=f"{says}; its outside is down"),
        "from-behind": replace(behind, note=f"{says}; its outside is up"),
    }


def _note(shape: CoverShape, unit: Unit) -> str:
    """How large it is and where its middle lies, in a line."""
    x0, y0, x1, y1 = shape.polygon.bounds
    x, y = shape.middle
    side = f"{show_length(abs(y), unit)} to the {'treble' if y > 0 else 'bass'} side"
    return (
        f"{show_length(x1 - x0, unit)} x {show_length(y1 - y0, unit)}, "
        f"{show_length(shape.thickness, unit)} thick; its middle lies {show_length(x, unit)} from "
        f"the body's edge, {side if abs(y) > ON_LINE else 'on the centre line'}"
    )


def _from_above(shape: CoverShape, title: str) -> Drawing:
    around = shape.plan.points(CHORD) - shape.middle
    low, high = around.min(axis=0), around.max(axis=0)
    ring = () if shape.plan.circle else (Line(around, closed=True, layer="cover outline"),)
    along = np.array([[low[0] - BEYOND, 0.0], [high[0] + BEYOND, 0.0]])
    across = np.array([[0.0, low[1] - BEYOND], [0.0, high[1] + BEYOND]])
    return Drawing(
        title=title,
        note="",
        lines=(
            *ring,
            *(Line(axis, "centre line", layer="centre line") for axis in (along, across)),
        ),
        circles=tuple(_circles(shape)),
        treble="up",
    )


def _circles(shape: CoverShape) -> Iterator[Circle]:
    x0, y0 = shape.middle
    if shape.plan.circle is not None:
        x, y, radius = shape.plan.circle
        yield Circle(x - x0, y - y0, radius, "outline", "cover outline")
    for hole in shape.screws:
        yield Circle(hole.x - x0, hole.y - y0, hole.radius, "cut", "screw holes")
    for hole in shape.screws:
        if hole.sink:
            yield Circle(hole.x - x0, hole.y - y0, hole.head, "cut", "countersinks")
