"""A carved plate as a builder defines it: long arch, cross templates, recurve, ledge, falloff.

From the outline inward: the *ledge* is flat. From its inner edge a cove of one given section
leads down to the *recurve* line, the outline's offset, where the plate is level and lowest.
Inside that line lies the *arch*, the surface of least bending energy (shape/plate.py) that is
clamped along the recurve and passes through the long arch, the cross templates and the pads.

Why the cove is drawn and not solved: once height and slope are held along a closed line, what
lies inside and what lies outside no longer know of each other. The least energy outside is a
strip a few mm wide that would meet ledge and arch with a jump in curvature. Drawn, it meets both
without one, and the ledge is flat to the last bit.
It is laid over the arch as a share: z = share^3 * rise - share * depth, the share going with the
distance from the edge from 0 at the ledge to 1 at the recurve, with level, uncurved ends. The cube
takes the arch's own run beyond its clamp out of the cove before it could lift its foot.

Long arch and templates are the smooth curves of shape/along.py: exactly through their heights,
never beyond them, and level where they end at the recurve.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy import sparse
from scipy.interpolate import BPoly

from carve.arrays import Array, BoolArray
from carve.errors import DesignError
from carve.shape.along import smooth_through
from carve.shape.bspline import (
    ORDER,
    PARTS,
    Lattice,
    Spline,
    along_x,
    centres,
    fitted,
    lattice_over,
    line,
    refined_step,
    rows,
)
from carve.shape.distance import across, inset, spaced
from carve.shape.jet import Jet
from carve.shape.plate import Hold, Plate, held, held_slope, plate
from carve.shape.rim import Rim, rim

STEP = 6.0  # mm between knots at most
CELLS = 50  # along the shorter side of a plate at least
MARGIN = 10.0  # mm of the box beyond the outline
SAMPLES = 4  # of a held line to a knot's step
STIFF = 1e4  # of a held line; shape/plate.py says what that gives way
FIRST = 30.0  # times as stiff: long arch and templates come before a recurve they end at steeply
OUTSIDE = 1e-4  # share at which energy counts outside the arch: enough to have one answer
PAD_MARGIN = 20.0  # mm around a pad in which cove and recurve make room for it
SAME = 0.02  # mm within which a station agrees with the pad it stands on
FULL, LEAN = 0.12, 0.25  # lengths of bedding, as shares of the half width (see ``Ground.full``)

Point = tuple[float, float]


@dataclass(frozen=True)
class Station:
    """A height of the long arch. x, height: mm, above the edge plane."""

    x: float
    height: float


@dataclass(frozen=True)
class Template:
    """A cross template: heights beside the centre line; on it the long arch's holds.

    x: mm. heights: (y, height) mm, in any order, none on the centre line.
    """

    x: float
    heights: tuple[Point, ...]


@dataclass(frozen=True)
class Pad:
    """A region held to a plane, z = height + along * x + beside * y.

    name: to speak of it. outline: its corners, x and y mm. height: mm. along, beside: slopes.
    """

    name: str
    outline: tuple[Point, ...]
    height: float
    along: float = 0.0
    beside: float = 0.0

    def at(self, x: Array, y: Array) -> Array:
        """(n,) height in mm of the plane."""
        return np.asarray(self.height + self.along * x + self.beside * y)

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
    pads: tuple[tuple[Point, ...], ...]
    key: str


@dataclass(frozen=True)
class Arch:
    """A carved plate in plain numbers, mm; heights above the edge plane.

    ledge: width of the flat rim. recurve: how far inside the outline its line runs, more than the
    ledge. depth: of the recurve below the edge plane, 0 or more. stations: of the long arch, one
    at least. falloff: on the widest cross-section, from the recurve line to where the surface has
    risen half-way to its crown; None for what least energy gives. key: the table's name.
    """

    ledge: float
    recurve: float
    depth: float
    stations: tuple[Station, ...]
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


@dataclass(frozen=True, eq=False)
class Ground:
    """An outline with the lines on it that hold a plate: made once, whatever the heights.

    outline: (n, 2) mm. lattice: of the arch's splines. rim: distance from the edge and the
    cove's share. inner: the plan inside the recurve line. reach: x in mm where the long arch
    starts and ends. widest: x in mm of the widest cross-section. share: of each part of each
    cell that lies in the arch. ring: points on the recurve line, directions square to it and mm
    each stands for.
    """

    outline: Array
    lines: Lines
    lattice: Lattice
    rim: Rim
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
        """The plate drawn up to the long arch's height: it rises at once, its top is broad."""
        return self._plate(FULL * self.half_width)

    @cached_property
    def lean(self) -> Plate:
        """The plate drawn down to the recurve's level: it rises late, to a narrow top."""
        return self._plate(LEAN * self.half_width)

    @cached_property
    def half_width(self) -> float:
        """Mm from the centre line to the recurve on the wider side of the widest section."""
        low, high = self.widest_span
        return max(-low, high)

    @cached_property
    def widest_span(self) -> tuple[float, float]:
        """From where to where in y the widest section lies inside the recurve line."""
        return self.span(self.widest)

    def places(self, points: Array) -> "Places":
        """Points (n, 2) mm at which the heights of many surfaces will be wanted."""
        return Places(rows(self.lattice, *points.T), self.rim.share(*points.T))

    def map(self, x: Array, y: Array) -> "Map":
        """A grid over x (n,) and y (m,) mm on which the heights of many surfaces will be wanted."""
        along, beside = line(self.lattice, 0, x), line(self.lattice, 1, y)
        return Map(along, beside, self.rim.share_grid(x, y))

    def span(self, x: float) -> tuple[float, float]:
        """From where to where in y a cross-section lies inside the recurve line."""
        found = across(self.inner, x)
        if found is None:
            raise DesignError(
                [
                    f"{self.lines.key}.templates: at x = {x:g} mm the body is nowhere inside the "
                    f"recurve line, which runs from {self.reach[0]:.1f} to {self.reach[1]:.1f} mm"
                ]
            )
        return found

    @cached_property
    def centre_samples(self) -> Array:
        """(n, 2) mm on the centre line, where the long arch is held."""
        x = _between(*self.reach, self.lattice.step / SAMPLES)
        return self._off_pads(np.stack([x, np.zeros_like(x)], axis=1))

    @cached_property
    def template_samples(self) -> tuple[Array, ...]:
        """For each template (n, 2) mm on its line."""
        found = []
        for x in self.lines.templates:
            y = _between(*self.span(x), self.lattice.step / SAMPLES)
            found.append(self._off_pads(np.stack([np.full_like(y, x), y], axis=1)))
        return tuple(found)

    @cached_property
    def pad_samples(self) -> tuple[Array, ...]:
        """For each pad (n, 2) mm over it, rim included."""
        spacing = self.lattice.step / SAMPLES
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

    def _plate(self, length: float | None) -> Plate:
        spacing = self.lattice.step / SAMPLES
        points, square, stands_for = self.ring
        holds: list[Hold] = [
            held(self.lattice, points, STIFF * stands_for),
            held_slope(self.lattice, points, square, STIFF * stands_for),
            held(self.lattice, self.centre_samples, FIRST * STIFF * spacing),
            *(held(self.lattice, p, FIRST * STIFF * spacing) for p in self.template_samples),
            *(held(self.lattice, p, STIFF * spacing**2) for p in self.pad_samples),
        ]
        return plate(self.lattice, holds, self._free(), length, self.share)

    def _free(self) -> BoolArray:
        """Which B-splines reach the outline's inside."""
        x, y = centres(self.lattice)
        inside = _inside(_area(self.outline), x, y)
        across_, up = self.lattice.cells
        cells = inside.reshape(across_, PARTS, up, PARTS).any(axis=(1, 3))
        free = np.zeros(self.lattice.shape, dtype=bool)
        for i, j in np.ndindex(ORDER, ORDER):
            free[i : i + across_, j : j + up] |= cells
        return free.ravel()


