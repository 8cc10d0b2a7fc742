"""Drawings as DXF R2010 (AC1024) in millimetres, by ezdxf: a layer for each meaning."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from carve.arrays import Array
from carve.export.formats.kinds import DrawingFormat
from carve.shape.views.kit.drawing import Drawing, Style

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

MILLIMETRES = 4  # $INSUNITS
METRIC = 1  # $MEASUREMENT

_COLOURS: dict[Style, int] = {
    "outline": 7,
    "cut": 1,
    "other part": 5,
    "centre line": 8,
    "height": 34,
    "main height": 32,
}
"""DXF's own colour numbers: black or white, red, blue, grey, and two browns."""
HEAVY = 35  # hundredths of a mm, a layer's lineweight


def dxf(drawing: Drawing) -> bytes:
    """A drawing as the content of a DXF file, 1 unit = 1 mm, the same for the same drawing.

    Chains become LWPOLYLINE entities and circles CIRCLE entities. Words are left out: what
    a program for toolpaths finds in the file is there to be cut or to cut by.
    """
    with _undated():
        return _written(drawing)


def _written(drawing: Drawing) -> bytes:
    # imported here: ezdxf takes 0.7 s, which `check` and the lab's dials need not wait for
    from ezdxf.document import Drawing as NewDocument

    document = NewDocument.new("R2010")
    document.units = MILLIMETRES
    document.header["$MEASUREMENT"] = METRIC
    space = document.modelspace()
    for line in drawing.lines:
        layer = _layer(document, line.layer, line.style)
        space.add_lwpolyline(_plain(line.points), close=line.closed, dxfattribs={"layer": layer})
    for circle in drawing.circles:
        layer = _layer(document, circle.layer, circle.style)
        space.add_circle((circle.x, circle.y), circle.radius, dxfattribs={"layer": layer})
    for name in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(name)  # or ezdxf does, in the order of a set, which is chance
    text = io.StringIO()
    document.write(text)
    return document.encode(text.getvalue())


@contextmanager
def _undated() -> Iterator[None]:
    """Have ezdxf write neither a date nor a random number: the same design, the same bytes."""
    from ezdxf._options import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _layer(document: Document, layer: str, style: Style) -> str:
    """The layer's name; made with its colour where it isn't there yet."""
    name = (layer or style).upper()
    if name not in document.layers:
        made = document.layers.add(name, color=_COLOURS[style])
        if style == "main height":
            made.dxf.lineweight = HEAVY
    return name


def _plain(points: Array) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in points]


FORMAT = DrawingFormat(
    ending=".dxf",
    holds="what there is to cut or to cut by, for a program for toolpaths",
    write=lambda drawing, printing: dxf(drawing),
    suits=lambda drawing: not drawing.plot,  # a plot has nothing to cut
)
