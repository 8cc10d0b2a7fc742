"""The inside of a hollow plate: how thick the wood is left under a carved outside.

A builder graduates a plate with a thickness caliper, whose jaws stand square to the outside. So
thickness is taken along the outside's normal: the inside is the outside's parallel surface at a
distance that itself changes over the plate. Seen from a place on the inside, the foot of that
normal is found by going back and forth; each time brings it nearer by thickness times curvature,
about one in twenty. Of what is then left the inside's slope, which is nearly the outside's there,
takes all but another twentieth off the height.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import shapely

from carve.arrays import Array
from carve.shape.numeric.bspline import Spline
from carve.shape.numeric.jet import Jet
from carve.shape.plate.edge_distance import smooth_step

ROUNDS = 2


class Outside(Protocol):
    """The outside's height over the plan."""

    def jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives at points x, y (n,) mm."""
        ...


@dataclass(frozen=True)
class FlatRegion:
    """A footprint left flat on the inside, as for a brace: z = height + slope_x * x + slope_y * y.

    outline: x and y mm. margin: mm around it in which the inside comes up to it.
    """

    outline: tuple[tuple[float, float], ...]
    height: float
    slope_x: float = 0.0
    slope_y: float = 0.0
    margin: float = 10.0


@dataclass(frozen=True)
class GraduationRequest:
    """What is left of a hollow plate, mm.

    rim: width of the flat gluing surface. edge: thickness there, from the edge plane. cove: width
    over which the inside rises from it. recurve: distance from the edge up to which the plate is
    ``at_recurve`` thick; centre: distance from which on it is ``at_centre`` thick.
    """

    rim: float
    edge: float
    cove: float
    recurve: float
    at_recurve: float
    centre: float
    at_centre: float
    flats: tuple[FlatRegion, ...] = ()


@dataclass(frozen=True, eq=False)
class GraduatedInside:
    """The inside of a plate below its outside. distance: mm from the edge, smooth."""

    outside: Outside
    distance: Spline
    graduation: GraduationRequest

    def __call__(self, x: Array, y: Array) -> Array:
        """(n,) height in mm at points x, y (n,) mm, below the edge plane negative."""
        wanted = self.graduation
        share = smooth_step((self.distance(x, y) - wanted.rim) / wanted.cove)
        z = np.full_like(share, -wanted.edge)
        arched = share > 0  # over the sides the inside is not asked for, nor beside the outline
        parallel = self._parallel(x[arched], y[arched])
        z[arched] += share[arched] * (parallel + wanted.edge)
        return _with_flats(x, y, z, wanted.flats)

    def thickness(self, x: Array, y: Array) -> Array:
        """(n,) mm of wood asked for, square to the outside at points x, y (n,) mm."""
        wanted = self.graduation
        inward = (self.distance(x, y) - wanted.recurve) / (wanted.centre - wanted.recurve)
        more = wanted.at_centre - wanted.at_recurve
        return np.asarray(wanted.at_recurve + more * smooth_step(inward))

    def _parallel(self, x: Array, y: Array) -> Array:
        foot_x, foot_y = x, y
        for _ in range(ROUNDS):
            thickness, jet = self.thickness(foot_x, foot_y), self.outside.jet(foot_x, foot_y)
            foot_x = x + thickness * jet.normal[..., 0]
            foot_y = y + thickness * jet.normal[..., 1]
        thickness, jet = self.thickness(foot_x, foot_y), self.outside.jet(foot_x, foot_y)
        inward = thickness[..., None] * jet.normal
        missed_x, missed_y = x - foot_x + inward[..., 0], y - foot_y + inward[..., 1]
        return np.asarray(jet.z - inward[..., 2] + jet.zx * missed_x + jet.zy * missed_y)

    def grid(self, x: Array, y: Array) -> Array:
        """(n, m) height in mm over x (n,) and y (m,) mm."""
        across, up = np.meshgrid(x, y, indexing="ij")
        return self(across.ravel(), up.ravel()).reshape(across.shape)

    def grid_jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives over x (n,) and y (m,) mm, by differences."""
        z = self.grid(x, y)
        zx, zy = np.gradient(z, x, axis=0), np.gradient(z, y, axis=1)
        zxy = np.gradient(zx, y, axis=1)
        return Jet(z, zx, zy, np.gradient(zx, x, axis=0), zxy, np.gradient(zy, y, axis=1))


def _with_flats(x: Array, y: Array, z: Array, flats: Sequence[FlatRegion]) -> Array:
    for flat in flats:
        away = shapely.distance(shapely.Polygon(flat.outline), shapely.points(x, y))
        plane = flat.height + flat.slope_x * x + flat.slope_y * y
        z = plane + smooth_step(away / flat.margin) * (z - plane)
    return z
