"""Piecewise polynomials over a line, each piece by its Bernstein coefficients.

A neck's curves are such quintics, and nothing else is asked of them than a value or a derivative.
That is little enough to stand here in the open: scipy's ``BPoly``, which tests hold this against,
takes longer to load than all else that checks a neck.
"""

from dataclasses import dataclass
from functools import cached_property
from math import comb, perm

import numpy as np

from carve.arrays import Array

MULTIPLIED_OUT = 3  # degree up to which powers are products
HIGHEST = 9  # degree there may be

# by degree, made once: short curves are asked for often
_EXPONENTS = [np.arange(2.0, k + 1) for k in range(HIGHEST + 1)]
_BINOMIALS = [np.array([comb(k, j) for j in range(k + 1)], float) for k in range(HIGHEST + 1)]


@dataclass(frozen=True, eq=False)
class PiecewisePolynomial:
    """A function of x in pieces of one degree k, 9 at most.

    Beyond its ends the outermost pieces go on.

    c: (k + 1, m, ...) Bernstein coefficients of m pieces, of one value or of several at once.
    x: (m + 1,) strictly rising knots. A piece holds at the knot where it begins.
    """

    c: Array
    x: Array

    def __call__(self, x: Array | float, nu: int = 0) -> Array:
        """Values at x (...), or derivatives of order ``nu``: (...), then the shape of a value."""
        at = np.asarray(x, dtype=float)
        piece = self.x[1:-1].searchsorted(at, side="right")
        wide = self.widths[piece]
        t = (at - self.x[piece]) / wide
        c = _differences(self.c, nu)[:, piece] if nu else self.c[:, piece]  # (k + 1, ..., ...)
        value = (1,) * (self.c.ndim - 2)
        found = _combined(c, t.reshape(t.shape + value))
        return found / np.float_power(wide, nu).reshape(t.shape + value) if nu else found

    @cached_property
    def widths(self) -> Array:
        """(m,) how wide the pieces are."""
        return np.diff(self.x)

    def derivative(self, order: int = 1) -> "PiecewisePolynomial":
        """The derivative of an order of 1 or more, of a degree less for each."""
        c, widths = self.c, self.widths.reshape(-1, *(1,) * (self.c.ndim - 2))
        for _ in range(order):
            c = (len(c) - 1) * np.diff(c, axis=0) / widths if len(c) > 1 else np.zeros_like(c)
        return PiecewisePolynomial(c, self.x)


def _differences(c: Array, order: int) -> Array:
    """Bernstein coefficients of a derivative, over pieces of length one."""
    degree = len(c) - 1
    if order > degree:
        return np.zeros_like(c[:1])
    found = np.zeros_like(c[order:])
    for j in range(order + 1):
        found += c[j : len(c) - order + j] * float((-1) ** (j + order)) * comb(order, j)
    return found * float(perm(degree, order))


def _combined(c: Array, t: Array) -> Array:
    """Sum of Bernstein polynomials at t (n, ...), 0 to 1 in a piece, weighted by c (k + 1, n, ...).

    In the order of scipy's own sum, so that both agree to the last digit.
    """
    degree, s = len(c) - 1, 1 - t
    if degree <= MULTIPLIED_OUT:
        terms = np.empty_like(c)
        for j, one in enumerate(c):
            term = one * comb(degree, j)
            for factor in (*(degree - j) * [s], *j * [t]):
                term = term * factor
            terms[j] = term
    else:
        powers = np.empty((2, degree + 1, *t.shape))
        powers[:, 0], powers[0, 1], powers[1, 1] = 1.0, t, s
        over = (-1, *(1,) * t.ndim)
        exponents, binomials = _EXPONENTS[degree].reshape(over), _BINOMIALS[degree].reshape(over)
        # not ``**``: numpy's own powers differ in the last digit from processor to processor
        np.float_power(powers[:, 1:2], exponents, out=powers[:, 2:])
        terms = binomials * powers[0] * powers[1, ::-1] * c
    return np.asarray(np.add.reduce(terms, axis=0))
