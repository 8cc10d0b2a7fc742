"""The chambers of a hollow body: level ones, and ones whose floor and ceiling follow carved plates.

A graduation is measured square to the outside, which takes some turns at each place
(plate/graduation.py). It is done once, on a coarse grid, and the cubic spline through it is the
inside from then on: for the mesh, for the map of wood left and for the volume alike.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from scipy import sparse
from scipy.interpolate import NdBSpline, RectBivariateSpline
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from carve.arrays import Array, IntArray
from carve.design.schema.body import Hollow
from carve.design.schema.graduation import Graduation as Asked
from carve.design.values.tolerances import LEAST_CHAMBER
from carve.errors import ShapeError
from carve.shape.body.cuts import Cut
from carve.shape.body.problems import ChamberLow, NoChamber
from carve.shape.numeric.jet import Jet
from carve.shape.planar.grid import grid_lines, on_grid
from carve.shape.planar.rounded_polygon import RoundedPolygon
from carve.shape.plate.carved_face import MAP_STEP, CarvedFace, Foundation
from carve.shape.plate.graduation import FlatRegion, GraduatedInside, GraduationRequest

INSIDE_STEP = 2.5  # mm between the places where the inside is found
GRID_MARGIN = 5.0  # mm that its grid reaches out of the outline
LEAST_PLAN = 1.0  # mm^2; less is no chamber


@dataclass(frozen=True)
class InnerSurface:
    """The inside of a face, from its edge plane outward: a height over the plan, mm.

    face, asked: its outside and its graduation, None where it is ``flat`` mm below the edge plane.
    rim: mm of the sides. foundation: any on the outline, whose map it is seen on.
    """

    face: CarvedFace | None
    asked: Asked | None
    rim: float
    flat: float
    foundation: Foundation

    @cached_property
    def spline(self) -> RectBivariateSpline:
        """The spline through the inside's places.

        Raises ShapeError where the outside's heights contradict each other.
        """
        x, y = self._lines
        asked = self.asked
        if self.face is None or asked is None:
            return RectBivariateSpline(x, y, np.full((len(x), len(y)), -self.flat))
        wanted = GraduationRequest(
            rim=self.rim,
            edge=asked.edge,
            cove=asked.cove,
            recurve=asked.recurve,
            at_recurve=asked.at_recurve,
            centre=asked.centre,
            at_centre=asked.at_centre,
            flats=tuple(
                FlatRegion(
                    flat.points, flat.height, math.tan(math.radians(flat.slope)), 0.0, flat.margin
                )
                for flat in asked.flats
            ),
        )
        surface = GraduatedInside(self.face.surface, self.face.foundation.distance, wanted)
        return RectBivariateSpline(x, y, surface.grid(x, y))

    @property
    def _lines(self) -> tuple[Array, Array]:
        around = self.foundation.points
        low, high = around.min(axis=0) - GRID_MARGIN, around.max(axis=0) + GRID_MARGIN
        counts = np.ceil((high - low) / INSIDE_STEP).astype(int) + 1
        return grid_lines(low, INSIDE_STEP, (int(counts[1]), int(counts[0])))

    @cached_property
    def map(self) -> Array:
        """(n, m) height in mm on the foundation's ``lines``."""
        return self.grid(*self.foundation.lines)

    def rounded_for_cache(self) -> "InnerSurface":
        """An inside that all those of nearly the same outside share."""
        return self if self.face is None else replace(self, face=self.face.rounded_for_cache())

    def rows(self, points: Array) -> sparse.csr_array:
        """(n, k) matrix to heights at points (n, 2) mm from ``coefficients``.

        It is the same for all insides over one outline.
        """
        found = NdBSpline.design_matrix(points, self.spline.get_knots(), 3)
        # scipy's ends at the last coefficient that any point reaches
        shape = (len(points), len(self.coefficients))
        return sparse.csr_array((found.data, found.indices, found.indptr), shape=shape)

    @property
    def coefficients(self) -> Array:
        """(k,) mm, of the spline."""
        return np.asarray(self.spline.get_coeffs())

    def __call__(self, x: Array, y: Array) -> Array:
        """(n,) height in mm at points x, y (n,) mm."""
        return np.asarray(self.spline.ev(x, y))

    def grid(self, x: Array, y: Array) -> Array:
        """(n, m) height in mm over x (n,) and y (m,) mm."""
        return np.asarray(self.spline(x, y))

    def grid_jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives over x (n,) and y (m,) mm."""
        orders = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))
        return Jet(*(np.asarray(self.spline(x, y, dx=i, dy=j)) for i, j in orders))


@dataclass(frozen=True, eq=False)
class Chamber(Cut):
    """A chamber between two insides. low, high: of the box around it.

    ceiling: from the top's edge plane up. under: from the back's edge plane down. thickness: mm
    between the two planes. foundation: whose map it is seen on.
    """

    ceiling: InnerSurface | None = None
    under: InnerSurface | None = None
    thickness: float = 0.0
    foundation: Foundation | None = None

    def heights(self, points: Array) -> tuple[Array, Array]:
        """(n,) and (n,): floor and ceiling over points (n, 2) in its plan."""
        assert self.ceiling is not None
        assert self.under is not None
        return -self.thickness - self.under(*points.T), self.ceiling(*points.T)

    def breaks(self, plan: BaseGeometry) -> list[float]:
        """None: its volume is not computed by level sections."""
        return []

    def level(self, z: float, plan: BaseGeometry) -> BaseGeometry | None:
        """None, likewise."""
        return None

    @cached_property
    def seen(self) -> tuple[Array, IntArray]:
        """The map's places in its plan: (n, 2) mm, and (n,) their indices, row by row."""
        assert self.foundation is not None
        x, y = self.foundation.lines
        ring = np.asarray(self.polygon.exterior.coords)[:-1]
        found = on_grid(ring, np.array([x[0], y[0]]), MAP_STEP, (len(y), len(x)))
        return np.stack([x[found % len(x)], y[found // len(x)]], axis=1), found

    @cached_property
    def seen_heights(self) -> tuple[Array, Array]:
        """(n,) and (n,): floor and ceiling at the places that are seen."""
        return self.over_map(self.seen[1])

    def over_map(self, found: IntArray) -> tuple[Array, Array]:
        """(n,) and (n,): floor and ceiling at places of the map, by their indices (n,)."""
        assert self.ceiling is not None
        assert self.under is not None
        # over a grid a spline takes a tenth of what it takes place by place
        under, ceiling = (np.take(one.map.T, found) for one in (self.under, self.ceiling))
        return -self.thickness - under, ceiling

    @property
    def share(self) -> float:
        """Area in mm^2 that each of those places stands for."""
        return float(self.polygon.area) / max(len(self.seen[0]), 1)


def graduated_chambers(
    plans: Sequence[shapely.Polygon],
    thickness: float,
    ceiling: InnerSurface,
    under: InnerSurface,
    key: str,
) -> list[Cut]:
    """The chambers of a hollow body with graduated plates, one over each plan.

    thickness: mm, of the body between its edge planes. ceiling, under: of top and back. key: a
    label for them. Raises ShapeError where floor and ceiling meet.
    """
    found: list[Cut] = []
    for number, part in enumerate(plans):
        corners = np.asarray(orient(part).exterior.coords)[:-1]
        name = "room" if len(plans) == 1 else f"room {number + 1}"
        chamber = Chamber(
            key=key,
            name=name,
            kind="chamber",
            opens="nowhere",
            plan=RoundedPolygon(corners, np.zeros(len(corners))),
            low=-math.inf,
            high=math.inf,
            ceiling=ceiling,
            under=under,
            thickness=thickness,
            foundation=ceiling.foundation,
        )
        heights = zip(chamber.seen_heights, chamber.heights(corners), strict=True)
        floor, over = (np.concatenate(seen_and_around) for seen_and_around in heights)
        least = float((over - floor).min())
        if least < LEAST_CHAMBER:
            raise ShapeError(ChamberLow(key, name, least, LEAST_CHAMBER))
        found.append(replace(chamber, low=float(floor.min()), high=float(over.max())))
    return found


def level_chambers(
    plans: Sequence[shapely.Polygon], low: float, high: float, key: str
) -> list[Cut]:
    """The chambers of a hollow body with level floor and ceiling, one over each plan. All in mm.

    key: a label for them.
    """
    found: list[Cut] = []
    for number, part in enumerate(plans):
        corners = np.asarray(orient(part).exterior.coords)[:-1]
        name = "chamber" if len(plans) == 1 else f"chamber {number + 1}"
        plan = RoundedPolygon(corners, np.zeros(len(corners)))
        found.append(Cut(key, name, "chamber", "nowhere", plan, low, high))
    return found


def chamber_plans(hollow: Hollow, outline: BaseGeometry, key: str) -> list[shapely.Polygon]:
    """What the sides and the blocks leave.

    key: a label to give back. Raises ShapeError where nothing is left.
    """
    left = outline.buffer(-hollow.rim, quad_segs=32)
    x0, _, x1, _ = outline.bounds
    if hollow.centre_block is not None:
        half = hollow.centre_block / 2
        left = shapely.difference(left, shapely.box(x0 - 1, -half, x1 + 1, half))
    for block, start, stop in (
        (hollow.neck_block, x0 - 1, None),
        (hollow.tail_block, None, x1 + 1),
    ):
        if block is not None:
            first = x1 - block.length if start is None else start
            last = block.length if stop is None else stop
            half = block.width / 2
            left = shapely.difference(left, shapely.box(first, -half, last, half))
    parts = [
        part
        for part in shapely.get_parts(left)
        if part.geom_type == "Polygon" and part.area > LEAST_PLAN
    ]
    if not parts:
        raise ShapeError(NoChamber(key))
    return sorted(parts, key=lambda part: float(part.centroid.y))
