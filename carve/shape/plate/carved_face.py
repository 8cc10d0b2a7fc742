"""From what the builder says of a carved top or back to its surface.

What depends on heights and what does not are kept apart: a ``Foundation`` is made once for an
outline and the lines on it, and serves every height that a dial is turned to.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely

from carve.arrays import Array, BoolArray
from carve.design.schema.plate import CarvedPlate, NeckPlane
from carve.shape.numeric.bspline import Spline
from carve.shape.numeric.jet import Jet
from carve.shape.planar.grid import GRID_TOLERANCE, grid_lines, grid_over, on_grid
from carve.shape.planar.outline import Outline
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE
from carve.shape.plate.arch import ArchSurface, Map, arch_surface, long_arch, map_on
from carve.shape.plate.contour_arch import (
    ContourArch,
    ContourSurface,
    contour_surface,
    soft_distance,
)
from carve.shape.plate.extremes import standing_water
from carve.shape.plate.foundation import PAD_MARGIN, ArchFoundation, arch_foundation
from carve.shape.plate.request import Arch, Lines, Pad, StationHeight, Template

RIDGE_WIDTH = 12.0  # mm; of a ridge where the builder says nothing
NECK_PLANE = "neck plane"
CACHE_STEP = 1.0  # mm to which heights are rounded where a plan of triangles serves all of them
CACHE_SLOPE = 0.01
MAP_STEP = 1.0  # mm
BEYOND_PAD = 6.0  # mm, a knot's step
PROBE_STEP = 2.0  # mm between the places where slope and curvature are looked at
SECTIONS = 2  # of these from one section to the next that is looked at for hollows

PlateSurface = ArchSurface | ContourSurface
"""Either way of giving a carved plate."""


@dataclass(frozen=True)
class RidgeWidth:
    """Width of the softened ridge, on which a contour plate's foundation depends. mm: mm."""

    mm: float


@dataclass(frozen=True, eq=False)
class Foundation:
    """What a carved plate lies on, whatever its heights.

    outline: seen from above. arch: the lines of an arch with its splines, None of a plate by
    contours. softened: mm from the edge of such a plate, creases rounded; None of an arch.
    """

    outline: Outline
    arch: ArchFoundation | None
    softened: Spline | None

    @cached_property
    def points(self) -> Array:
        """(n, 2) mm around the outline."""
        return self.outline.points(CURVE_TOLERANCE)

    @property
    def distance(self) -> Spline:
        """Mm from the edge, smooth, positive inside."""
        if self.arch is not None:
            return self.arch.edge.distance
        assert self.softened is not None
        return self.softened

    @cached_property
    def lines(self) -> tuple[Array, Array]:
        """X (n,) and y (m,) mm of a grid over the outline's box, ``MAP_STEP`` mm apart."""
        first, size = grid_over(self.outline.points(GRID_TOLERANCE), MAP_STEP)
        return grid_lines(first, MAP_STEP, size)

    @cached_property
    def map(self) -> Map | None:
        """That grid, made ready for the heights of many arches."""
        return None if self.arch is None else map_on(self.arch, *self.lines)

    @cached_property
    def probes(self) -> tuple[Array, Array]:
        """X (n,) and y (m,) mm of a grid as ``lines``, ``PROBE_STEP`` mm apart."""
        first, size = grid_over(self.outline.points(GRID_TOLERANCE), PROBE_STEP)
        return grid_lines(first, PROBE_STEP, size)

    @cached_property
    def probed(self) -> BoolArray:
        """(n, m) which of its places lie within the outline."""
        x, y = self.probes
        inside = np.zeros(len(x) * len(y), dtype=bool)
        first = np.array([x[0], y[0]])
        inside[on_grid(self.points, first, PROBE_STEP, (len(y), len(x)))] = True
        return inside.reshape(len(y), len(x)).T

    @cached_property
    def sections(self) -> tuple[Array, Array]:
        """X (n,) and y (m,) mm of sections across and along: at every second of ``probes``."""
        x, y = self.probes
        return x[::SECTIONS], y[::SECTIONS]

    @cached_property
    def inner(self) -> BoolArray:
        """(n, m) which places on ``sections`` lie within the recurve line, of an arch."""
        assert self.arch is not None
        within = self.probed[::SECTIONS, ::SECTIONS]
        return within & (self.distance.grid(*self.sections) > self.arch.lines.recurve)

    @cached_property
    def in_trough(self) -> BoolArray:
        """(n, m) which of them lie no more than a knot's step inside the recurve line."""
        assert self.arch is not None
        end = self.arch.lines.recurve + self.arch.lattice.step
        return self.inner & (self.distance.grid(*self.sections) < end)

    @cached_property
    def near_pads(self) -> BoolArray:
        """(n, m) which of them lie on a pad, or where the plate comes from it, of an arch."""
        assert self.arch is not None
        x, y = self.sections
        found = np.zeros(self.inner.shape, dtype=bool)
        for outline in self.arch.lines.pads:
            around = shapely.Polygon(outline).buffer(PAD_MARGIN)
            shapely.prepare(around)
            found |= shapely.contains_xy(around, x[:, None], y)
        return found

    @cached_property
    def edge_nearer(self) -> tuple[Array, Array]:
        """(n, m) mm by which the edge comes nearer there than on both sides, along x and along y.

        At places on ``sections`` within the recurve line, of an arch.
        """
        away = self.distance.grid(*self.sections)
        return standing_water(away.T, self.inner.T).T, standing_water(away, self.inner)

    @cached_property
    def share(self) -> Jet | None:
        """How the rim comes in there, of an arch."""
        return None if self.arch is None else self.arch.edge.share_grid_jet(*self.probes)


