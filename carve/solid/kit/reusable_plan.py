"""A plan of triangles that is meshed once and lifted to many heights, as a dial is turned.

Where the triangles lie depends little on the heights. So a plan is meshed for heights that are
rounded coarsely, within a little less than the chord error asked for. It depends on the design
alone and not on what was turned before. Each time it is lifted to the true heights its error is
measured, and where that is too large the plan is meshed anew for just these heights.

Carved faces (``face_plan``) and the ceiling and floor of a chamber (``chamber_plan``) differ only
in how their heights are sampled.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from carve.arrays import Array
from carve.errors import ShapeError, SolidError
from carve.shape.body.chambers import InnerSurface
from carve.shape.planar.outline import Outline
from carve.shape.plate.arch import ArchSurface, places_on
from carve.shape.plate.carved_face import CarvedFace
from carve.solid.kit.triangulated_plan import TriangulatedPlan, triangulated_plan

SPARE = 0.7  # of the chord error, for which a plan for many heights is meshed
NEAR_WALLS = 20.0  # mm from a chamber's walls up to which its triangles follow them

Surface = TypeVar("Surface")  # a surface over the plan
Region = TypeVar("Region")  # what bounds the plan

Sampler = Callable[[Surface], Array]
"""From a surface to its (n + k,) heights in mm at a plan's n points and k probes."""


@dataclass(frozen=True, eq=False)
class LiftedPlan:
    """A plan of n points lifted to surfaces.

    plan: the triangles. heights: (n,) mm at its points, for each surface. error: mm, the greatest
    distance that was measured between a surface and its triangles.
    """

    plan: TriangulatedPlan
    heights: tuple[Array, ...]
    error: float


@dataclass(frozen=True, eq=False)
class ReusablePlan(Generic[Surface]):
    """A plan, and for each surface over it how heights are sampled, whatever they are."""

    plan: TriangulatedPlan
    samplers: tuple[Sampler[Surface], ...]

    def lift(self, surfaces: Sequence[Surface]) -> LiftedPlan:
        """The plan with the heights of surfaces, one for each sampler."""
        count, heights, errors = len(self.plan.points), [], []
        for surface, sampler in zip(surfaces, self.samplers, strict=True):
            sampled = sampler(surface)
            heights.append(sampled[:count])
            errors.append(float(self.plan.errors(sampled[:count], sampled[count:]).max()))
        return LiftedPlan(self.plan, tuple(heights), max(errors))


MakePlan = Callable[[Sequence[Surface], Region, float], ReusablePlan[Surface]]
"""From surfaces, what bounds them and a chord error in mm to a plan: ``face_plan`` and such."""


def plan_for_many(
    make: MakePlan[Surface, Region], rounded: Sequence[Surface], within: Region, chord_error: float
) -> ReusablePlan[Surface] | None:
    """A plan for all surfaces with nearly these heights.

    rounded: by their ``rounded_for_cache``. None where heights that agree with one another do
    not, or cannot be meshed, once they are rounded.
    """
    try:
        return make(rounded, within, SPARE * chord_error)
    except (ShapeError, SolidError):
        return None


def lift_or_remesh(
    make: MakePlan[Surface, Region],
    surfaces: Sequence[Surface],
    within: Region,
    chord_error: float,
    plan: ReusablePlan[Surface] | None = None,
) -> LiftedPlan:
    """Surfaces within a chord error in mm, by a plan that may serve or by one of their own.

    Raises SolidError where the bound cannot be held.
    """
    if plan is not None:
        lifted = plan.lift(surfaces)
        if lifted.error <= chord_error:
            return lifted
    return make(surfaces, within, chord_error).lift(surfaces)


def face_plan(
    faces: Sequence[CarvedFace], outline: Outline, chord_error: float
) -> ReusablePlan[CarvedFace]:
    """A plan for carved faces over an outline, meshed within a chord error in mm.

    Raises SolidError where the bound cannot be held.
    """
    width = max(face.rim_width for face in faces)
    ledges = {face.asked.ledge for face in faces}
    plan = triangulated_plan(
        outline.points(chord_error),
        [face.surface for face in faces],
        chord_error,
        width,
        tuple(dict.fromkeys(place for face in faces for place in face.explicit_points)),
        tuple(sorted(ledge for ledge in ledges if ledge < width)),
    )
    return ReusablePlan(plan, tuple(_face_sampler(face, plan) for face in faces))


def _face_sampler(face: CarvedFace, plan: TriangulatedPlan) -> Sampler[CarvedFace]:
    """For all faces on the foundation of one."""
    arch = face.foundation.arch
    places = np.concatenate([plan.points, plan.probes])
    found = None if arch is None else places_on(arch, places)

    def sample(other: CarvedFace) -> Array:
        surface = other.surface
        if found is not None and isinstance(surface, ArchSurface):
            return found.heights(surface)
        return surface(*places.T)

    return sample


def chamber_plan(
    insides: Sequence[InnerSurface], around: Array, chord_error: float
) -> ReusablePlan[InnerSurface]:
    """A plan for a chamber's ceiling and floor, meshed within a chord error in mm.

    around: (n, 2) mm, the chamber's own outline. Raises SolidError where the bound cannot be held.
    """
    plan = triangulated_plan(around, insides, chord_error, NEAR_WALLS)
    # the same for all insides over one outline
    rows = insides[0].rows(np.concatenate([plan.points, plan.probes]))

    def sample(inside: InnerSurface) -> Array:
        return np.asarray(rows @ inside.coefficients)

    return ReusablePlan(plan, (sample,) * len(insides))
