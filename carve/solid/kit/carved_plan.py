"""Carved faces lifted out of a plan of triangles that is laid once for many heights.

A plan is laid for heights rounded coarsely, within less than the chord error asked for. So it
hangs on the design alone and not on what was turned before, and serves all heights near by: what
it then is off is measured at every lift, and where it is too much a plan is laid anew.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from carve.arrays import Array, IntArray
from carve.errors import ShapeError, SolidError
from carve.shape.planar.outline import Outline
from carve.shape.plate.arch import ArchSurface, Places, places_on
from carve.shape.plate.carved_face import CarvedFace, Foundation
from carve.solid.kit.prism import Skin
from carve.solid.kit.slab import filled
from carve.solid.kit.triangulated_plan import TriangulatedPlan, triangulated_plan

SPARE = 0.7  # of the chord error that a plan for many heights is laid for


@dataclass(frozen=True, eq=False)
class FacePlan:
    """A plan of triangles, with all that depends on it and on the foundations but on no height."""

    plan: TriangulatedPlan
    foundations: tuple[Foundation, ...]

    @cached_property
    def _spots(self) -> tuple[Places | None, ...]:
        """The plan's points and the places where its error is looked at, on each bed."""
        every = np.concatenate([self.plan.points, self.plan.probes])
        return tuple(
            None if one.arch is None else places_on(one.arch, every) for one in self.foundations
        )

    @cached_property
    def filled(self) -> IntArray:
        """(k, 3) triangles of a flat face over the plan's outline."""
        rim = self.plan.points[: self.plan.rim]
        return filled(rim, np.arange(len(rim)))

    def lifted(self, carvings: Sequence[CarvedFace]) -> tuple["Lifted", float]:
        """The plan lifted to heights, and its greatest distance from them in mm."""
        count, heights, errors = len(self.plan.points), [], []
        for carving, spots in zip(carvings, self._spots, strict=True):
            surface = carving.surface
            if spots is not None and isinstance(surface, ArchSurface):
                every = spots.heights(surface)
                on, probed = every[:count], every[count:]
            else:
                on, probed = surface(*self.plan.points.T), surface(*self.plan.probes.T)
            heights.append(on)
            errors.append(float(self.plan.away(on, probed).max()))
        return Lifted(self, tuple(heights)), max(errors)


@dataclass(frozen=True, eq=False)
class Lifted:
    """A plan with its heights, one (n,) mm for each carved face."""

    laid: FacePlan
    heights: tuple[Array, ...]

    def skin(self, z: Array) -> Skin:
        """The plan at a height (n,) mm each."""
        return Skin(np.column_stack([self.laid.plan.points, z]), self.laid.plan.triangles)

    def flat(self, z: float) -> Skin:
        """A flat face over the same outline, at a height in mm."""
        rim = self.laid.plan.points[: self.laid.plan.rim]
        return Skin(np.column_stack([rim, np.full(len(rim), z)]), self.laid.filled)


def face_plan(carvings: Sequence[CarvedFace], outline: Outline, chord_error: float) -> FacePlan:
    """A plan for carved faces over an outline, laid within a chord error in mm."""
    ledges = {carving.asked.ledge for carving in carvings}
    told = tuple(dict.fromkeys(place for carving in carvings for place in carving.explicit_points))
    width = max(carving.rim_width for carving in carvings)
    found = triangulated_plan(
        outline.points(chord_error),
        [carving.surface for carving in carvings],
        chord_error,
        width,
        told,
        tuple(sorted(ledge for ledge in ledges if ledge < width)),
    )
    return FacePlan(found, tuple(carving.foundation for carving in carvings))


def face_plan_tolerant(
    roughly: Sequence[CarvedFace], outline: Outline, chord_error: float
) -> FacePlan | None:
    """A plan for all that have nearly these heights, rounded by ``Carving.roughly``.

    None where heights that agree with one another don't, or cannot be meshed, once rounded.
    """
    try:
        return face_plan(roughly, outline, SPARE * chord_error)
    except (ShapeError, SolidError):
        return None


def lift_or_remesh(
    carvings: Sequence[CarvedFace], outline: Outline, chord_error: float, laid: FacePlan | None
) -> tuple[Lifted, float]:
    """Carved faces within a chord error, and what was measured, both in mm."""
    if laid is not None:
        found, error = laid.lifted(carvings)
        if error <= chord_error:
            return found, error
    return face_plan(carvings, outline, chord_error).lifted(carvings)
