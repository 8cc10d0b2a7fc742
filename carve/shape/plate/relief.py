"""What a carver asks of a surface: sections, contour lines, where it is steepest and hollowest."""

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
import shapely

from carve.arrays import Array, BoolArray
from carve.shape.numeric.jet import Jet
from carve.shape.planar.grid import on_grid

SECTION_STEP = 1.0  # mm between the places looked at


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


def relief_section(surface: Relief, start: Array, stop: Array, spacing: float) -> Array:
    """(n, 2) mm along a straight line in plan, and height: a template. start, stop: (2,) mm."""
    length = float(np.hypot(*(stop - start)))
    along = np.linspace(0.0, length, max(2, int(np.ceil(length / spacing)) + 1))
    points = start + along[:, None] / length * (stop - start)
    return np.stack([along, surface(*points.T)], axis=1)


@dataclass(frozen=True, eq=False)
class Heights:
    """A surface's heights on a grid over an outline. x: (n,), y: (m,), z: (n, m) mm."""

    outline: Array
    x: Array
    y: Array
    z: Array

    @cached_property
    def within(self) -> BoolArray:
        """(n, m) which places of the grid lie inside the outline."""
        return _within(self.outline, self.x, self.y)

    @property
    def crown(self) -> Extreme:
        """The highest place inside."""
        return _most(self.z, self.within, self.x, self.y)

    @property
    def lowest(self) -> float:
        """The least height inside in mm."""
        return float(self.z[self.within].min())


def heights_over(surface: Relief, outline: Array, spacing: float = SECTION_STEP) -> Heights:
    """The heights over an outline (n, 2) mm. spacing: mm of the grid."""
    x, y = _grid(outline, spacing)
    return Heights(outline, x, y, surface.grid(x, y))


def contour_lines(
    surface: Relief, outline: Array, levels: tuple[float, ...], spacing: float = SECTION_STEP
) -> dict[float, list[Array]]:
    """For each level in mm the lines (k, 2) mm at that height within an outline (n, 2) mm.

    spacing: mm of the grid they are drawn from.
    """
    return contours_of_heights(heights_over(surface, outline, spacing), levels)


def contours_of_heights(heights: Heights, levels: tuple[float, ...]) -> dict[float, list[Array]]:
    """As ``contour_lines``, from heights that are there already."""
    import contourpy  # only a drawing of contour lines needs it

    drawn = contourpy.contour_generator(heights.x, heights.y, heights.z.T)
    area = shapely.Polygon(heights.outline)
    shapely.prepare(area)
    found: dict[float, list[Array]] = {}
    for level in levels:
        lines = [shapely.LineString(part) for part in drawn.lines(level) if len(part) > 1]
        whole = shapely.covers(area, lines)
        kept = [line for line, is_whole in zip(lines, whole, strict=True) if is_whole]
        cut = [line for line, is_whole in zip(lines, whole, strict=True) if not is_whole]
        within = shapely.get_parts(shapely.intersection(cut, area))
        kept += [part for part in within if part.geom_type == "LineString" and part.length > 0]
        found[level] = [np.asarray(shapely.get_coordinates(part)) for part in kept]
    return found


def steepest(surface: Relief, outline: Array) -> Extreme:
    """The greatest slope, as a ratio, within an outline (n, 2) mm."""
    x, y = _grid(outline, SECTION_STEP)
    return _most(surface.grid_jet(x, y).steepness, _within(outline, x, y), x, y)


def hollowest(surface: Relief, outline: Array) -> Extreme:
    """The greatest hollow curvature in 1/mm: a ball cutter's radius must be less than 1 over it."""
    x, y = _grid(outline, SECTION_STEP)
    return _most(surface.grid_jet(x, y).curvatures[1], _within(outline, x, y), x, y)


def _grid(outline: Array, spacing: float) -> tuple[Array, Array]:
    """Places ``spacing`` mm apart on both axes, from the outline's lowest to past its highest."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    x, y = (
        a + spacing * np.arange(max(2, int(np.ceil((b - a) / spacing - 1e-9)) + 1))
        for a, b in zip(low, high, strict=True)
    )
    return x, y


def _within(outline: Array, x: Array, y: Array) -> BoolArray:
    """(n, m) which places of a grid lie inside an outline."""
    inside = np.zeros(len(x) * len(y), dtype=bool)
    first, step = np.array([x[0], y[0]]), float(x[1] - x[0])
    inside[on_grid(outline, first, step, (len(y), len(x)))] = True
    return inside.reshape(len(y), len(x)).T


def _most(values: Array, within: BoolArray, x: Array, y: Array) -> Extreme:
    i, j = np.unravel_index(int(np.argmax(np.where(within, values, -np.inf))), values.shape)
    return Extreme(float(values[i, j]), (float(x[i]), float(y[j])))
