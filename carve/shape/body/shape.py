"""The body: a closed outline, a thickness, and what is taken out of it.

``build`` makes it and ``validate`` says what it cannot be; ``volume`` and ``thickness_map``
measure it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array
from carve.shape.body.clearance import Clearance, clearances_between
from carve.shape.body.cuts import Cut, Removal, RoundBore
from carve.shape.planar.outline import Outline
from carve.shape.plate.carved_face import CarvedFace


@dataclass(frozen=True, eq=False)
class BodyShape:
    """A body in its own frame; its edge planes are z = 0 and z = -thickness, mm.

    outline: seen from above, a closed curve in mm. thickness: mm between the edge planes. cuts:
    pockets, holes and chambers, in the design's order, chambers last. bores: from the side. top,
    back: what is carved over the edge planes, None where a face is flat.
    """

    outline: Outline
    thickness: float
    cuts: tuple[Cut, ...]
    bores: tuple[RoundBore, ...]
    top: CarvedFace | None = None
    back: CarvedFace | None = None

    @property
    def carvings(self) -> tuple[CarvedFace, ...]:
        """The faces that are carved."""
        return tuple(face for face in (self.top, self.back) if face is not None)

    def top_at(self, points: Array) -> Array:
        """(n,) height of the top over points (n, 2)."""
        return np.zeros(len(points)) if self.top is None else self.top.surface(*points.T)

    def back_at(self, points: Array) -> Array:
        """(n,) height of the back under points (n, 2)."""
        if self.back is None:
            return np.full(len(points), -self.thickness)
        return np.asarray(-self.thickness - self.back.surface(*points.T))

    @cached_property
    def reach(self) -> tuple[float, float]:
        """Lowest and highest of the body."""
        low = 0.0 if self.back is None else float(self.back.map.max())
        return -self.thickness - low, 0.0 if self.top is None else float(self.top.map.max())

    @property
    def polygon(self) -> BaseGeometry:
        """What the outline encloses, within ``CURVE_TOLERANCE`` of its curve."""
        return self.outline.polygon

    @cached_property
    def removals(self) -> tuple[Removal, ...]:
        """Cuts and bores."""
        return (*self.cuts, *self.bores)

    @cached_property
    def within(self) -> tuple[BaseGeometry, ...]:
        """The plans of ``removals`` as far as they lie in the outline."""
        return tuple(
            taken.polygon
            if isinstance(taken, Cut) and taken.kind != "neck"
            else shapely.intersection(taken.polygon, self.polygon)
            for taken in self.removals
        )

    @cached_property
    def to_rim(self) -> Array:
        """(n,) mm from the plans of ``removals`` to the outline; 0 where they cross it."""
        return np.asarray(shapely.distance(self.outline.rim, np.array(self.within, dtype=object)))

    @cached_property
    def walls(self) -> tuple[Clearance, ...]:
        """The wood between each two of ``removals``."""
        return clearances_between(self.removals, self.within)

    def levels(self, z: float, numbers: Iterable[int]) -> BaseGeometry:
        """The level sections of some of ``removals`` at a height in mm, as one area."""
        levels = (self.removals[number].level(z, self.within[number]) for number in numbers)
        found = [level for level in levels if level is not None]
        return found[0] if len(found) == 1 else shapely.union_all(found)

    def section(self, z: float) -> BaseGeometry:
        """The wood's level section at a height in mm."""
        return shapely.difference(self.polygon, self.levels(z, range(len(self.removals))))
