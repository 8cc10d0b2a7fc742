"""From what the builder says of the body's outline to one closed curve."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array
from carve.design.body import BodyOutline
from carve.design.curve import Curve, Piece, Point, closed_polygon
from carve.errors import DesignError
from carve.shape.outline import pieces_of, points_of, polygon
from carve.shape.plan import FINE

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


@dataclass(frozen=True, eq=False)
class Outline:
    """The body's outline, made once for all bodies that have it. curve: in the body's frame."""

    curve: Curve

    @cached_property
    def polygon(self) -> BaseGeometry:
        """What it encloses, within ``FINE`` of the curve."""
        enclosed = shapely.Polygon(self.points(FINE))
        shapely.prepare(enclosed)
        return enclosed

    @cached_property
    def rim(self) -> BaseGeometry:
        """The line around, likewise."""
        around = self.polygon.exterior
        shapely.prepare(around)
        return around

    def points(self, chord_error: float) -> Array:
        """(n, 2) points in mm, counter-clockwise."""
        return polygon(self.curve, chord_error)

    def error(self, chord_error: float) -> float:
        """How far in mm the chords of ``points`` are from the curve, measured.

        Each chord is looked at where the curve's parameter is half way between its ends: a cubic
        is furthest from a short chord there, but for terms of a higher order.
        """
        controls = pieces_of(self.curve)
        counts = [len(points_of(piece, chord_error)) - 1 for piece in controls]
        piece = np.repeat(np.arange(len(controls)), counts)
        step = 1 / np.repeat(counts, counts)
        begin = np.concatenate([np.arange(count) for count in counts]) * step
        start, middle, stop = (_on(controls[piece], begin + part * step) for part in (0, 0.5, 1))
        along, off = stop - start, middle - start
        across = np.abs(along[:, 0] * off[:, 1] - along[:, 1] * off[:, 0])
        return float((across / np.hypot(*along.T)).max())


def _on(pieces: Array, t: Array) -> Array:
    """(n, 2) points of cubic pieces (n, 4, 2), each at a parameter of its own t (n,)."""
    s = 1 - t
    weights = np.stack([s**3, 3 * s**2 * t, 3 * s * t**2, t**3], axis=1)
    return np.asarray(np.einsum("nk,nkd->nd", weights, pieces))


def outline_of(outline: BodyOutline) -> Outline:
    """The outline as a value with its polygon."""
    return Outline(outline_curve(outline))


def require_simple(outline: Outline) -> None:
    """Raises DesignError where an outline crosses itself."""
    if not outline.polygon.is_valid:
        raise DesignError(
            ["body.outline.points: the outline crosses itself; give its points in turn around it"]
        )