def ground(outline: Array, lines: Lines) -> Ground:
    """Lay the lines on an outline (n, 2) mm, closed and counter-clockwise.

    Raises DesignError where the outline leaves no room for them.
    """
    if lines.recurve <= lines.ledge:
        raise DesignError(
            [
                f"{lines.key}.recurve: {lines.recurve:g} mm must be more than the ledge's width "
                f"({lines.ledge:g} mm), since the recurve runs inside the ledge"
            ]
        )
    _require_pads(outline, lines)
    pieces = inset(outline, lines.recurve)
    inner = shapely.union_all(pieces)
    reach = across(inner) if pieces else None
    if reach is None:
        raise DesignError(
            [
                f"{lines.key}.recurve: {lines.recurve:g} mm from the edge nothing is left of the "
                "body on its centre line; it must be less than half the body's width"
            ]
        )
    centre = shapely.LineString([(reach[0], 0.0), (reach[1], 0.0)])
    if centre.intersection(inner).length < reach[1] - reach[0] - SAME:
        raise DesignError(
            [
                f"{lines.key}.recurve: {lines.recurve:g} mm from the edge the body is parted "
                "on its centre line, so the long arch cannot run from end to end; make it less"
            ]
        )
    low, high = outline.min(axis=0), outline.max(axis=0)
    step = refined_step(float((high - low).min()), STEP, CELLS)
    lattice = lattice_over(low - MARGIN, high + MARGIN, step)
    pads = [shapely.Polygon(corners) for corners in lines.pads]
    room = shapely.union_all([pad.buffer(PAD_MARGIN) for pad in pads])
    at_edge = [pad for pad in pads if not inner.contains(pad.buffer(PAD_MARGIN))]
    arched = shapely.union(inner, shapely.intersection(room, _area(outline)))
    share = np.where(_inside(arched, *centres(lattice)), 1.0, OUTSIDE)
    rings = [spaced(_corners(part.exterior)[:-1], step / SAMPLES) for part in pieces]
    points, square, stands_for = (np.concatenate(parts) for parts in zip(*rings, strict=True))
    clear = ~shapely.contains_xy(room, points)
    return Ground(
        outline,
        lines,
        lattice,
        rim(outline, lattice, (lines.ledge, lines.recurve), at_edge, PAD_MARGIN),
        inner,
        reach,
        _widest(inner, reach, step),
        share,
        (points[clear], square[clear], stands_for[clear]),
    )


