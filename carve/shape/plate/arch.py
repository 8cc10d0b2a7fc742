"""A carved plate as a builder defines it: long arch, cross templates, recurve, ledge, falloff.

From the outline inward: the *ledge* is flat. From its inner edge a cove of one given section
leads down to the *recurve* line, the outline's offset, where the plate is level and lowest.
Inside that line lies the *arch*, the surface of least bending energy (plate/thin_plate.py) that is
clamped along the recurve and held to the long arch, the cross templates and the pads.

The *long arch* is a curve through its stations, and the plate is held to it along the whole centre
line. Held at the stations alone, a plate lies millimetres elsewhere between them.

Why the cove is drawn and not solved: once height and slope are held along a closed line, what
lies inside and what lies outside no longer know of each other. The least energy outside is a
strip a few mm wide that would meet ledge and arch with a jump in curvature. Drawn, it meets both
without one, and the ledge is flat to the last bit.
It is laid over the arch as a share: z = share^3 * rise - share * depth, the share going with the
distance from the edge from 0 at the ledge to 1 at the recurve, with level, uncurved ends. The cube
takes the arch's own run beyond its clamp out of the cove before it could lift its foot.

Long arch and templates are the smooth curves of numeric/monotone_spline.py: exactly through their
heights, never beyond them, and level where they end at the recurve.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy import sparse

from carve.arrays import Array
from carve.errors import Problem, ShapeError
from carve.shape.numeric.bspline import ORDER, Spline, line, rows
from carve.shape.numeric.jet import Jet
from carve.shape.numeric.monotone_spline import smooth_through
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial
from carve.shape.plate.basis_fields import Bedding, Held, fields, figures, held_curve
from carve.shape.plate.foundation import SAMPLES_PER_STEP, ArchFoundation
from carve.shape.plate.problems import (
    FalloffOutOfReach,
    FalloffSaidTwice,
    HeightsAtOnePlace,
    NothingFallsOff,
    StationBesideArch,
    StationOffPad,
    TemplateHeightBesideArch,
)
from carve.shape.plate.request import Arch, Pad, PlanPoint, Template

PAD_AGREES = 0.02  # mm within which a station agrees with the pad it stands on


@dataclass(frozen=True, eq=False)
class Places:
    """Points on a foundation.

    rows: (n, lattice.size) from coefficients to the points. share: (n,) of the arch, 0 on the
    ledge to 1 inside the recurve.
    """

    rows: sparse.csr_array
    share: Array

    def heights(self, surface: "ArchSurface") -> Array:
        """(n,) mm of a surface on the same foundation."""
        rise = self.rows @ surface.rise.coefficients.ravel()
        return _laid_over(rise, surface.depth, self.share)


@dataclass(frozen=True, eq=False)
class Map:
    """A grid on a foundation.

    by_x, by_y: (n, k) and (m, l) from the coefficients to its lines along x and y. share: (n, m)
    of the arch, 0 on the ledge to 1 inside the recurve.
    """

    by_x: sparse.csr_array
    by_y: sparse.csr_array
    share: Array

    def heights(self, surface: "ArchSurface") -> Array:
        """(n, m) mm of a surface on the same foundation."""
        heights = (self.by_y @ (self.by_x @ surface.rise.coefficients).T).T
        heights *= self._cube
        heights -= surface.depth * self._share
        return np.asarray(heights)

    # as the products come out, column by column, so that no pass over them goes across memory

    @cached_property
    def _share(self) -> Array:
        return np.asfortranarray(self.share)

    @cached_property
    def _cube(self) -> Array:
        return np.asfortranarray(self.share**3)


def places_on(foundation: ArchFoundation, points: Array) -> Places:
    """Points (n, 2) mm at which the heights of many surfaces will be wanted."""
    return Places(rows(foundation.lattice, *points.T), foundation.edge.share(*points.T))


def map_on(foundation: ArchFoundation, x: Array, y: Array) -> Map:
    """A grid over x (n,) and y (m,) mm on which the heights of many surfaces will be wanted."""
    by_x, by_y = line(foundation.lattice, 0, x), line(foundation.lattice, 1, y)
    return Map(by_x, by_y, foundation.edge.share_grid(x, y))


@dataclass(frozen=True, eq=False)
class ArchSurface:
    """A carved plate's surface. rise: mm above the recurve's level, inside the recurve line."""

    foundation: ArchFoundation
    rise: Spline
    depth: float

    def __call__(self, x: Array, y: Array) -> Array:
        """(n,) height in mm at points x, y (n,) mm."""
        return _laid_over(self.rise(x, y), self.depth, self.foundation.edge.share(x, y))

    def grid(self, x: Array, y: Array) -> Array:
        """(n, m) height in mm over x (n,) and y (m,) mm."""
        return _laid_over(self.rise.grid(x, y), self.depth, self.foundation.edge.share_grid(x, y))

    def jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives at points x, y (n,) mm."""
        return self.with_cove(self.foundation.edge.share_jet(x, y), self.rise.jet(x, y))

    def grid_jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives over x (n,) and y (m,) mm."""
        return self.with_cove(self.foundation.edge.share_grid_jet(x, y), self.rise.grid_jet(x, y))

    def with_cove(self, share: Jet, rise: Jet) -> Jet:
        """The surface where the cove's share and the rise are known."""
        return (share * share * rise - self.depth) * share


