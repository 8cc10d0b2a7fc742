"""Ends that slant, as a multi-scale neck's do: rows that lean with them, and what they take away.

A slanted nut's end is the upright plane x = slant y, a slanted heel end x = length + slant y.
"""

import numpy as np

from carve.arrays import Array
from carve.shape.neck.section import bernstein
from carve.shape.neck.shape import NeckShape

_GAUSS = np.polynomial.legendre.leggauss(16)
PLANE_TURNS = 12  # of an iteration whose error falls at each by slant times taper, about 0.005
PLANE_STEP = 0.01  # mm, for a slope along x that is all but constant there
LEANING = 3.0  # of a slanted nut's reach; much nearer, rows that come square would crowd


def square_from(neck: NeckShape) -> float:
    """Where rows that lean with a slanted nut have come square, mm from the nut; 0 if none.

    The first station where it is far enough: three times as far as the nut's corners reach.
    """
    if not neck.ends_slanted:
        return 0.0
    far = LEANING * abs(neck.nut_slant) * neck.nut_half
    first = float(neck.stations[0])
    return min(first if first >= far else far, neck.length)


def square_to(neck: NeckShape) -> float:
    """Where rows begin to lean toward a slanted heel end, mm from the nut; its end if none.

    The last station where it is far enough from the end, as ``square_from`` has it.
    """
    if neck.heel_slant == 0 or neck.heel is not None:
        return neck.length
    far = LEANING * abs(neck.heel_slant) * neck.heel_half
    last = float(neck.stations[-1])
    return max(last if neck.length - last >= far else neck.length - far, square_from(neck))


def leaning_rows(neck: NeckShape, x: Array, t: Array) -> Array:
    """Points of the back on rows that lean with slanted ends and come square evenly.

    x: (n,) mm where a row crosses the centre line; t: (m,) as in ``surface``. Returns
    (n, m, 3) mm. A slanted end's row has every point in its plane.
    """
    lean = np.zeros_like(x)
    if neck.ends_slanted:
        near = x < square_from(neck)
        lean[near] = neck.nut_slant * (1 - x[near] / square_from(neck))
    near = x > square_to(neck)
    lean[near] = neck.heel_slant * (x[near] - square_to(neck)) / (neck.length - square_to(neck))
    leaning = lean != 0
    if not leaning.any():
        return neck.surface(x, t)
    points = np.empty((len(x), len(t), 3))
    points[~leaning] = neck.surface(x[~leaning], t)
    points[leaning] = _points_in_planes(neck, x[leaning], lean[leaning], t)
    return points


def volume_before_square(neck: NeckShape, at: float, slant: float) -> float:
    """Volume in mm^3 from a slanted plane to the square one at x = at, beyond it negative.

    Planes x = at + w slant y with w from 0 to 1 sweep it: dx = slant y dw. A channel on the
    centre line loses on one side what it gains on the other, but for its floor's slope.
    """
    if slant == 0:
        return 0.0
    nodes, weights = _GAUSS
    t = np.r_[(nodes - 1) / 2, (nodes + 1) / 2]
    across = np.r_[weights, weights] / 2
    total = 0.0
    for share, turning in zip((nodes + 1) / 2, weights / 2, strict=True):
        points, by_t = _points_in_plane(neck, at, float(share) * slant, t)
        total += float(turning * (across * points[:, 2] * slant * points[:, 1]) @ by_t)
    return total


def _points_in_plane(neck: NeckShape, at: float, slant: float, t: Array) -> tuple[Array, Array]:
    """Points (m, 3) in mm of the back in the plane x = at + slant y, and dy/dt in it (m,)."""
    points = _points_in_planes(neck, np.array([at]), np.array([slant]), t)[0]
    x, aside = points[None, :, 0], PLANE_STEP
    by_x = (_surface_at(neck, x + aside, t) - _surface_at(neck, x - aside, t))[0, :, 1] / (
        2 * aside
    )
    by_t = _surface_at(neck, x, t, derivative=1)[0, :, 1]
    return points, by_t / (1 - slant * by_x)


def _points_in_planes(neck: NeckShape, x: Array, slant: Array, t: Array) -> Array:
    """Points (n, m, 3) in mm of the back in n planes that cross the centre line at x (n,)."""
    at, lean = x[:, None] + np.zeros(len(t)), slant[:, None]
    for _ in range(PLANE_TURNS):
        at = x[:, None] + lean * _surface_at(neck, at, t)[..., 1]
    points = _surface_at(neck, at, t)
    points[..., 0] = x[:, None] + lean * points[..., 1]
    return points


def _surface_at(neck: NeckShape, x: Array, t: Array, derivative: int = 0) -> Array:
    """As ``surface``, but for every t (m,) at places of its own: x (n, m)."""
    sides = np.stack(neck.controls(x.ravel())).reshape(2, *x.shape, -1, 2)
    on_bass = t < 0
    controls = np.where(on_bass[:, None, None], sides[0], sides[1])
    sign = np.where(on_bass, -1.0, 1.0)
    weights = bernstein(1 - np.abs(t), derivative) * (-sign[:, None]) ** derivative
    across = np.einsum("mk,nmkc->nmc", weights, controls)
    first = x if derivative == 0 else np.zeros_like(x)
    return np.stack([first, sign * across[..., 0], across[..., 1]], axis=-1)
