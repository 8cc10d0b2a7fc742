"""A body to show, and the mesh with normals that is drawn of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyvista as pv

from carve.arrays import Array, IntArray
from carve.shape.views.kit.drawing import Colours

WOOD = "#d9b27c"

SHARP = 35.0
"""Degrees between two faces from which their shared edge is drawn as an edge and not smoothed:
above a carved surface's facets, below a channel's wall or a board's edge."""


@dataclass(frozen=True, eq=False)
class Layer:
    """One body to show.

    Attributes:
        name: tells the layers of one view apart; a layer keeps its name from one call to the next.
        points: (n, 3) mm.
        triangles: (m, 3) indices into points, counter-clockwise seen from outside.
        values: (n,) coloured by, in the unit that the label says; where nan, the wood shows.
        label: title of the scale bar. Layers of one label share a bar and a range.
        range: the values at the two ends of the bar; None for the smallest and largest value.
        colours: from the one end of the range to the other, of all layers of that label.
        colour: of a layer without values.
        opacity: 0 to 1.

    """

    name: str
    points: Array
    triangles: IntArray
    values: Array | None = None
    label: str = ""
    range: tuple[float, float] | None = None
    colours: Colours = "thin to thick"
    colour: str = WOOD
    opacity: float = 1.0


def surface(layer: Layer) -> pv.PolyData:
    """The layer as a mesh with normals that keep sharp edges sharp.

    Points along a sharp edge appear once for each side of it. The values, if any, are the point
    array "values".
    """
    points: Any = np.asarray(layer.points, dtype=np.float32)
    triangles: Any = np.asarray(layer.triangles)
    mesh: pv.PolyData = pv.PolyData.from_regular_faces(points, triangles)
    if layer.values is not None:
        mesh.point_data["values"] = np.asarray(layer.values, dtype=np.float32)
    if mesh.n_cells == 0:
        return mesh
    smooth: pv.PolyData = mesh.compute_normals(
        cell_normals=False,
        split_vertices=True,
        feature_angle=SHARP,
        # The triangles are oriented already; to find that out anew would take half as long again.
        consistent_normals=False,
        auto_orient_normals=False,
    )
    return smooth


def shared_ranges(layers: Sequence[Layer]) -> dict[str, tuple[float, float]]:
    """The range of values of each label, in the order of the layers.

    A range that a layer fixes wins over what the values span. Labels whose layers have no finite
    value are left out: there is nothing to put a bar to.
    """
    fixed: dict[str, tuple[float, float]] = {}
    spans: dict[str, tuple[float, float]] = {}
    for layer in layers:
        if layer.values is None:
            continue
        finite = layer.values[np.isfinite(layer.values)]
        if finite.size:
            low, high = spans.get(layer.label, (np.inf, -np.inf))
            spans[layer.label] = (min(low, float(finite.min())), max(high, float(finite.max())))
        if layer.range is not None:
            fixed[layer.label] = layer.range
    return {label: _opened(fixed.get(label, span)) for label, span in spans.items()}


def _opened(span: tuple[float, float]) -> tuple[float, float]:
    """The span, widened where it is empty: VTK paints an empty range in one arbitrary colour."""
    low, high = span
    return (low, high) if high > low else (low - 0.5, low + 0.5)
