"""Smooth fields over a plan: tensor products of uniform cubic B-splines.

A field is C2 everywhere, its derivatives are analytic, and it is evaluated on a grid by two
small matrix products (de Boor, A Practical Guide to Splines, 1978; from memory). Its bending
energy, the integral of f_xx^2 + 2 f_xy^2 + f_yy^2, is on each cell the same sum of Kronecker
products of one-dimensional Gram matrices. Cells are counted one by one, so that an energy can
be that of a region: those outside it have no say.

Why not scipy's: ``NdBSpline.design_matrix`` knows no derivatives, which held slopes need, and a
surface with both its derivatives takes it three times as long (20 000 points: 24 ms, here 8 ms),
since on uniform knots a cell is found without a search. Both agree to rounding; a test holds it.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.linalg import solve_banded, solveh_banded

from carve.arrays import Array, IntArray
from carve.shape.numeric.jet import ORDERS, Jet

EXACT_WEIGHT = 1e6  # weight of what a curve must pass through
ORDER = 4  # a cubic has four B-splines over each cell

# rows: the four B-splines over a cell; columns: their coefficients of 1, u, u^2, u^3, u in 0..1
_CUBICS = np.array([[1, -3, 3, -1], [4, 0, -6, 3], [1, 3, 3, -3], [0, 0, 0, 1]]) / 6


@dataclass(frozen=True)
class Lattice:
    """Where the B-splines stand: square cells from a low corner.

    low: x, y mm. step: mm, side of a cell. cells: how many along x and y.
    """

    low: tuple[float, float]
    step: float
    cells: tuple[int, int]

    @property
    def shape(self) -> tuple[int, int]:
        """How many B-splines there are along x and y."""
        return self.cells[0] + ORDER - 1, self.cells[1] + ORDER - 1

    @property
    def size(self) -> int:
        """How many B-splines there are."""
        return self.shape[0] * self.shape[1]

    @property
    def high(self) -> tuple[float, float]:
        """The high corner, x, y mm."""
        return (
            self.low[0] + self.step * self.cells[0],
            self.low[1] + self.step * self.cells[1],
        )


def lattice_over(low: Array, high: Array, step: float) -> Lattice:
    """The lattice over a box, a knot of it on the origin.

    So a plan that is the same on both sides of the centre line gets a field that is. low, high:
    (2,) mm, corners of the box. step: mm.
    """
    first, last = np.floor(low / step), np.ceil(high / step)
    across, up = (max(1, int(count)) for count in last - first)
    return Lattice((float(first[0] * step), float(first[1] * step)), step, (across, up))


def rows(lattice: Lattice, x: Array, y: Array, dx: int = 0, dy: int = 0) -> sparse.csr_array:
    """(n, lattice.size) matrix from coefficients to the field at points x, y (n,) mm.

    dx, dy: how often it is differentiated along each axis, 0 to 3.
    """
    (i, u), (j, v) = _cells(lattice, 0, x), _cells(lattice, 1, y)
    bx, by = _weights(u, dx, lattice.step), _weights(v, dy, lattice.step)
    values = bx[:, :, None] * by[:, None, :]
    four = np.arange(ORDER)
    places = ((i[:, None] + four) * lattice.shape[1])[:, :, None] + (j[:, None] + four)[:, None, :]
    starts = np.arange(0, ORDER**2 * len(i) + 1, ORDER**2)
    shape = (len(i), lattice.size)
    return sparse.csr_array((values.ravel(), places.ravel(), starts), shape=shape)


def line(lattice: Lattice, axis: int, places: Array, order: int = 0) -> sparse.csr_array:
    """(n, lattice.shape[axis]) matrix of the B-splines of one axis at places (n,) mm."""
    i, u = _cells(lattice, axis, places)
    values = _weights(u, order, lattice.step)
    starts = np.arange(0, ORDER * len(i) + 1, ORDER)
    columns = (i[:, None] + np.arange(ORDER)).ravel()
    shape = (len(i), lattice.shape[axis])
    return sparse.csr_array((values.ravel(), columns, starts), shape=shape)


def _cells(lattice: Lattice, axis: int, places: Array) -> tuple[IntArray, Array]:
    """Cell of each place, and where in it from 0 to 1. Beyond the box the last cell goes on."""
    along = (np.asarray(places, dtype=float) - lattice.low[axis]) / lattice.step
    cell = np.clip(np.floor(along).astype(np.int64), 0, lattice.cells[axis] - 1)
    return cell, along - cell


def _weights(u: Array, order: int, step: float) -> Array:
    """(n, 4) derivative of a cell's four B-splines at u (n,) from 0 to 1."""
    cubics = _CUBICS
    for _ in range(order):
        cubics = cubics[:, 1:] * np.arange(1, cubics.shape[1])
    values = np.empty((len(u), ORDER))
    for k, powers in enumerate(cubics / step**order):
        value = np.full_like(u, powers[-1])
        for factor in powers[-2::-1]:  # Horner's scheme
            value = value * u + factor
        values[:, k] = value
    return values