def make_foundation(outline: Outline, asked: Lines | RidgeWidth) -> Foundation:
    """The foundation of a plate.

    Raises ShapeError where the outline leaves no room for its lines.
    """
    points = outline.points(CURVE_TOLERANCE)
    if isinstance(asked, RidgeWidth):
        return Foundation(outline, None, soft_distance(points, asked.mm))
    return Foundation(outline, arch_foundation(points, asked), None)


@dataclass(frozen=True)
class CarvedFace:
    """A carved face: its heights on its foundation.

    foundation: outline and lines. asked: heights in plain numbers, pads held a little beyond
    what must be flat. pads: those, as far as they must be.
    """

    foundation: Foundation
    asked: Arch | ContourArch
    pads: tuple[Pad, ...] = ()

    @cached_property
    def surface(self) -> PlateSurface:
        """Height over the plan, from the edge plane outward.

        Raises ShapeError where heights contradict each other.
        """
        if isinstance(self.asked, Arch):
            assert self.foundation.arch is not None
            return arch_surface(self.foundation.arch, self.asked)
        return contour_surface(self.foundation.distance, self.asked)

    @cached_property
    def map(self) -> Array:
        """(n, m) height in mm on the foundation's ``lines``."""
        if self.foundation.map is not None and isinstance(self.surface, ArchSurface):
            return self.foundation.map.heights(self.surface)
        return self.surface.grid(*self.foundation.lines)

    @cached_property
    def jet(self) -> Jet:
        """Height, slopes and second derivatives on the foundation's ``probes``."""
        surface, share = self.surface, self.foundation.share
        if share is not None and isinstance(surface, ArchSurface):
            return surface.with_cove(share, surface.rise.grid_jet(*self.foundation.probes))
        return surface.grid_jet(*self.foundation.probes)

    def most(self, values: Array) -> tuple[float, tuple[float, float]]:
        """The greatest of values (n, m) on the foundation's ``probes``, and its x and y in mm."""
        x, y = self.foundation.probes
        inside = np.where(self.foundation.probed, values, -np.inf)
        i, j = np.unravel_index(int(np.argmax(inside)), inside.shape)
        return float(values[i, j]), (float(x[i]), float(y[j]))

    def on_centre_line(self, x: float) -> float:
        """Height in mm on the centre line. An arch of many heights is not solved for it."""
        if isinstance(self.asked, Arch) and any(p.name == NECK_PLANE for p in self.asked.pads):
            assert self.foundation.arch is not None
            low, high = self.foundation.arch.reach
            if low <= x <= high:
                return float(long_arch(self.foundation.arch, self.asked)(x))
        return float(self.surface(np.array([x]), np.zeros(1))[0])

    @property
    def rim_width(self) -> float:
        """Mm from the outline up to which the surface goes along with it."""
        if isinstance(self.asked, Arch):
            return self.asked.recurve
        return self.asked.profile[-1][0]

    @property
    def explicit_points(self) -> Iterator[tuple[float, float]]:
        """Places, x and y in mm, at which a height is asked for."""
        if isinstance(self.asked, Arch):
            yield from ((station.x, 0.0) for station in self.asked.stations)
            for template in self.asked.templates:
                yield from ((template.x, y) for y, _ in template.heights)

    def rounded_for_cache(self) -> "CarvedFace":
        """A carving that all those with nearly the same heights share."""
        if isinstance(self.asked, ContourArch):
            profile = tuple((at, _coarse(height)) for at, height in self.asked.profile)
            return CarvedFace(self.foundation, replace(self.asked, profile=profile))
        arch = self.asked
        return CarvedFace(
            self.foundation,
            replace(
                arch,
                depth=round(2 * arch.depth) / 2,
                stations=tuple(replace(s, height=_coarse(s.height)) for s in arch.stations),
                templates=tuple(
                    replace(t, heights=tuple((y, _coarse(z)) for y, z in t.heights))
                    for t in arch.templates
                ),
                pads=tuple(
                    replace(
                        pad,
                        height=_coarse(pad.height),
                        slope_x=_coarse(pad.slope_x, CACHE_SLOPE),
                        slope_y=_coarse(pad.slope_y, CACHE_SLOPE),
                    )
                    for pad in arch.pads
                ),
                falloff=None if arch.falloff is None else _coarse(arch.falloff, 10 * CACHE_STEP),
            ),
        )


