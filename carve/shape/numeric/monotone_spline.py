"""Curves along the length: exactly through the stations, smooth, and never beyond them.

Of all twice continuously differentiable curves made of one quintic from station to
station, the one with the least bending energy (the integral of f''^2) that rises where
the stations rise, falls where they fall and stays level where they are level. Where the
natural cubic spline already does that it *is* this curve (Holladay's theorem: the
natural cubic spline has the least bending energy of all curves through its points), so
stations on a straight line give a straight line.

Rising is held by the five Bernstein coefficients of each piece's derivative: where none
is negative the piece cannot fall. That leaves a small least-distance problem with linear
inequalities, solved by non-negative least squares (Lawson and Hanson, Solving Least
Squares Problems, 1974, chapter 23; from memory).
"""

from typing import Literal, get_args

import numpy as np

from carve.arrays import Array
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial

Ends = Literal["straight", "level", "clamped"]
"""Beyond the outermost stations: go on straight, or stay level at their values.

Clamped is level too, but free to bend there, as a plate is along its clamp; it ends there.
"""


# whether slope and second derivative are zero at both ends
_HELD_AT_ENDS: dict[Ends, tuple[bool, bool]] = {
    "straight": (False, True),
    "level": (True, True),
    "clamped": (True, False),
}
assert set(_HELD_AT_ENDS) == set(get_args(Ends))

WON = 1e-13  # share of what is sought; less is rounding


def smooth_through(
    x: Array, y: Array, reach: tuple[float, float], ends: Ends
) -> PiecewisePolynomial:
    """The smoothest curve through the stations that never overshoots between them.

    x: (n,) strictly rising places in mm, n at least 1; y: (n,) values there.
    reach: the places between which the curve is wanted, at least x[0] to x[-1].
    Returns a piecewise polynomial that is C2 over ``reach``; ``.derivative()`` works.
    """
    if len(x) == 1:
        slope = bend = np.zeros(1)
    else:
        slope, bend = _slopes_and_bends(x, y, ends)
    if reach[0] < x[0]:
        x, y = np.r_[reach[0], x], np.r_[y[0] - slope[0] * (x[0] - reach[0]), y]
        slope, bend = np.r_[slope[0], slope], np.r_[0.0, bend]
    if reach[1] > x[-1]:
        x, y = np.r_[x, reach[1]], np.r_[y, y[-1] + slope[-1] * (reach[1] - x[-1])]
        slope, bend = np.r_[slope, slope[-1]], np.r_[bend, 0.0]
    return quintics(x, y, slope, bend)


def quintics(x: Array, y: Array, slope: Array, bend: Array) -> PiecewisePolynomial:
    """The quintic pieces with these values and first and second derivatives at the knots."""
    h = np.diff(x)
    rise0, rise1 = h * slope[:-1] / 5, h * slope[1:] / 5
    bow0, bow1 = h**2 * bend[:-1] / 20, h**2 * bend[1:] / 20
    coefficients = np.array(
        [
            y[:-1],
            y[:-1] + rise0,
            y[:-1] + 2 * rise0 + bow0,
            y[1:] - 2 * rise1 + bow1,
            y[1:] - rise1,
            y[1:],
        ]
    )
    return PiecewisePolynomial(coefficients, x)


def _slopes_and_bends(x: Array, y: Array, ends: Ends) -> tuple[Array, Array]:
    """First and second derivatives at the stations, each (n,)."""
    n = len(x)
    unit = x[-1] - x[0]  # solved on a length of one, so that slope and bend are alike in size
    h, steep = np.diff(x) / unit, np.diff(y) / np.diff(x) * unit
    energy, pull = _bending(h, y)

    held = np.zeros(2 * n, dtype=bool)  # unknowns known to be zero: slopes first, then bends
    slope_held, bend_held = _HELD_AT_ENDS[ends]
    held[[0, n - 1]] = slope_held
    held[[n, 2 * n - 1]] = bend_held
    flat = steep == 0
    for end in (0, 1):
        held[np.flatnonzero(flat) + end] = True
        held[n + np.flatnonzero(flat) + end] = True
    held[np.flatnonzero(steep[:-1] * steep[1:] < 0) + 1] = True  # slope at a summit or a low

    free = ~held
    unknowns = np.zeros(2 * n)
    if free.any():
        keep_rising, floor = _rising(h, steep)
        unknowns[free] = _least_distance(
            energy[np.ix_(free, free)], -pull[free], keep_rising[:, free], floor
        )
    return unknowns[:n] / unit, unknowns[n:] / unit**2


