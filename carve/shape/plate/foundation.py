"""Where a carved plate is held: an outline with its lines, made once and factored once.

The energy is that of the plan inside the recurve line alone. Along that line height and slope are
held, so the least energy inside it is what it would be if nothing lay outside; and cells outside
it count so little that they only carry the field on smoothly beyond its clamp.
"""

import itertools
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from carve.arrays import Array, BoolArray
from carve.errors import Problem, ShapeError
from carve.shape.numeric.bspline import (
    ORDER,
    PARTS_PER_CELL,
    Lattice,
    centres,
)
from carve.shape.planar.offset import across, inset, spaced
from carve.shape.plate.edge_distance import (
    KNOT_STEP,
    EdgeField,
    edge_field,
    plate_lattice,
    smooth_step,
)
from carve.shape.plate.problems import (
    PadBesideBody,
    PadNoPolygon,
    PadsTooNear,
    RecurveOnLedge,
    RecurveTooFar,
    TemplateBesideArch,
)
from carve.shape.plate.request import Lines
from carve.shape.plate.thin_plate import Hold, Plate, held, held_slope, plate

SAMPLES_PER_STEP = 4  # of a held line to a knot's step
STIFFNESS = 1e4  # of a held line; plate/thin_plate.py says what that gives way
FIRST_FACTOR = (
    30.0  # times as stiff: long arch and templates come before a recurve they end at steeply
)
OUTSIDE_SHARE = 1e-4  # share at which energy counts outside the arch: enough to have one answer
PAD_MARGIN = 20.0  # mm around a pad in which cove and recurve give way to it
PARTED_TOLERANCE = 0.02  # mm of the centre line that may lie outside the recurve line by rounding
FULL_LENGTH, LEAN_LENGTH = (
    0.12,
    0.25,
)  # lengths of the elastic foundation, as shares of the half width (see ``ArchFoundation.full``)
FOLLOWS, FOLLOWS_OVER = 1.0, 4.0  # lengths from the centre line (see ``ArchFoundation.full``)


@dataclass(frozen=True, eq=False)
class ArchFoundation:
    """An outline with the lines on it that hold a plate: made once, whatever the heights.

    outline: (n, 2) mm. lattice: of the arch's splines. edge: distance from the edge and the
    cove's share. inner: the plan inside the recurve line. reach: x in mm where the long arch
    starts and ends. widest: x in mm of the widest cross-section. share: of each part of each
    cell that lies in the arch. ring: points on the recurve line, directions square to it and mm
    each stands for.
    """

    outline: Array
    lines: Lines
    lattice: Lattice
    edge: EdgeField
    inner: shapely.Geometry
    reach: tuple[float, float]
    widest: float
    share: Array
    ring: tuple[Array, Array, Array]

    @cached_property
    def natural(self) -> Plate:
        """The plate on its lines and nothing else."""
        return self._plate(None)

    @cached_property
    def full(self) -> Plate:
        """The plate drawn up to the long arch's height: it rises at once, its top is broad.

        Near the centre line it is drawn to the long arch's slope and bending too. Drawn to its
        height alone it would round its hollow toward the tail, lie above it there, and be pulled
        down to it along a groove. Farther out the long arch has no say in slopes: in a horn it
        would tilt the plate below the recurve.
        """
        length = FULL_LENGTH * self.half_width
        away = np.abs(centres(self.lattice)[1]) / length
        follows = 1 - smooth_step((away - FOLLOWS) / FOLLOWS_OVER)
        return self._plate(length, np.broadcast_to(follows, self.share.shape))

    @cached_property
    def lean(self) -> Plate:
        """The plate drawn down to the recurve's level: it rises late, to a narrow top."""
        return self._plate(LEAN_LENGTH * self.half_width)

    @cached_property
    def half_width(self) -> float:
        """Mm from the centre line to the recurve on the wider side of the widest section."""
        low, high = self.widest_span
        return max(-low, high)

    @cached_property
    def widest_span(self) -> tuple[float, float]:
        """From where to where in y the widest section lies inside the recurve line."""
        return self.span(self.widest)

    def span(self, x: float) -> tuple[float, float]:
        """From where to where in y a cross-section lies inside the recurve line."""
        found = across(self.inner, x)
        if found is None:
            raise ShapeError(TemplateBesideArch(self.lines.key, x, self.reach))
        return found

    @cached_property
    def centre_samples(self) -> Array:
        """(n, 2) mm on the centre line, where the long arch is held."""
        x = _between(*self.reach, self.lattice.step / SAMPLES_PER_STEP)
        return self._off_pads(np.stack([x, np.zeros_like(x)], axis=1))

    @cached_property
    def template_samples(self) -> tuple[Array, ...]:
        """For each template (n, 2) mm on its line."""
        found = []
        for x in self.lines.templates:
            y = _between(*self.span(x), self.lattice.step / SAMPLES_PER_STEP)
            found.append(self._off_pads(np.stack([np.full_like(y, x), y], axis=1)))
        return tuple(found)

    @cached_property
    def pad_samples(self) -> tuple[Array, ...]:
        """For each pad (n, 2) mm over it, rim included."""
        spacing = self.lattice.step / SAMPLES_PER_STEP
        found = []
        for outline in self.lines.pads:
            region = shapely.Polygon(outline)
            low_x, low_y, high_x, high_y = region.bounds
            x, y = _between(low_x, high_x, spacing), _between(low_y, high_y, spacing)
            grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
            border = shapely.segmentize(region.exterior, spacing)
            every = np.vstack([grid[shapely.contains_xy(region, grid)], _corners(border)])
            found.append(every[shapely.contains_xy(_area(self.outline), every)])
        return tuple(found)

    def _off_pads(self, points: Array) -> Array:
        for outline in self.lines.pads:
            points = points[~shapely.contains_xy(shapely.Polygon(outline), points)]
        return points

    def _plate(self, length: float | None, follows: Array | None = None) -> Plate:
        spacing = self.lattice.step / SAMPLES_PER_STEP
        points, square, stands_for = self.ring
        holds: list[Hold] = [
            held(self.lattice, points, STIFFNESS * stands_for),
            held_slope(self.lattice, points, square, STIFFNESS * stands_for),
            held(self.lattice, self.centre_samples, FIRST_FACTOR * STIFFNESS * spacing),
            *(
                held(self.lattice, p, FIRST_FACTOR * STIFFNESS * spacing)
                for p in self.template_samples
            ),
            *(held(self.lattice, p, STIFFNESS * spacing**2) for p in self.pad_samples),
        ]
        return plate(self.lattice, holds, self._free(), length, self.share, follows)

    def _free(self) -> BoolArray:
        """Which B-splines reach the outline's inside."""
        x, y = centres(self.lattice)
        inside = _inside(_area(self.outline), x, y)
        across_, up = self.lattice.cells
        cells = inside.reshape(across_, PARTS_PER_CELL, up, PARTS_PER_CELL).any(axis=(1, 3))
        free = np.zeros(self.lattice.shape, dtype=bool)
        for i, j in np.ndindex(ORDER, ORDER):
            free[i : i + across_, j : j + up] |= cells
        return free.ravel()


