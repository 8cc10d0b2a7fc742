"""What a builder decides of a carved plate, in plain numbers: its lines and their heights."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from carve.arrays import Array

PlanPoint = tuple[float, float]


@dataclass(frozen=True)
class StationHeight:
    """A height through which the long arch runs. x, height: mm, above the edge plane."""

    x: float
    height: float


@dataclass(frozen=True)
class Template:
    """A cross template: heights beside the centre line; on it the long arch's holds.

    x: mm. heights: (y, height) mm, in any order, none on the centre line.
    """

    x: float
    heights: tuple[PlanPoint, ...]


@dataclass(frozen=True)
class Pad:
    """A region held to a plane, z = height + slope_x * x + slope_y * y.

    name: to speak of it. outline: its corners, x and y mm. height: mm, of the plane at the
    origin. slope_x, slope_y: its rise per mm.
    """

    name: str
    outline: tuple[PlanPoint, ...]
    height: float
    slope_x: float = 0.0
    slope_y: float = 0.0

    def at(self, x: Array, y: Array) -> Array:
        """(n,) height in mm of the plane."""
        return np.asarray(self.height + self.slope_x * x + self.slope_y * y)

    @cached_property
    def region(self) -> shapely.Polygon:
        """Its plan."""
        return shapely.Polygon(self.outline)


@dataclass(frozen=True)
class Lines:
    """What is held and where, without how high: all that a ``Ground`` depends on but the outline.

    ledge: mm, width of the flat rim. recurve: mm inside the outline where the plate is lowest.
    templates: (k,) x in mm. pads: their corners. key: the table's name, to speak of it.
    """

    ledge: float
    recurve: float
    templates: tuple[float, ...]
    pads: tuple[tuple[PlanPoint, ...], ...]
    key: str


@dataclass(frozen=True)
class Arch:
    """A carved plate in plain numbers, mm; heights above the edge plane.

    ledge: width of the flat rim. recurve: how far inside the outline its line runs, more than the
    ledge. depth: of the recurve below the edge plane, 0 or more. stations: of the long arch, one
    at least; the plate is held to the curve through them along the whole centre line. falloff: on
    the widest cross-section, from the recurve line to where the surface has risen half-way to its
    crown; None for what least energy gives. key: the table's name.
    """

    ledge: float
    recurve: float
    depth: float
    stations: tuple[StationHeight, ...]
    templates: tuple[Template, ...] = ()
    pads: tuple[Pad, ...] = ()
    falloff: float | None = None
    key: str = "arch"

    @property
    def lines(self) -> Lines:
        """What its ground depends on."""
        places = tuple(template.x for template in self.templates)
        pads = tuple(pad.outline for pad in self.pads)
        return Lines(self.ledge, self.recurve, places, pads, self.key)