def _laid_over(rise: Array, depth: float, share: Array) -> Array:
    """(...) height in mm of the arch with its cove: the rise counts by the share's cube."""
    return np.asarray((share * share * rise - depth) * share)


def arch_surface(foundation: ArchFoundation, arch: Arch) -> ArchSurface:
    """The surface of an arch on its foundation.

    Raises ShapeError where heights contradict each other or the falloff is out of reach.
    """
    _require_agreement(foundation, arch)
    long = long_arch(foundation, arch)
    curves, held = [long], [held_curve(long, 0, [station.x for station in arch.stations])]
    for template in arch.templates:
        cross = cross_template(foundation, arch, template, long)
        curves.append(cross)
        held.append(held_curve(cross, 1, [*(y for y, _ in template.heights), 0.0]))
    plates = _Plates(foundation, tuple(held), figures(curves, arch.pads, arch.depth))
    if arch.falloff is None:
        return ArchSurface(foundation, plates.drawn_to("natural"), arch.depth)
    return ArchSurface(foundation, _with_falloff(plates, arch), arch.depth)


@dataclass(frozen=True, eq=False)
class _Plates:
    """The plates through the same heights, each drawn to something else.

    held: how the long arch and the templates are held. figures: (p,) what weighs the fields.
    """

    foundation: ArchFoundation
    held: tuple[Held, ...]
    figures: Array

    def drawn_to(self, bedding: Bedding) -> Spline:
        """The plate drawn to one of the three."""
        found = fields(self.foundation, self.held, bedding) @ self.figures
        return Spline(self.foundation.lattice, found.reshape(self.foundation.lattice.shape))


def long_arch(foundation: ArchFoundation, arch: Arch) -> PiecewisePolynomial:
    """The long arch over its reach: x to height in mm."""
    ends = [(x, -arch.depth) for x in foundation.reach]
    stations = [(station.x, station.height) for station in arch.stations]
    ray = shapely.LineString([(foundation.reach[0] - 1, 0.0), (foundation.reach[1] + 1, 0.0)])
    return _template(ends, stations, arch.pads, ray, 0)


def cross_template(
    foundation: ArchFoundation, arch: Arch, template: Template, long: PiecewisePolynomial
) -> PiecewisePolynomial:
    """A cross template over its reach: y to height in mm."""
    low, high = foundation.span(template.x)
    ray = shapely.LineString([(template.x, low - 1), (template.x, high + 1)])
    heights = [*template.heights, (0.0, float(long(template.x)))]
    return _template([(y, -arch.depth) for y in (low, high)], heights, arch.pads, ray, 1)


def _template(
    ends: Sequence[PlanPoint],
    heights: Sequence[PlanPoint],
    pads: Sequence[Pad],
    ray: shapely.LineString,
    axis: int,
) -> PiecewisePolynomial:
    """The smooth curve along a line through its heights, over pads as they lie."""
    on_pads = []
    for pad in pads:
        met = np.asarray(shapely.get_coordinates(ray.intersection(pad.region)))
        if len(met) < 2:
            continue
        low, high = met[:, axis].min(), met[:, axis].max()
        ends = [(place, z) for place, z in ends if not low <= place <= high]
        heights = [(place, z) for place, z in heights if not low <= place <= high]
        for point in np.linspace(met[0], met[-1], ORDER):
            on_pads.append((float(point[axis]), float(pad.at(*point))))
    place, z = np.array(sorted([*ends, *heights, *on_pads])).T
    return smooth_through(place, z, (place[0], place[-1]), "clamped")