def _require_pads(outline: Array, lines: Lines) -> None:
    problems = []
    for i, corners in enumerate(lines.pads):
        key = f"{lines.key}.pads[{i}].outline"
        if len(corners) < 3 or not shapely.Polygon(corners).is_valid:
            problems.append(f"{key}: it must have at least 3 corners, and its sides may not cross")
        elif not shapely.Polygon(corners).intersects(_area(outline)):
            problems.append(f"{key}: the pad lies beside the body and would hold nothing")
    if problems:
        raise DesignError(problems)
    regions = [shapely.Polygon(corners) for corners in lines.pads]
    for i, j in itertools.combinations(range(len(regions)), 2):
        if regions[i].distance(regions[j]) < 2 * STEP:
            problems.append(
                f"{lines.key}.pads[{j}].outline: the pad lies less than {2 * STEP:g} mm from "
                f"pads[{i}], too near for the plate to come from one plane to the other"
            )
    if problems:
        raise DesignError(problems)


def _widest(inner: shapely.Geometry, reach: tuple[float, float], step: float) -> float:
    places = np.arange(np.ceil(reach[0]), reach[1], step / 2)
    spans = [across(inner, float(x)) or (0.0, 0.0) for x in places]
    return float(places[int(np.argmax([high - low for low, high in spans]))])


@dataclass(frozen=True, eq=False)
class Places:
    """Points on a ground. rows: from coefficients to the points. share: (n,) of the rim."""

    rows: sparse.csr_array
    share: Array

    def heights(self, surface: "ArchSurface") -> Array:
        """(n,) mm of a surface on the same ground."""
        rise = self.rows @ surface.rise.coefficients.ravel()
        return _laid_over(rise, surface.depth, self.share)


@dataclass(frozen=True, eq=False)
class Map:
    """A grid on a ground. along, beside: of its lines. share: (n, m) of the rim."""

    along: sparse.csr_array
    beside: sparse.csr_array
    share: Array

    def heights(self, surface: "ArchSurface") -> Array:
        """(n, m) mm of a surface on the same ground."""
        rise = (self.beside @ (self.along @ surface.rise.coefficients).T).T
        return _laid_over(rise, surface.depth, self.share)


@dataclass(frozen=True, eq=False)
class ArchSurface:
    """A carved plate's surface. rise: mm above the recurve's level, inside the recurve line."""

    ground: Ground
    rise: Spline
    depth: float

    def __call__(self, x: Array, y: Array) -> Array:
        """(n,) height in mm at points x, y (n,) mm."""
        return _laid_over(self.rise(x, y), self.depth, self.ground.rim.share(x, y))

    def grid(self, x: Array, y: Array) -> Array:
        """(n, m) height in mm over x (n,) and y (m,) mm."""
        return _laid_over(self.rise.grid(x, y), self.depth, self.ground.rim.share_grid(x, y))

    def jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives at points x, y (n,) mm."""
        share = self.ground.rim.share_jet(x, y)
        return (share * share * self.rise.jet(x, y) - self.depth) * share

    def grid_jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives over x (n,) and y (m,) mm."""
        share = self.ground.rim.share_grid_jet(x, y)
        return (share * share * self.rise.grid_jet(x, y) - self.depth) * share