def _coarse(value: float, step: float = CACHE_STEP) -> float:
    return step * round(value / step)


@dataclass(frozen=True)
class UnderBoard:
    """The fretboard's end over the body, seen from above in the glue plane.

    reach: mm from the body's edge to the board's end. half: its half width at the body's edge,
    flare: its growth per mm.
    """

    reach: float
    half: float
    flare: float


def neck_pad(plane: NeckPlane, board: UnderBoard, angle: float, height: float) -> Pad:
    """The pad in the glue plane. angle: radians that the neck leans back.

    height: mm of the glue plane above the edge plane at the body's edge. Its plan is given along
    the glue plane, so it stays as it is whatever the angle.
    """
    first, last = -plane.margin, board.reach + plane.margin
    near, far = (board.half + board.flare * x + plane.margin for x in (first, last))
    corners = ((first, -near), (last, -far), (last, far), (first, near))
    return Pad(NECK_PLANE, corners, height - plane.clearance, math.tan(angle))


def pads_of(plate: CarvedPlate) -> tuple[Pad, ...]:
    """The pads that a plate says itself."""
    return tuple(
        Pad(
            pad.name,
            pad.points,
            pad.height,
            math.tan(math.radians(pad.slope)),
            math.tan(math.radians(pad.tilt)),
        )
        for pad in plate.pads
    )


def plate_request(plate: CarvedPlate, key: str, pads: tuple[Pad, ...]) -> Arch | ContourArch:
    """What a plate asks for, in plain numbers. pads: all of them, the neck's plane too."""
    if plate.contours:
        softness = RIDGE_WIDTH if plate.softness is None else plate.softness
        return ContourArch(plate.ledge, plate.contours, softness, key)
    assert plate.recurve is not None  # the rules see to it
    return Arch(
        ledge=plate.ledge,
        recurve=plate.recurve,
        depth=plate.recurve_depth or 0.0,
        stations=tuple(StationHeight(station.x, station.height) for station in plate.stations),
        templates=tuple(Template(t.x, t.heights) for t in plate.templates),
        pads=tuple(map(_held, pads)),
        falloff=plate.falloff,
        key=key,
    )


def _held(pad: Pad) -> Pad:
    """A pad held a little further out: along its rim the splines already turn out of its plane."""
    plan = pad.region
    if not plan.is_valid or plan.is_empty:
        return pad  # the foundation says what is wrong with it
    wider = plan.buffer(BEYOND_PAD, join_style="mitre")
    corners = tuple((float(x), float(y)) for x, y in wider.exterior.coords[:-1])
    return replace(pad, outline=corners)


def foundation_key(asked: Arch | ContourArch) -> Lines | RidgeWidth:
    """What the foundation of a plate depends on."""
    return asked.lines if isinstance(asked, Arch) else RidgeWidth(asked.softness)
