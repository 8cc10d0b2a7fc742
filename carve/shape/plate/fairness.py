"""Whether a plate is fair: no top, pit or groove but those that its builder asked for.

Within the recurve line a plate should rise to a crown and do nothing else. What departs from that
is measured twice over: by the tops and pits of the whole surface, and by the hollows of its
sections along and across, which show a groove that falls all along (plate/extremes.py).
Asked for is

- a top for each of the long arch, and for each of a cross template beside it,
- a hollow of a section where the edge comes nearer and goes away again, as along a waist,
- a hollow of a section along where the long arch has one, and across where a template has one,
- a hollow of a section that runs along the recurve's trough, and shows how soon the plate rises,
- and whatever comes near a pad.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import shapely

from carve.arrays import Array, BoolArray
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial
from carve.shape.plate.arch import ArchSurface, cross_template, long_arch
from carve.shape.plate.carved_face import SECTIONS, CarvedFace
from carve.shape.plate.extremes import Top, highest_point, hollows, pits, standing_water, tops
from carve.shape.plate.relief import Extreme
from carve.shape.plate.request import Arch

Sort = Literal["top", "pit", "hollow along", "hollow across"]
"""What stands out: a second top, a pit, or a hollow in a section along x or along y."""

LEAST = 1e-4  # mm; less is not looked at
NEARER = 0.1  # mm by which the edge must come nearer than on both sides
ASIDE = 3.0  # mm from the centre line from which on a template's top is another than its own
CLOSE = 0.125  # mm between the places at which the deepest hollow is measured
PLACES = 400  # along a held curve, where its tops are counted


@dataclass(frozen=True)
class Unasked:
    """What nobody asked for. prominence: mm, how high or deep. at: x, y mm."""

    sort: Sort
    prominence: float
    at: tuple[float, float]


def highest_asked(face: CarvedFace) -> float:
    """Mm of the highest height that a plate is held to."""
    asked = face.asked
    if not isinstance(asked, Arch):
        return max(height for _, height in asked.profile)
    heights = [station.height for station in asked.stations]
    heights += [height for template in asked.templates for _, height in template.heights]
    area = shapely.Polygon(face.foundation.points)
    for pad in asked.pads:
        corners = shapely.get_coordinates(shapely.intersection(pad.region, area))
        heights += pad.at(*corners.T).tolist()
    return max(heights)


def highest_of(face: CarvedFace) -> Extreme:
    """The highest point of a plate, in mm."""
    foundation = face.foundation
    return highest_point(face.surface, *foundation.probes, face.jet.z, foundation.probed)


def unasked(face: CarvedFace) -> list[Unasked]:
    """What nobody asked for of an arch, what stands out most first. None of a plate by contours.

    Such a plate follows its outline and has the tops and hollows of the distance from it.
    """
    surface, asked = face.surface, face.asked
    if not isinstance(asked, Arch) or not isinstance(surface, ArchSurface):
        return []
    plate = _ProbedArch(face, surface, asked)
    found = [*plate.tops(), *plate.pits(), *plate.across(), *plate.along()]
    return sorted(found, key=lambda one: -one.prominence)


@dataclass(frozen=True, eq=False)
class _ProbedArch:
    """An arch on its foundation's ``sections``."""

    face: CarvedFace
    surface: ArchSurface
    asked: Arch

    @property
    def z(self) -> Array:
        """(n, m) mm."""
        return self.face.jet.z[::SECTIONS, ::SECTIONS]

    @property
    def within(self) -> BoolArray:
        """(n, m) which places lie inside the recurve line."""
        return self.face.foundation.inner

    @property
    def near_pad(self) -> BoolArray:
        """(n, m) which places are near a pad."""
        return self.face.foundation.near_pads

    @cached_property
    def held(self) -> tuple[PiecewisePolynomial, tuple[PiecewisePolynomial, ...]]:
        """The long arch, and the cross templates."""
        foundation = self.surface.foundation
        long = long_arch(foundation, self.asked)
        across = (cross_template(foundation, self.asked, t, long) for t in self.asked.templates)
        return long, tuple(across)

    def tops(self) -> Iterator[Unasked]:
        """Tops beyond the number asked for."""
        long, across = self.held
        asked = len(_tops_of(long)) + sum(
            (np.abs(_tops_of(curve)) > ASIDE).sum() for curve in across
        )
        yield from self._said("top", tops(self.z, self.within, -self.asked.depth)[asked:])

    def pits(self) -> Iterator[Unasked]:
        """Places lower than all around them."""
        yield from self._said("pit", pits(self.z, self.within))

    def _said(self, sort: Sort, found: list[Top]) -> Iterator[Unasked]:
        x, y = self.face.foundation.sections
        for top in found:
            if top.prominence > LEAST and not self.near_pad[top.row, top.column]:
                place = float(x[top.row]), float(y[top.column])
                yield Unasked(sort, top.prominence, place)

    def along(self) -> Iterator[Unasked]:
        """Hollows of the sections along x."""
        long, _ = self.held
        yield from self._hollows("hollow along", 0, (long,))

    def across(self) -> Iterator[Unasked]:
        """Hollows of the sections along y."""
        _, across = self.held
        yield from self._hollows("hollow across", 1, across)

    def _hollows(
        self, sort: Sort, axis: int, held: tuple[PiecewisePolynomial, ...]
    ) -> Iterator[Unasked]:
        """Those that are not asked for, the deepest measured anew. held: the curves along them."""
        asked = self.near_pad | (self.face.foundation.edge_nearer[axis] > NEARER)
        z, within, in_trough = self.z, self.within, self.face.foundation.in_trough
        if axis == 0:
            z, within, asked, in_trough = z.T, within.T, asked.T, in_trough.T
        found = hollows(z, within, LEAST)
        row, bottom = found.row, found.bottom
        banks = (found.first, found.last)
        along = self.face.foundation.sections[axis]
        dips = np.zeros(len(row), dtype=bool)
        for curve in held:
            heights = curve(np.clip(along, curve.x[0], curve.x[-1]))
            dips |= heights[bottom] < np.minimum(*(heights[bank] for bank in banks)) - LEAST
        before = np.cumsum(np.pad(asked, ((0, 0), (1, 0))), axis=1)
        touched = before[row, found.last + 1] > before[row, found.first]
        left = np.flatnonzero(~(dips | touched | in_trough[row, bottom]))
        across, last = self.face.foundation.sections[1 - axis], len(along) - 1
        for number, k in enumerate(left[np.argsort(-found.depth[left])]):
            depth, at = float(found.depth[k]), float(along[bottom[k]])
            if number == 0:
                # a bank's own top may lie up to one place further out
                low = found.first[k] - bool(within[row[k], max(found.first[k] - 1, 0)])
                high = found.last[k] + bool(within[row[k], min(found.last[k] + 1, last)])
                reach = (float(along[max(low, 0)]), float(along[min(high, last)]))
                depth, at = self._measured(axis, float(across[row[k]]), reach)
            place = (float(across[row[k]]), at)
            yield Unasked(sort, depth, place if axis else place[::-1])

    def _measured(
        self, axis: int, section: float, reach: tuple[float, float]
    ) -> tuple[float, float]:
        """Mm of a hollow's depth on the surface, and its bottom's place along the section."""
        low, high = math.ceil(reach[0] / CLOSE), math.floor(reach[1] / CLOSE)
        along = CLOSE * np.arange(low, high + 1, dtype=float)  # one of them on the centre line
        sections = np.full_like(along, section)
        z = self.surface(sections, along) if axis else self.surface(along, sections)
        water = standing_water(z[None], np.ones((1, len(z)), dtype=bool))[0]
        deepest = int(np.argmax(water))
        return float(water[deepest]), float(along[deepest])


def _tops_of(curve: PiecewisePolynomial) -> Array:
    """(k,) mm along a held curve at which it has its tops."""
    places = np.linspace(curve.x[0], curve.x[-1], PLACES)
    heights = curve(places)[None]
    found = tops(heights, np.ones(heights.shape, dtype=bool), -np.inf)
    return places[[top.column for top in found if top.prominence > LEAST]]
