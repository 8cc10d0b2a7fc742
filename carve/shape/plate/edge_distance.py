"""How far inside the edge a place lies, as a smooth field, and the cove that follows from it.

The true distance to an outline has a crease wherever two stretches of edge are equally near:
along the middle of a horn, and out of each corner. A spline with least bending energy that is
held softly to the true distance everywhere rounds those creases and is the true distance
elsewhere. How softly is a length: what is narrower is rounded.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from carve.arrays import Array
from carve.shape.numeric.bspline import Lattice, Spline, lattice_over, refined_step
from carve.shape.numeric.jet import Jet
from carve.shape.planar.offset import signed_distance
from carve.shape.plate.thin_plate import Plate, held, plate

KNOT_STEP = 6.0  # mm between a plate's knots at most
LEAST_CELLS = 50  # along the shorter side of a plate at least
BOX_MARGIN = 10.0  # mm of a lattice's box beyond the outline
CREASE_WIDTH = 3.0  # mm over which a crease of the distance is rounded
ALONGSIDE = 0.2  # of the margin around a pad that is wholly the pad's
SAMPLES_PER_CELL = 2  # along a lattice's cell


@dataclass(frozen=True, eq=False)
class EdgeField:
    """The distance from the edge, and the share of arch to flat ledge that follows from it.

    distance: mm, positive inside. ledge, recurve: mm, where the share is 0 and 1.
    away: mm from the nearest pad, where any is: on a pad the share is 1, and from ``margin`` mm on
    it is the cove's.
    """

    distance: Spline
    ledge: float
    recurve: float
    away: Spline | None
    margin: float

    def share(self, x: Array, y: Array) -> Array:
        """(n,) 0 on the ledge to 1 inside the recurve line, at points x, y (n,) mm."""
        share = self._cove(self.distance(x, y), 0)
        return share if self.away is None else _at_pads(share, self._clear(self.away(x, y), 0))

    def share_grid(self, x: Array, y: Array) -> Array:
        """(n, m) the same over x (n,) and y (m,) mm."""
        share = self._cove(self.distance.grid(x, y), 0)
        if self.away is None:
            return share
        return _at_pads(share, self._clear(self.away.grid(x, y), 0))

    def share_jet(self, x: Array, y: Array) -> Jet:
        """The share to second order at points x, y (n,) mm."""
        share = self.distance.jet(x, y).through(self._cove)
        if self.away is None:
            return share
        return _jet_at_pads(share, self.away.jet(x, y).through(self._clear))

    def share_grid_jet(self, x: Array, y: Array) -> Jet:
        """The share to second order over x (n,) and y (m,) mm."""
        share = self.distance.grid_jet(x, y).through(self._cove)
        if self.away is None:
            return share
        return _jet_at_pads(share, self.away.grid_jet(x, y).through(self._clear))

    def _cove(self, distance: Array, order: int) -> Array:
        width = self.recurve - self.ledge
        return smooth_step((distance - self.ledge) / width, order) / width**order

    def _clear(self, away: Array, order: int) -> Array:
        """0 on pads and a little around them, 1 from the margin on."""
        width = self.margin * (1 - ALONGSIDE)
        return smooth_step((away - self.margin + width) / width, order) / width**order


def _at_pads(share: Array, clear: Array) -> Array:
    return np.asarray((share - 1) * clear + 1)


def _jet_at_pads(share: Jet, clear: Jet) -> Jet:
    return (share - 1.0) * clear + 1.0


def smooth_step(u: Array, order: int = 0) -> Array:
    """0 up to u = 0, 1 from u = 1, and between them the quintic level and uncurved at both ends.

    order: of the derivative, 0 to 2.
    """
    u = np.clip(u, 0.0, 1.0)
    if order == 0:
        return np.asarray(u * u * u * (10 + u * (6 * u - 15)))
    if order == 1:
        return np.asarray(30 * (u * (1 - u)) ** 2)
    return np.asarray(60 * u * (1 - u) * (1 - 2 * u))


def edge_field(
    outline: Array,
    lattice: Lattice,
    cove: tuple[float, float],
    pads: Sequence[shapely.Polygon] = (),
    margin: float = 0.0,
) -> EdgeField:
    """The rim of an outline (n, 2) mm.

    cove: mm from the edge where it starts and ends. pads: plans that it gives way to within
    ``margin`` mm around.
    """
    points = samples(lattice)
    soft = softly(lattice, points, CREASE_WIDTH)
    distance = soft.through(signed_distance(outline, points))
    away = None
    if pads:
        away = soft.through(shapely.distance(shapely.union_all(pads), shapely.points(points)))
    return EdgeField(distance, *cove, away, margin)


def plate_lattice(outline: Array) -> Lattice:
    """Where the splines of a plate stand over its outline (n, 2) mm."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    step = refined_step(float((high - low).min()), KNOT_STEP, LEAST_CELLS)
    return lattice_over(low - BOX_MARGIN, high + BOX_MARGIN, step)


def samples(lattice: Lattice) -> Array:
    """(n, 2) mm: points evenly over the whole lattice."""
    x, y = (
        low + (np.arange(SAMPLES_PER_CELL * count) + 0.5) * lattice.step / SAMPLES_PER_CELL
        for low, count in zip(lattice.low, lattice.cells, strict=True)
    )
    return np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)


def softly(lattice: Lattice, points: Array, softness: Array | float) -> Plate:
    """A plate held softly at ``samples``. softness: (n,) mm, what is narrower is rounded."""
    area = (lattice.step / SAMPLES_PER_CELL) ** 2
    return plate(lattice, [held(lattice, points, area / np.asarray(softness) ** 4)])