def _laid_over(rise: Array, depth: float, share: Array) -> Array:
    """(...) height in mm of the arch with its cove: the rise counts by the share's cube."""
    return np.asarray((share * share * rise - depth) * share)


def arch_surface(ground: Ground, arch: Arch) -> ArchSurface:
    """The surface of an arch on its ground.

    Raises DesignError where heights contradict each other or the falloff is out of reach.
    """
    _require_agreement(ground, arch)
    long = long_arch(ground, arch)
    on_line = np.array([(station.x, station.height) for station in arch.stations])
    values = [
        np.zeros(2 * len(ground.ring[0])),
        _on_lattice(ground, long, ground.centre_samples, on_line, 0),
    ]
    for template, samples in zip(arch.templates, ground.template_samples, strict=True):
        cross = _cross(ground, arch, template, long)
        on_line = np.array([*template.heights, (0.0, float(long(template.x)))])
        values.append(_on_lattice(ground, cross, samples, on_line, 1))
    for pad, samples in zip(arch.pads, ground.pad_samples, strict=True):
        values.append(pad.at(*samples.T))
    heights = np.concatenate([values[0], *(held_to + arch.depth for held_to in values[1:])])
    natural = ground.natural.through(heights)
    if arch.falloff is None:
        return ArchSurface(ground, natural, arch.depth)
    return ArchSurface(ground, _with_falloff(ground, arch, long, heights, natural), arch.depth)


def _on_lattice(ground: Ground, curve: BPoly, samples: Array, heights: Array, axis: int) -> Array:
    """(n,) mm at samples on a line: the curve as the lattice can have it, its heights exact.

    So no hold asks for more than a spline can do, and none has to give way.
    """
    heights = heights[(heights[:, 0] >= curve.x[0]) & (heights[:, 0] <= curve.x[-1])]
    places = samples[:, axis]
    exact = (heights[:, 0], curve(heights[:, 0]))
    return fitted(ground.lattice, axis, (places, curve(places)), exact)


def long_arch(ground: Ground, arch: Arch) -> BPoly:
    """The long arch over its reach: x to height in mm."""
    ends = [(x, -arch.depth) for x in ground.reach]
    stations = [(station.x, station.height) for station in arch.stations]
    ray = shapely.LineString([(ground.reach[0] - 1, 0.0), (ground.reach[1] + 1, 0.0)])
    return _template(ends, stations, arch.pads, ray, 0)


def _cross(ground: Ground, arch: Arch, template: Template, long: BPoly) -> BPoly:
    """A cross template over its reach: y to height in mm."""
    low, high = ground.span(template.x)
    ray = shapely.LineString([(template.x, low - 1), (template.x, high + 1)])
    heights = [*template.heights, (0.0, float(long(template.x)))]
    return _template([(y, -arch.depth) for y in (low, high)], heights, arch.pads, ray, 1)


def _template(
    ends: Sequence[Point],
    heights: Sequence[Point],
    pads: Sequence[Pad],
    ray: shapely.LineString,
    axis: int,
) -> BPoly:
    """The smooth curve along a line through its heights, over pads as they lie."""
    on_pads = []
    for pad in pads:
        met = _corners(ray.intersection(pad.region))
        if len(met) < 2:
            continue
        low, high = met[:, axis].min(), met[:, axis].max()
        ends = [(place, z) for place, z in ends if not low <= place <= high]
        heights = [(place, z) for place, z in heights if not low <= place <= high]
        for point in np.linspace(met[0], met[-1], ORDER):
            on_pads.append((float(point[axis]), float(pad.at(*point))))
    place, z = np.array(sorted([*ends, *heights, *on_pads])).T
    return smooth_through(place, z, (place[0], place[-1]), "level")


