"""What a clip path leaves of a curve: all of it, a part, or nothing.

Nothing is clipped here: who draws a curve and shows a part of it has to cut it in the drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from carve.design.values.curve import Piece, Point

if TYPE_CHECKING:
    import shapely

Left = Literal["all", "part", "nothing"]

STEPS = 24  # straight ones along a bent piece
TOUCHING = 1e-4  # of a curve's size, that it may reach over a clip path's edge


@dataclass(frozen=True)
class Clip:
    """What cuts something off. kind: in words. region: that is left, None where it is not known."""

    kind: str
    region: shapely.Geometry | None


def region_of(shapes: Sequence[Sequence[Sequence[Piece]]]) -> shapely.Geometry:
    """What lies within shapes, each of one or more ways; a way within another is its hole."""
    import shapely  # clip paths are rare, and it takes its time to load

    region = shapely.Polygon()
    for ways in shapes:
        inner = shapely.Polygon()
        for way in ways:
            points = points_along(way)
            if len(points) > 2:
                inner = inner.symmetric_difference(shapely.Polygon(points).buffer(0))
        region = region.union(inner)
    return region


def left_by(clips: Sequence[Clip], pieces: Sequence[Piece]) -> tuple[Left, str]:
    """What clips leave of a curve, and the kind of the one that leaves least."""
    if not clips:
        return "all", ""
    import shapely

    points = points_along(pieces)
    closed = points[0] == points[-1] and len(points) > 3
    shape = shapely.Polygon(points).buffer(0) if closed else shapely.LineString(points)
    low_x, low_y, high_x, high_y = shapely.LineString(points).bounds
    touching = TOUCHING * max(high_x - low_x, high_y - low_y)
    found: tuple[Left, str] = "all", ""
    for clip in clips:
        if clip.region is None:
            found = "part", clip.kind
        elif not clip.region.intersects(shape):
            return "nothing", clip.kind
        elif not clip.region.buffer(touching).covers(shape):
            found = "part", clip.kind
    return found


def points_along(pieces: Sequence[Piece]) -> list[Point]:
    """Points on pieces that follow one another, both ends among them."""
    points: list[Point] = [pieces[0][0]]
    for a, b, c, d in pieces:
        for step in range(1, STEPS + 1):
            t = step / STEPS
            u = 1 - t
            w = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
            points.append(
                (
                    w[0] * a[0] + w[1] * b[0] + w[2] * c[0] + w[3] * d[0],
                    w[0] * a[1] + w[1] * b[1] + w[2] * c[1] + w[3] * d[1],
                )
            )
        points[-1] = d
    return points
