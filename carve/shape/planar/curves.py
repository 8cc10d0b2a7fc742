"""Closed curves of cubic pieces: through points, their extent, and where they meet the axis."""

from collections.abc import Sequence

import numpy as np

from carve.arrays import Array
from carve.design.values.curve import Curve, Piece, Point


def through(name: str, points: Sequence[Point]) -> Curve:
    """The smooth closed curve through points: a cubic spline, C2 all around.

    No two points that follow one another may be the same. The parameter grows with the square
    root of the chords (centripetal), which keeps the curve from swinging out beside short ones
    (Lee 1989; from memory).
    """
    from scipy.interpolate import CubicSpline  # loaded for a curve through points alone

    there = np.asarray([*points, points[0]], dtype=float)
    steps = np.sqrt(np.linalg.norm(np.diff(there, axis=0), axis=1))
    knots = np.concatenate([[0.0], np.cumsum(steps)])
    slopes = CubicSpline(knots, there, bc_type="periodic")(knots, 1)
    third = np.diff(knots)[:, None] / 3
    controls = np.stack(
        [there[:-1], there[:-1] + slopes[:-1] * third, there[1:] - slopes[1:] * third, there[1:]], 1
    )
    return Curve(name, as_pieces(controls))


def as_pieces(controls: Array) -> tuple[Piece, ...]:
    """Control points (k, 4, 2) as plain pieces."""
    return tuple(
        (as_point(first), as_point(second), as_point(third), as_point(last))
        for first, second, third, last in controls
    )


def as_point(point: Array) -> Point:
    """A point (2,) as plain numbers."""
    return float(point[0]), float(point[1])


def curve_extent(curve: Curve) -> tuple[Array, Array]:
    """Lowest and highest x and y of a curve in mm, (2,) each, exact."""
    pieces = np.array(curve.pieces, dtype=float)
    first, second, third = np.diff(pieces, axis=1).transpose(1, 0, 2)
    # where a piece turns back along an axis: a t^2 - 2 b t + first = 0
    a, b = first - 2 * second + third, first - second
    root = np.sqrt(np.maximum(b**2 - a * first, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        # both forms of the formula, so that a straight piece's a of 0 does no harm
        turns = np.stack([(b + root) / a, (b - root) / a, first / (b + root), first / (b - root)])
    turns = np.clip(np.nan_to_num(turns, nan=0.0, posinf=0.0, neginf=0.0), 0.0, 1.0)[..., None]
    s, t = 1 - turns, turns
    weights = np.concatenate([s**3, 3 * s**2 * t, 3 * s * t**2, t**3], axis=-1)
    reached = np.einsum("rkxi,kix->rkx", weights, pieces)
    ends = np.concatenate([reached.reshape(-1, 2), pieces[:, 0]])
    return ends.min(axis=0), ends.max(axis=0)


def meets_axis(piece: Array) -> list[float]:
    """Where a cubic piece (4, 2) meets the line y = 0, by x in mm."""
    power = (
        np.array([[-1, 3, -3, 1], [3, -6, 3, 0], [-3, 3, 0, 0], [1, 0, 0, 0]], dtype=float) @ piece
    )
    size = max(1.0, float(np.abs(piece).max()))
    if np.abs(power[:, 1]).max() < 1e-9 * size:  # it lies on the line
        return [float(piece[0, 0]), float(piece[3, 0])]
    roots = np.roots(power[:, 1])
    inside = roots[
        (np.abs(roots.imag) < 1e-7) & (roots.real > -1e-9) & (roots.real < 1 + 1e-9)
    ].real
    return [float(x) for x in np.polyval(power[:, 0], inside)]