def arch_foundation(outline: Array, lines: Lines) -> ArchFoundation:
    """Make the foundation for lines on an outline (n, 2) mm, closed and counter-clockwise.

    Raises ShapeError where the outline leaves no room for them.
    """
    if lines.recurve <= lines.ledge:
        raise ShapeError(RecurveOnLedge(lines.key, lines.recurve, lines.ledge))
    _require_pads(outline, lines)
    pieces = inset(outline, lines.recurve)
    inner = shapely.union_all(pieces)
    reach = across(inner) if pieces else None
    if reach is None:
        raise ShapeError(RecurveTooFar(lines.key, lines.recurve, "nothing left"))
    centre = shapely.LineString([(reach[0], 0.0), (reach[1], 0.0)])
    if centre.intersection(inner).length < reach[1] - reach[0] - PARTED_TOLERANCE:
        raise ShapeError(RecurveTooFar(lines.key, lines.recurve, "parted"))
    lattice = plate_lattice(outline)
    step = lattice.step
    pads = [shapely.Polygon(corners) for corners in lines.pads]
    around_pads = shapely.union_all([pad.buffer(PAD_MARGIN) for pad in pads])
    at_edge = [pad for pad in pads if not inner.contains(pad.buffer(PAD_MARGIN))]
    arched = shapely.union(inner, shapely.intersection(around_pads, _area(outline)))
    share = np.where(_inside(arched, *centres(lattice)), 1.0, OUTSIDE_SHARE)
    rings = [spaced(_corners(part.exterior)[:-1], step / SAMPLES_PER_STEP) for part in pieces]
    points, square, stands_for = (np.concatenate(parts) for parts in zip(*rings, strict=True))
    off_pads = ~shapely.contains_xy(around_pads, points)
    return ArchFoundation(
        outline,
        lines,
        lattice,
        edge_field(outline, lattice, (lines.ledge, lines.recurve), at_edge, PAD_MARGIN),
        inner,
        reach,
        _widest(inner, reach, step),
        share,
        (points[off_pads], square[off_pads], stands_for[off_pads]),
    )


def _require_pads(outline: Array, lines: Lines) -> None:
    problems: list[Problem] = []
    for i, corners in enumerate(lines.pads):
        if len(corners) < 3 or not shapely.Polygon(corners).is_valid:
            problems.append(PadNoPolygon(lines.key, i))
        elif not shapely.Polygon(corners).intersects(_area(outline)):
            problems.append(PadBesideBody(lines.key, i))
    if problems:
        raise ShapeError(*problems)
    regions = [shapely.Polygon(corners) for corners in lines.pads]
    problems = [
        PadsTooNear(lines.key, j, i, 2 * KNOT_STEP)
        for i, j in itertools.combinations(range(len(regions)), 2)
        if regions[i].distance(regions[j]) < 2 * KNOT_STEP
    ]
    if problems:
        raise ShapeError(*problems)


def _widest(inner: shapely.Geometry, reach: tuple[float, float], step: float) -> float:
    places = np.arange(np.ceil(reach[0]), reach[1], step / 2)
    spans = [across(inner, float(x)) or (0.0, 0.0) for x in places]
    return float(places[int(np.argmax([high - low for low, high in spans]))])


def _area(outline: Array) -> shapely.Polygon:
    area = shapely.Polygon(outline)
    shapely.prepare(area)
    return area


def _corners(line: shapely.Geometry) -> Array:
    return np.asarray(shapely.get_coordinates(line))


def _inside(region: shapely.Geometry, x: Array, y: Array) -> BoolArray:
    """(n, m) which places over x (n,) and y (m,) mm lie in a region."""
    shapely.prepare(region)
    return np.asarray(shapely.contains_xy(region, x[:, None], y[None, :]))


def _between(low: float, high: float, spacing: float) -> Array:
    """Evenly spaced places, each in the middle of its piece; ``spacing`` mm at most."""
    count = max(2, int(np.ceil((high - low) / spacing)))
    return np.asarray(low + (np.arange(count) + 0.5) * (high - low) / count)
