"""The closed mesh of a room, lifted out of a plan of triangles that is laid once for many heights.

As for the faces (solid/carved.py): the plan is laid for outsides rounded coarsely, what it is off
is measured at every lift, and where that is too much a plan is laid anew.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy import sparse

from carve.arrays import Array
from carve.errors import ShapeError, SolidError
from carve.shape.body.chambers import Chamber, InnerSurface
from carve.solid.kit.carved_plan import SPARE
from carve.solid.kit.triangulated_plan import TriangulatedPlan, plate_solid, triangulated_plan
from carve.solid.mesh import Mesh

NEAR_SIDES = 20.0  # mm from a room's walls up to which its triangles follow them


@dataclass(frozen=True, eq=False)
class ChamberPlan:
    """A plan of triangles over a room, with all that depends on it but on no height.

    any_inside: one over the same outline.
    """

    plan: TriangulatedPlan
    any_inside: InnerSurface

    @cached_property
    def _rows(self) -> sparse.csr_array:
        """To heights at the plan's points, then at the places where its error is looked at."""
        return self.any_inside.rows(np.concatenate([self.plan.points, self.plan.probes]))

    def lifted(
        self, insides: tuple[InnerSurface, InnerSurface]
    ) -> tuple[tuple[Array, Array], float]:
        """(n,) mm of ceiling and floor at the plan's points, and how far it is from them."""
        count = len(self.plan.points)
        ceiling, under = (self._rows @ inside.coefficients for inside in insides)
        error = max(
            float(self.plan.away(every[:count], every[count:]).max()) for every in (ceiling, under)
        )
        return (ceiling[:count], under[:count]), error


def chamber_plan(
    around: Array, insides: tuple[InnerSurface, InnerSurface], chord_error: float
) -> ChamberPlan:
    """A plan for a room. around: (n, 2) mm, its own. chord_error: mm.

    Raises SolidError where the bound cannot be held.
    """
    return ChamberPlan(triangulated_plan(around, insides, chord_error, NEAR_SIDES), insides[0])


def chamber_plan_tolerant(
    around: Array, roughly: tuple[InnerSurface, InnerSurface], chord_error: float
) -> ChamberPlan | None:
    """A plan for all that have nearly these heights, rounded by ``Inside.roughly``.

    None where heights that agree with one another don't, or cannot be meshed, once rounded.
    """
    try:
        return chamber_plan(around, roughly, SPARE * chord_error)
    except (ShapeError, SolidError):
        return None


def chamber_solid(
    room: Chamber, chord_error: float, names: tuple[str, str, str], laid: ChamberPlan | None = None
) -> tuple[Mesh, float]:
    """The closed mesh of a room, and its distance from it in mm.

    names: of ceiling, floor and walls. laid: triangles that may serve.
    """
    assert room.ceiling is not None
    assert room.under is not None
    insides = (room.ceiling, room.under)
    found = None if laid is None else laid.lifted(insides)
    if laid is None or found is None or found[1] > chord_error:
        laid = chamber_plan(room.plan.points(chord_error), insides, chord_error)
        found = laid.lifted(insides)
    (ceiling, under), error = found
    return plate_solid(laid.plan, ceiling, -room.thickness - under, names), error