def _piece_energy() -> Array:
    """(6, 6) energy of a quintic on the unit interval.

    In its values, slopes and bends: f0, f1, f0', f1', f0'', f1''.
    """
    nodes, weights = np.polynomial.legendre.leggauss(4)  # exact to degree 7; f''^2 has 6
    bends = []
    for unit in np.eye(6):
        f0, f1, d0, d1, m0, m1 = (np.array([u, u]) for u in unit)
        y, slope, bend = (np.array([a[0], b[1]]) for a, b in ((f0, f1), (d0, d1), (m0, m1)))
        piece = quintics(np.array([0.0, 1.0]), y, slope, bend)
        bends.append(piece.derivative(2)((nodes + 1) / 2))
    basis = np.array(bends)
    return np.asarray(basis * weights / 2 @ basis.T)


_PIECE_ENERGY = _piece_energy()


def _bending(h: Array, y: Array) -> tuple[Array, Array]:
    """Energy of the curve as u.Q.u / 2 + p.u in the unknowns u = (slopes, bends)."""
    n = len(y)
    energy, pull = np.zeros((2 * n, 2 * n)), np.zeros(2 * n)
    for i, step in enumerate(h):
        scale = np.array([1, 1, step, step, step**2, step**2])
        piece = 2 * _PIECE_ENERGY * np.outer(scale, scale) / step**3
        where = [i, i + 1, n + i, n + i + 1]
        energy[np.ix_(where, where)] += piece[2:, 2:]
        pull[where] += piece[2:, :2] @ y[i : i + 2]
    return energy, pull


def _rising(h: Array, steep: Array) -> tuple[Array, Array]:
    """Rows G, g with G.u >= g where every piece moves only the way its stations do."""
    n = len(h) + 1
    rows, floors = [], []
    for i, (step, mean) in enumerate(zip(h, steep, strict=True)):
        if mean == 0:
            continue
        way = np.sign(mean)
        d0, d1, m0, m1 = np.eye(2 * n)[[i, i + 1, n + i, n + i + 1]]
        rows += [
            way * d0,
            way * (d0 + step * m0 / 4),
            way * (-2 * d0 - 2 * d1 - step * (m0 - m1) / 4),
            way * (d1 - step * m1 / 4),
            way * d1,
        ]
        floors += [0.0, 0.0, -5 * abs(mean), 0.0, 0.0]
    return np.array(rows).reshape(-1, 2 * n), np.array(floors)


def _least_distance(energy: Array, pull: Array, rows: Array, floors: Array) -> Array:
    """The u with least u.Q.u / 2 - p.u for which rows.u >= floors."""
    best = np.linalg.solve(energy, pull)
    short = floors - rows @ best
    if not len(rows) or short.max() <= 1e-12 * max(1.0, float(np.abs(rows @ best).max())):
        return np.asarray(best)
    root = np.linalg.cholesky(energy)
    turned = np.linalg.solve(root, rows.T)  # columns: the rows in the energy's own metric
    system = np.vstack([turned, short / np.abs(short).max()])
    target = np.zeros(len(system))
    target[-1] = 1.0
    multipliers = _nonnegative_least_squares(system, target)
    rest = system @ multipliers - target
    step = -rest[:-1] / rest[-1] * np.abs(short).max()
    return np.asarray(best + np.linalg.solve(root.T, step))


def _nonnegative_least_squares(system: Array, target: Array) -> Array:
    """The x with least |system.x - target|, none of it negative.

    Mostly one unknown alone leaves zero, the one by which most is won. That is tried first,
    because scipy takes longer to load than all else of such a neck takes together.
    """
    won = system.T @ target
    one = int(won.argmax())
    x = np.zeros(len(won))
    x[one] = np.linalg.lstsq(system[:, [one]], target)[0][0]
    # nothing is left to win by any other: the conditions of Kuhn and Tucker
    if (system.T @ (target - system @ x)).max() <= WON:
        return x
    from scipy.optimize import nnls

    return np.asarray(nnls(system, target)[0])