PARTS_PER_CELL = (
    4  # along a cell's side: how finely a region's edge is resolved where it cuts a cell
)


def centres(lattice: Lattice) -> tuple[Array, Array]:
    """Middles of the cells' parts along x and along y, mm: PARTS of them to a cell."""
    (x0, y0), part = lattice.low, lattice.step / PARTS_PER_CELL
    across, up = (np.arange(count * PARTS_PER_CELL) + 0.5 for count in lattice.cells)
    return np.asarray(x0 + part * across), np.asarray(y0 + part * up)


def mass(lattice: Lattice, share: Array | None = None) -> sparse.csr_array:
    """Matrix of the integral of f^2. share: of each part of each cell, as ``centres`` has them."""
    return _summed(lattice, {(0, 0): 1.0}, share)


def steepness(lattice: Lattice, share: Array | None = None) -> sparse.csr_array:
    """Matrix of the integral of f_x^2 + f_y^2. share: as for ``mass``."""
    return _summed(lattice, {(1, 0): 1.0, (0, 1): 1.0}, share)


def bending(lattice: Lattice, share: Array | None = None) -> sparse.csr_array:
    """Matrix of the bending energy. share: as for ``mass``."""
    return _summed(lattice, {(2, 0): 1.0, (1, 1): 2.0, (0, 2): 1.0}, share)


def _summed(
    lattice: Lattice, terms: Mapping[tuple[int, int], float], share: Array | None
) -> sparse.csr_array:
    """The matrix of sums of squared derivatives. terms: orders along x and y, and their weight."""
    across, up = lattice.cells
    parts = np.zeros((PARTS_PER_CELL, PARTS_PER_CELL, *[ORDER] * 4))
    for (dx, dy), weight in terms.items():
        along, beside = _grams(lattice.step, dx), _grams(lattice.step, dy)
        parts += weight * np.einsum("pac,qbd->pqabcd", along, beside)
    if share is None:
        cell = parts.sum(axis=(0, 1))[..., None, None]
    else:
        cut = share.reshape(across, PARTS_PER_CELL, up, PARTS_PER_CELL).transpose(1, 3, 0, 2)
        cell = np.tensordot(parts, cut, axes=((0, 1), (0, 1)))
    reach = ORDER - 1
    # entry [k, l, i, j]: from B-spline (i, j) to B-spline (i + k, j + l)
    entries = np.zeros((2 * reach + 1, 2 * reach + 1, *lattice.shape))
    for a, b, c, d in np.ndindex((ORDER,) * 4):
        entries[a - c, b - d, c : c + across, d : d + up] += cell[a, b, c, d]
    steps = np.r_[0 : reach + 1, -reach:0]  # negative ones stand at the end of an axis
    offsets = (steps[:, None] * lattice.shape[1] + steps).ravel()
    # scipy keeps the entry (i + k, i) in column i of diagonal -k
    diagonals = entries.reshape(len(offsets), lattice.size)
    matrix = sparse.dia_array((diagonals, -offsets), shape=(lattice.size, lattice.size))
    return sparse.csr_array(matrix)


