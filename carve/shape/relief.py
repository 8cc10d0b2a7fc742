"""What a carver asks of a surface: sections, contour lines, where it is steepest and hollowest."""

from dataclasses import dataclass
from typing import Protocol

import contourpy
import numpy as np
import shapely

from carve.arrays import Array
from carve.shape.jet import Jet

PROBE = 1.0  # mm between the places looked at


class Relief(Protocol):
    """A height over the plan."""

    def __call__(self, x: Array, y: Array) -> Array:
        """(n,) height in mm at points x, y (n,) mm."""
        ...

    def grid(self, x: Array, y: Array) -> Array:
        """(n, m) height in mm over x (n,) and y (m,) mm."""
        ...

    def grid_jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives over x (n,) and y (m,) mm."""
        ...


@dataclass(frozen=True)
class Extreme:
    """The most of something on a surface. at: x, y mm. value: in its own unit."""

    value: float
    at: tuple[float, float]


def section(surface: Relief, start: Array, stop: Array, spacing: float) -> Array:
    """(n, 2) mm along a straight line in plan, and height: a template. start, stop: (2,) mm."""
    length = float(np.hypot(*(stop - start)))
    along = np.linspace(0.0, length, max(2, int(np.ceil(length / spacing)) + 1))
    points = start + along[:, None] / length * (stop - start)
    return np.stack([along, surface(*points.T)], axis=1)


def contour_lines(
    surface: Relief, outline: Array, levels: tuple[float, ...], spacing: float = PROBE
) -> dict[float, list[Array]]:
    """For each level in mm the lines (k, 2) mm at that height within an outline (n, 2) mm.

    spacing: mm of the grid they are drawn from.
    """
    x, y = _grid(outline, spacing)
    drawn = contourpy.contour_generator(x, y, surface.grid(x, y).T)
    area = shapely.Polygon(outline)
    found: dict[float, list[Array]] = {}
    for level in levels:
        lines = [shapely.LineString(part) for part in drawn.lines(level) if len(part) > 1]
        within = shapely.get_parts(shapely.intersection(lines, area))
        strings = [part for part in within if part.geom_type == "LineString" and part.length > 0]
        found[level] = [np.asarray(shapely.get_coordinates(part)) for part in strings]
    return found


def steepest(surface: Relief, outline: Array) -> Extreme:
    """The greatest slope, as a ratio, within an outline (n, 2) mm."""
    x, y = _grid(outline, PROBE)
    return _most(surface.grid_jet(x, y).steepness, outline, x, y)


def hollowest(surface: Relief, outline: Array) -> Extreme:
    """The greatest hollow curvature in 1/mm: a ball cutter's radius must be less than 1 over it."""
    x, y = _grid(outline, PROBE)
    return _most(surface.grid_jet(x, y).curvatures[1], outline, x, y)


def _grid(outline: Array, spacing: float) -> tuple[Array, Array]:
    low, high = outline.min(axis=0), outline.max(axis=0)
    x, y = (
        np.linspace(a, b, max(2, int(np.ceil((b - a) / spacing)) + 1))
        for a, b in zip(low, high, strict=True)
    )
    return x, y


def _most(values: Array, outline: Array, x: Array, y: Array) -> Extreme:
    area = shapely.Polygon(outline)
    shapely.prepare(area)
    within = shapely.contains_xy(area, x[:, None], y[None, :])
    i, j = np.unravel_index(int(np.argmax(np.where(within, values, -np.inf))), values.shape)
    return Extreme(float(values[i, j]), (float(x[i]), float(y[j])))
