"""A carved plate for builders who think in contour lines.

Its height goes by the distance from the edge, as terraces cut along the outline give it.

The profile is the smooth curve of numeric/monotone_spline.py through the heights asked for, flat
on the ledge and level beyond the last. Where two edges are equally near, along the plate's middle,
true distance would leave a crease; the smooth one of plate/edge_distance.py rounds it, the more
the farther from the edge, so that the rim follows its lines exactly and the ridge is soft.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from carve.arrays import Array
from carve.errors import ShapeError
from carve.shape.numeric.bspline import Spline
from carve.shape.numeric.jet import Jet
from carve.shape.numeric.monotone_spline import smooth_through
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial
from carve.shape.planar.offset import signed_distance
from carve.shape.plate.edge_distance import CREASE_WIDTH, plate_lattice, samples, softly
from carve.shape.plate.problems import ProfileRunsBack

WIDENS = 1 / 3  # of the distance from the edge: no crease is rounded wider there


@dataclass(frozen=True)
class ContourArch:
    """A plate by its contour lines, in plain numbers.

    ledge: mm, width of the flat rim. profile: (distance from the edge, height) mm, distances
    rising, the first more than the ledge. softness: mm over which the crease along the middle is
    rounded. key: the table's name in the file, to speak of it.
    """

    ledge: float
    profile: tuple[tuple[float, float], ...]
    softness: float = 12.0
    key: str = "contours"


@dataclass(frozen=True, eq=False)
class ContourSurface:
    """Height by distance. distance: mm from the edge, smooth. profile: distance to height."""

    distance: Spline
    profile: PiecewisePolynomial

    def __call__(self, x: Array, y: Array) -> Array:
        """(n,) height in mm at points x, y (n,) mm."""
        return self._height(self.distance(x, y), 0)

    def grid(self, x: Array, y: Array) -> Array:
        """(n, m) height in mm over x (n,) and y (m,) mm."""
        return self._height(self.distance.grid(x, y), 0)

    def jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives at points x, y (n,) mm."""
        return self.distance.jet(x, y).through(self._height)

    def grid_jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives over x (n,) and y (m,) mm."""
        return self.distance.grid_jet(x, y).through(self._height)

    def _height(self, distance: Array, order: int) -> Array:
        low, high = self.profile.x[[0, -1]]
        height = self.profile(np.clip(distance, low, high), nu=order)
        beyond = (distance < low) | (distance > high)
        return np.asarray(np.where(beyond, 0.0, height) if order else height)


def soft_distance(outline: Array, softness: float) -> Spline:
    """Distance in mm from an outline (n, 2) mm, positive inside, its creases rounded.

    softness: mm over which they are rounded in the middle of a wide plate.
    """
    lattice = plate_lattice(outline)
    points = samples(lattice)
    distance = signed_distance(outline, points)
    widening = np.clip(WIDENS * np.abs(distance), CREASE_WIDTH, max(softness, CREASE_WIDTH))
    return softly(lattice, points, widening).through(distance)


def contour_surface(distance: Spline, arch: ContourArch) -> ContourSurface:
    """The surface over a ``soft_distance``. Raises ShapeError where the profile runs back."""
    at, height = np.array([(arch.ledge, 0.0), *arch.profile]).T
    for i, (before, here) in enumerate(pairwise(at)):
        if here <= before:
            raise ShapeError(ProfileRunsBack(arch.key, i, float(here), float(before)))
    return ContourSurface(distance, smooth_through(at, height, (at[0], at[-1]), "level"))
