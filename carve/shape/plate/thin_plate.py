"""The shape a thin plate takes: the least bending energy of all fields held to given lines.

What holds it are whole lines and regions, sampled densely; a point alone would leave a
dimple. The field is a tensor-product spline, so the energy is a sparse quadratic form; a hold
is a stiff spring at each sample. Together they are one symmetric positive matrix whose entries
lie in a narrow band, factored once by LAPACK; every further set of values held costs one
back-substitution.

How stiff a spring must be: it gives way by the force on it over its stiffness. The force a held
line takes is the jump of the plate's third derivative there, some 1e-4 per mm^2 for an arch of
20 mm on 200; so at 1e3 per mm^3 a line gives way by 1e-7 mm, and the matrix is still far from
what double precision cannot solve.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.linalg import cho_solve_banded, cholesky_banded
from threadpoolctl import ThreadpoolController

from carve.arrays import Array, BoolArray, IntArray
from carve.shape.numeric.bspline import Lattice, Spline, bending, mass, rows, steepness

# Our matrices are small. Where another program keeps a core busy, OpenBLAS's threads wait for each
# other in a spin, and a plate that one thread factors in 60 ms takes seconds.
BLAS = ThreadpoolController()
LEAST_PULL = 1e-12  # stiffness of everything to zero, so that what nothing holds lies flat


@dataclass(frozen=True, eq=False)
class Hold:
    """Samples at which the field, or one of its slopes, is held to a value.

    rows: (n, lattice.size) from coefficients to what is held. stiffness: (n,), the spring's at
    each sample: its density on the line or region times the length or area the sample stands for.
    """

    rows: sparse.csr_array
    stiffness: Array


def held(lattice: Lattice, points: Array, stiffness: Array | float) -> Hold:
    """Hold the field at points (n, 2) mm."""
    return Hold(rows(lattice, *points.T), np.broadcast_to(stiffness, len(points)))


def held_slope(lattice: Lattice, points: Array, along: Array, stiffness: Array | float) -> Hold:
    """Hold the field's slope at points (n, 2) mm along unit vectors (n, 2)."""
    x, y = points.T
    by_x, by_y = rows(lattice, x, y, 1, 0), rows(lattice, x, y, 0, 1)
    slope = sparse.diags_array(along[:, 0]) @ by_x + sparse.diags_array(along[:, 1]) @ by_y
    return Hold(sparse.csr_array(slope), np.broadcast_to(stiffness, len(points)))


@dataclass(frozen=True, eq=False)
class Plate:
    """A plate in its holds, factored: values in, field out.

    free: which coefficients are solved for; all others are 0. pull: (free, samples) from values
    held to forces. band: the Cholesky factor. elastic: (free, lattice.size) from the coefficients
    of the field that an elastic foundation draws the plate to, to forces; None without one.
    """

    lattice: Lattice
    free: IntArray
    pull: sparse.csr_array
    band: Array
    elastic: sparse.csr_array | None

    def through(
        self, values: Array, onto: Array | None = None, load: Array | None = None
    ) -> Spline:
        """The field through values (samples,) mm, in the order of the holds.

        onto: lattice.shape, coefficients of the field that the elastic foundation draws it to.
        load: lattice.size, the integrals of a load against the B-splines, in units of the
        plate's stiffness.
        """
        force = self.pull @ values
        if onto is not None and self.elastic is not None:
            force += self.elastic @ onto.ravel()
        if load is not None:
            force += load[self.free]
        return Spline(self.lattice, self._moved(force).reshape(self.lattice.shape))

    def fields(self, values: Array, onto: Array | None = None) -> Array:
        """(lattice.size, k) coefficients of the fields through k sets of values (samples, k) mm.

        onto: (lattice.size, k) of the fields that the elastic foundation draws them to.
        """
        forces = self.pull @ values
        if onto is not None and self.elastic is not None:
            forces += self.elastic @ onto
        return self._moved(forces)

    def _moved(self, forces: Array) -> Array:
        """(lattice.size, ...) coefficients under forces (free, ...)."""
        coefficients = np.zeros((self.lattice.size, *forces.shape[1:]))
        with BLAS.limit(limits=1, user_api="blas"):
            found = cho_solve_banded((self.band, True), forces, check_finite=False)
        coefficients[self.free] = found
        return coefficients


def plate(
    lattice: Lattice,
    holds: Sequence[Hold],
    free: BoolArray | None = None,
    length: float | None = None,
    share: Array | None = None,
    follows: Array | None = None,
) -> Plate:
    """Factor a plate in its holds.

    free: (lattice.size,) which coefficients may differ from 0, None for all. length: mm; where
    given the plate stands on an elastic foundation (Winkler's, with one for the slope), and comes
    down to it within about 1.7 lengths of a line that holds it away, and not beyond it: the energy
    gains 2 / length^2 times the square of the slope and 1 / length^4 times the square of the
    distance to the foundation, which is critical damping.
    share: of each part of each cell that counts, as ``bspline.centres`` has them.
    follows: of the same parts, from 0 to 1: where 1, the elastic foundation draws the plate to the
    slope and the bending of its field as well; left out, to the field's height alone and to level.
    """
    every = np.arange(lattice.size) if free is None else np.flatnonzero(free)
    matrix = bending(lattice, share) + LEAST_PULL * mass(lattice)
    elastic = None
    if length is not None:
        springs = sparse.csr_array(mass(lattice, share) / length**4)
        matrix = matrix + springs + 2 / length**2 * steepness(lattice, share)
        if follows is not None:
            there = follows if share is None else share * follows
            springs = springs + 2 / length**2 * steepness(lattice, there) + bending(lattice, there)
        elastic = sparse.csr_array(sparse.csr_array(springs)[every])
    together = sparse.vstack([hold.rows for hold in holds], format="csr")
    stiffness = np.concatenate([hold.stiffness for hold in holds])
    pull = sparse.csr_array((sparse.diags_array(stiffness) @ together).T)
    matrix = sparse.csr_array(matrix + pull @ together)
    return Plate(
        lattice,
        every,
        sparse.csr_array(pull[every]),
        _factor(sparse.coo_array(matrix[every][:, every])),
        elastic,
    )


def _factor(matrix: sparse.coo_array) -> Array:
    """Cholesky factor of a symmetric matrix in LAPACK's lower band form."""
    row, column = matrix.coords
    lower = row >= column
    row, column, values = row[lower], column[lower], matrix.data[lower]
    band = np.zeros((int((row - column).max()) + 1, matrix.shape[0]))
    band[row - column, column] = values
    with BLAS.limit(limits=1, user_api="blas"):
        factor = cholesky_banded(band, lower=True, overwrite_ab=True, check_finite=False)
    return np.asarray(factor)


def uniform_load(lattice: Lattice, share: Array | None = None) -> Array:
    """(lattice.size,) integrals of a load of 1 against the B-splines. share: as for the plate."""
    return np.asarray(mass(lattice, share) @ np.ones(lattice.size))