def _grams(step: float, order: int) -> Array:
    """(PARTS, 4, 4) integrals over a cell's parts of products of its B-splines, differentiated."""
    nodes, shares = np.polynomial.legendre.leggauss(ORDER)  # exact to degree 7; products have 6
    at = (np.arange(PARTS_PER_CELL)[:, None] + (nodes + 1) / 2) / PARTS_PER_CELL
    values = _weights(at.ravel(), order, step).reshape(PARTS_PER_CELL, ORDER, ORDER)
    return np.asarray(
        np.einsum("pna,n,pnc->pac", values, shares / 2 * step / PARTS_PER_CELL, values)
    )


@dataclass(frozen=True, eq=False)
class Spline:
    """A field as its coefficients. coefficients: lattice.shape, in the field's own unit."""

    lattice: Lattice
    coefficients: Array

    def __call__(self, x: Array, y: Array, dx: int = 0, dy: int = 0) -> Array:
        """(n,) the field, or a derivative of it, at points x, y (n,) mm."""
        return self._at(x, y, ((dx, dy),))[0]

    def grid(self, x: Array, y: Array, dx: int = 0, dy: int = 0) -> Array:
        """(n, m) the field, or a derivative of it, over x (n,) and y (m,) mm."""
        along, across = line(self.lattice, 0, x, dx), line(self.lattice, 1, y, dy)
        # first the axis that leaves less to do for the other
        return np.asarray((across @ (along @ self.coefficients).T).T)

    def jet(self, x: Array, y: Array) -> Jet:
        """The field to second order at points x, y (n,) mm."""
        return Jet(*self._at(x, y, ORDERS))

    def grid_jet(self, x: Array, y: Array) -> Jet:
        """The field to second order over x (n,) and y (m,) mm."""
        return Jet(*(self.grid(x, y, *order) for order in ORDERS))

    def _at(self, x: Array, y: Array, orders: Sequence[tuple[int, int]]) -> list[Array]:
        (i, u), (j, v) = _cells(self.lattice, 0, x), _cells(self.lattice, 1, y)
        four, step = np.arange(ORDER), self.lattice.step
        near = self.coefficients[i[:, None, None] + four[:, None], j[:, None, None] + four]
        across = {dy: np.einsum("nij,nj->ni", near, _weights(v, dy, step)) for _, dy in orders}
        along = {dx: _weights(u, dx, step) for dx, _ in orders}
        return [np.einsum("ni,ni->n", along[dx], across[dy]) for dx, dy in orders]

    def energy(self) -> float:
        """Bending energy over the box."""
        flat = self.coefficients.ravel()
        return float(flat @ (bending(self.lattice) @ flat))


def along_x(lattice: Lattice, values: Array) -> Array:
    """Coefficients of a field that is the same all across.

    values: (lattice.cells[0] + 1,) at the knots along x, level at both ends.
    Returns lattice.shape.
    """
    count = lattice.cells[0] + 1
    # at a knot three B-splines meet, with shares 1/6, 2/3 and 1/6; level ends mirror them
    band = np.repeat([[1 / 6], [2 / 3], [1 / 6]], count, axis=1)
    band[0, 1] = band[2, -2] = 1 / 3
    inner = solve_banded((1, 1), band, values)
    solved = np.r_[inner[1], inner, inner[-2]]
    return np.repeat(solved[:, None], lattice.shape[1], axis=1)


def fit_lines(
    lattice: Lattice, axis: int, curve: tuple[Array, Array], through: tuple[Array, Array]
) -> Array:
    """The values at a curve's places of the nearest spline along an axis.

    curve: places (n,) mm and values (n, ...), of many curves at once. through: places (k,) mm and
    values (k, ...) that it passes through exactly.
    """
    on_curve, exact = (line(lattice, axis, places) for places in (curve[0], through[0]))
    matrix = on_curve.T @ on_curve + EXACT_WEIGHT * (exact.T @ exact)
    pull = on_curve.T @ curve[1] + EXACT_WEIGHT * (exact.T @ through[1])
    band = np.array([np.r_[matrix.diagonal(-k), np.zeros(k)] for k in range(ORDER)])
    band[0] += 1 / EXACT_WEIGHT  # of B-splines that no place reaches
    return np.asarray(on_curve @ solveh_banded(band, pull, lower=True))


def refined_step(extent: float, most: float, cells: int) -> float:
    """A step in mm: ``most``, or so much smaller that ``extent`` has as many cells at least."""
    return min(most, extent / max(1, math.ceil(cells)))