def _with_falloff(plates: _Plates, arch: Arch) -> Spline:
    """The plate that has risen half-way to its crown where the builder wants it.

    It is a mixture of the natural plate with the full or the lean one. All three pass through
    everything that is held, so any mixture does; and the height at a place goes evenly with the
    share mixed in, so the share is found in one step.
    """
    asked, foundation = arch.falloff, plates.foundation
    assert asked is not None
    natural = plates.drawn_to("natural")
    half = float(natural(np.array([foundation.widest]), np.zeros(1))[0]) / 2
    if half <= 0:
        raise ShapeError(NothingFallsOff(arch.key, foundation.widest))
    nature = _half_way(foundation, natural, half)
    other = plates.drawn_to("full" if asked < nature else "lean")
    place = np.array([asked])
    from_natural, from_other = (float(_inward(foundation, p, place)[0]) for p in (natural, other))
    limit = _half_way(foundation, other, half)
    within = min(nature, limit) <= asked <= max(nature, limit)
    if not within or abs(from_other - from_natural) < 1e-9:
        raise ShapeError(
            FalloffOutOfReach(arch.key, asked, limit, asked < nature, foundation.widest)
        )
    share = (half - from_natural) / (from_other - from_natural)
    mixed = natural.coefficients + share * (other.coefficients - natural.coefficients)
    return Spline(foundation.lattice, mixed)


def _inward(foundation: ArchFoundation, plate: Spline, inward: Array) -> Array:
    """(n,) mm that a plate has risen on the widest section, ``inward`` (n,) mm of the recurve."""
    low, high = foundation.widest_span
    y = high - inward if high >= -low else low + inward
    return plate(np.full_like(y, foundation.widest), y)


def _half_way(foundation: ArchFoundation, plate: Spline, half: float) -> float:
    """How far inside the recurve line, in mm, a plate first rises to ``half`` mm."""
    inward = np.arange(0.0, foundation.half_width, foundation.lattice.step / SAMPLES_PER_STEP)
    risen = _inward(foundation, plate, inward)
    after = int(np.argmax(risen >= half))
    return float(np.interp(half, risen[after - 1 : after + 1], inward[after - 1 : after + 1]))


def falloff_of(surface: ArchSurface) -> float:
    """The falloff in mm as a builder measures it on the surface, whatever was asked for."""
    crown = surface.rise(np.array([surface.foundation.widest]), np.zeros(1))[0]
    return _half_way(surface.foundation, surface.rise, float(crown) / 2)


def _require_agreement(foundation: ArchFoundation, arch: Arch) -> None:
    problems = list(_wrong_stations(foundation, arch))
    for number in range(len(arch.templates)):
        problems += _wrong_template(foundation, arch, number)
    if problems:
        raise ShapeError(*problems)


def _wrong_stations(foundation: ArchFoundation, arch: Arch) -> Iterator[Problem]:
    """What is wrong with the long arch's heights."""
    for place in _twice([station.x for station in arch.stations]):
        yield HeightsAtOnePlace(arch.key, None, "x", place)
    low, high = foundation.reach
    for i, station in enumerate(arch.stations):
        if not low < station.x < high:
            yield StationBesideArch(arch.key, i, station.x, foundation.reach)
        for pad in arch.pads:
            plane = float(pad.at(np.array(station.x), np.array(0.0)))
            on_it = shapely.contains_xy(pad.region, station.x, 0.0)
            if on_it and abs(plane - station.height) > PAD_AGREES:
                yield StationOffPad(arch.key, i, station.height, pad.name, plane)


def _wrong_template(foundation: ArchFoundation, arch: Arch, number: int) -> Iterator[Problem]:
    """What is wrong with one cross template."""
    template = arch.templates[number]
    low, high = foundation.span(template.x)
    for place in _twice([y for y, _ in template.heights]):
        yield HeightsAtOnePlace(arch.key, number, "y", place)
    for y, _ in template.heights:
        if y == 0 or not low < y < high:
            yield TemplateHeightBesideArch(arch.key, number, y, (low, high))
    if arch.falloff is not None and abs(template.x - foundation.widest) < foundation.half_width / 4:
        yield FalloffSaidTwice(arch.key, template.x, foundation.widest)


def _twice(places: Sequence[float]) -> list[float]:
    """The places that occur more than once, rising."""
    return sorted({place for place in places if places.count(place) > 1})