def _with_falloff(
    ground: Ground, arch: Arch, long: BPoly, heights: Array, natural: Spline
) -> Spline:
    """The plate that has risen half-way to its crown where the builder wants it.

    It is a mixture of the natural plate with the full or the lean one. All three pass through
    everything that is held, so any mixture does; and the height at a place goes evenly with the
    share mixed in, so the share is found in one step.
    """
    asked = arch.falloff
    assert asked is not None
    half = float(natural(np.array([ground.widest]), np.zeros(1))[0]) / 2
    if half <= 0:
        raise DesignError(
            [
                f"{arch.key}.falloff: on the widest section, at x = {ground.widest:g} mm, the long "
                "arch does not rise above the recurve, so nothing falls off; leave it out"
            ]
        )
    knots = ground.lattice.low[0] + ground.lattice.step * np.arange(ground.lattice.cells[0] + 1)
    inside = np.clip(knots, *ground.reach)
    top = along_x(ground.lattice, long(inside) + arch.depth)
    nature = _half_way(ground, natural, half)
    other = (
        ground.full.through(heights, onto=top)
        if asked < nature
        else ground.lean.through(heights, onto=np.zeros(ground.lattice.shape))
    )
    place = np.array([asked])
    from_natural, from_other = (float(_inward(ground, p, place)[0]) for p in (natural, other))
    limit = _half_way(ground, other, half)
    within = min(nature, limit) <= asked <= max(nature, limit)
    if not within or abs(from_other - from_natural) < 1e-9:
        edge = "less" if asked < nature else "more"
        raise DesignError(
            [
                f"{arch.key}.falloff: {asked:g} mm is out of reach; with these heights it cannot "
                f"be {edge} than {limit:.1f} mm at x = {ground.widest:g} mm, the widest section"
            ]
        )
    share = (half - from_natural) / (from_other - from_natural)
    mixed = natural.coefficients + share * (other.coefficients - natural.coefficients)
    return Spline(ground.lattice, mixed)


def _inward(ground: Ground, plate: Spline, inward: Array) -> Array:
    """(n,) mm that a plate has risen on the widest section, ``inward`` (n,) mm of the recurve."""
    low, high = ground.widest_span
    y = high - inward if high >= -low else low + inward
    return plate(np.full_like(y, ground.widest), y)


def _half_way(ground: Ground, plate: Spline, half: float) -> float:
    """How far inside the recurve line, in mm, a plate first rises to ``half`` mm."""
    inward = np.arange(0.0, ground.half_width, ground.lattice.step / SAMPLES)
    risen = _inward(ground, plate, inward)
    after = int(np.argmax(risen >= half))
    return float(np.interp(half, risen[after - 1 : after + 1], inward[after - 1 : after + 1]))


def falloff_of(surface: ArchSurface) -> float:
    """The falloff in mm as a builder measures it on the surface, whatever was asked for."""
    crown = surface.rise(np.array([surface.ground.widest]), np.zeros(1))[0]
    return _half_way(surface.ground, surface.rise, float(crown) / 2)


def _require_agreement(ground: Ground, arch: Arch) -> None:
    low, high = ground.reach
    problems = _twice([station.x for station in arch.stations], f"{arch.key}.stations", "x")
    for i, station in enumerate(arch.stations):
        key = f"{arch.key}.stations[{i}]"
        if not low < station.x < high:
            problems.append(
                f"{key}.x: {station.x:g} mm is not on the long arch, which runs from recurve to "
                f"recurve, from {low:.1f} to {high:.1f} mm"
            )
        for pad in arch.pads:
            plane = float(pad.at(np.array(station.x), np.array(0.0)))
            on_it = shapely.contains_xy(pad.region, station.x, 0.0)
            if on_it and abs(plane - station.height) > SAME:
                problems.append(
                    f"{key}.height: {station.height:g} mm stands on the pad {pad.name}, which is "
                    f"{plane:.2f} mm high there; leave the station out or make them agree"
                )
    for i, template in enumerate(arch.templates):
        low, high = ground.span(template.x)
        key = f"{arch.key}.templates[{i}].heights"
        problems += _twice([y for y, _ in template.heights], key, "y")
        for y, _ in template.heights:
            if y == 0 or not low < y < high:
                problems.append(
                    f"{arch.key}.templates[{i}]: y = {y:g} mm must lie between the recurve lines, "
                    f"from {low:.1f} to {high:.1f} mm, and not on the centre line, where the long "
                    "arch's height holds"
                )
        if arch.falloff is not None and abs(template.x - ground.widest) < ground.half_width / 4:
            problems.append(
                f"{arch.key}.falloff: the cross template at x = {template.x:g} mm says already how "
                f"the widest section (x = {ground.widest:g} mm) rises; leave one of them out"
            )
    if problems:
        raise DesignError(problems)


def _twice(places: Sequence[float], key: str, axis: str) -> list[str]:
    """What is said where two heights of one template stand at one place."""
    return [
        f"{key}: two heights stand at {axis} = {place:g} mm; a template has one at each place"
        for place in sorted({place for place in places if places.count(place) > 1})
    ]


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
