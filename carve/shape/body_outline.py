"""From what the builder says of the body's outline to one closed curve."""

import numpy as np
from scipy.interpolate import CubicSpline

from carve.design.body import BodyOutline
from carve.design.curve import Curve, Piece, Point, closed_polygon
from carve.shape.outline import polygon

NAME = "body outline"


def outline_curve(outline: BodyOutline) -> Curve:
    """The outline as a closed curve in the body's frame, mm."""
    return smooth_curve(outline.points) if outline.smooth else closed_polygon(NAME, outline.points)


def smooth_curve(points: tuple[Point, ...]) -> Curve:
    """The closed cubic spline through points (mm), with continuous slope and curvature.

    Its parameter runs by the chords' lengths, which keeps it from wiggling where points lie at
    uneven distances (de Boor, A Practical Guide to Splines; from memory).
    """
    around = np.array([*points, points[0]])
    lengths = np.linalg.norm(np.diff(around, axis=0), axis=1)
    spline = CubicSpline(np.concatenate([[0.0], np.cumsum(lengths)]), around, bc_type="periodic")
    slopes = spline(spline.x, 1)
    # a cubic's inner control points stand a third of the way along its end tangents
    third = lengths[:, None] / 3
    controls = np.stack(
        [
            around[:-1],
            around[:-1] + slopes[:-1] * third,
            around[1:] - slopes[1:] * third,
            around[1:],
        ],
        axis=1,
    )
    return Curve(NAME, tuple(_piece(piece) for piece in controls.tolist()))


def _piece(piece: list[list[float]]) -> Piece:
    a, b, c, d = ((x, y) for x, y in piece)
    return a, b, c, d


def chord_error(curve: Curve, asked: float) -> float:
    """How far in mm the chords of ``polygon(curve, asked)`` are from the curve, measured.

    Each chord is looked at against the curve half way between its ends, where a piece that
    turns one way within a chord is furthest from it.
    """
    coarse = polygon(curve, asked)
    # a quarter of the error takes twice the chords, a place half way along each among them
    fine = polygon(curve, asked / 4)
    if len(fine) == len(coarse):
        return 0.0
    start, along = coarse, np.roll(coarse, -1, axis=0) - coarse
    worst = 0.0
    for first in range(0, len(fine), 512):
        offset = fine[first : first + 512, None] - start
        share = np.clip((offset * along).sum(-1) / (along**2).sum(-1), 0, 1)
        away = np.linalg.norm(offset - share[..., None] * along, axis=-1).min(axis=1)
        worst = max(worst, float(away.max()))
    return worst
