"""The cross-section of a neck's back: one family, two dials a side.

A half-section from glue edge to keel is a Bezier curve of degree 5 in units of half width
(outward) and depth (downward). It passes exactly through edge and keel, leaves the edge
upright and arrives at the keel level. Its curvature is finite everywhere and, over the
whole travel of both dials, never negative and turns at most twice: no wiggle, no hollow.

The keel is one point that both sides share, so its curvature is one number, set by the
mean of the two keel dials: the back stays curvature-continuous across the keel even
where the sides differ. Each side's own keel dial shapes its flank.

The constants below were fitted so that equal steps of a dial change the area of the
section by nearly equal amounts and the letters look as the trade draws them.
"""

import numpy as np

from carve.arrays import Array

DEGREE = 5


def keel_curvature(keel: Array) -> Array:
    """Curvature at the keel in units of depth / half width squared (a half ellipse has 1).

    keel: (n,) dials 0 to 1. Returns (n,): 0 is flat, 12 a V with a keel of a few mm.
    """
    return np.asarray(1.2 * keel + 10.8 * keel**3)


def half_section(shoulder: Array, keel: Array, shared_keel: Array) -> Array:
    """Control points of half-sections.

    shoulder, keel: (n,) this side's dials, 0 to 1. shared_keel: (n,) mean keel dial of
    both sides. Returns (n, 6, 2): outward in half widths, upward in depths (negative).
    """
    s, k = np.asarray(shoulder, dtype=float), np.asarray(keel, dtype=float)
    points = np.empty((*s.shape, 6, 2))
    last_leg = (0.509 - 0.195 * s) * (1 - 0.587 * shared_keel)
    points[..., 0, :] = 1, 0
    points[..., 1, 0], points[..., 1, 1] = 1, -0.253 - 0.132 * s
    points[..., 2, 0] = 1 - (1 - s) * (0.154 - 0.006 * k)
    points[..., 2, 1] = -0.556 - 0.264 * s + 0.163 * k
    points[..., 3, 0] = 0.544 + 0.428 * s + 0.253 * k - 0.867 * s * k
    # end curvature of a Bezier curve of degree n: (n - 1)/n * height / leg^2
    points[..., 3, 1] = -1 + keel_curvature(shared_keel) * last_leg**2 * DEGREE / (DEGREE - 1)
    points[..., 4, 0], points[..., 4, 1] = last_leg, -1
    points[..., 5, :] = 0, -1
    return points


def bernstein(u: Array, derivative: int = 0) -> Array:
    """Weights of the control points. u: (m,) 0 at the edge to 1 at the keel. Returns (m, 6).

    derivative: order of the derivative by u.
    """
    degree = DEGREE - derivative
    i = np.arange(degree + 1)
    choose = np.array([1.0])
    for _ in range(degree):
        choose = np.convolve(choose, [1.0, 1.0])
    u = np.asarray(u, dtype=float)[:, None]
    weights = choose * u**i * (1 - u) ** (degree - i)
    for order in range(derivative):
        # d/du sum P_i B_i^n = n sum (P_i+1 - P_i) B_i^(n-1), read backwards on the weights
        n = degree + order + 1
        weights = n * (np.pad(weights, ((0, 0), (1, 0))) - np.pad(weights, ((0, 0), (0, 1))))
    return np.asarray(weights)


def _area_form() -> Array:
    nodes, gauss = np.polynomial.legendre.leggauss(DEGREE)  # exact to degree 9
    u = (nodes + 1) / 2
    return np.asarray((bernstein(u, 1) * gauss[:, None] / 2).T @ bernstein(u))


_AREA_FORM = _area_form()


def half_area(points: Array) -> Array:
    """Area between half-sections, glue plane and centre line, exact.

    points: (n, 6, 2) control points. Returns (n,) in the square of their unit.
    """
    y, z = points[..., 0], points[..., 1]
    # area = integral of z dy from edge to keel; both fall, so it is positive
    return np.asarray(np.einsum("...i,ij,...j->...", y, _AREA_FORM, z))
