"""What a clip path leaves of a curve: all of it, a part, or nothing.

Nothing is clipped here: who draws a curve and shows a part of it has to cut it in the drawing.
Whether a point is inside is told by counting crossings (the even-odd rule, SVG 1.1, section 11.3).
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

from carve.design.values.curve import Piece, Point

Left = Literal["all", "part", "nothing"]

STEPS = 24  # straight ones along a bent piece
TOUCHING = 1e-4  # of a curve's size, that it may reach over a clip path's edge
MOST_LOOKED_AT = 3_000_000  # pairs of a step and an edge in a drawing, some seconds

Box = tuple[float, float, float, float]
"""Lowest x and y, highest x and y."""


@dataclass(frozen=True)
class Clip:
    """What cuts something off.

    kind: in words. shapes: what it leaves, each shape of one or more rings of points, the last
    as the first; None where it is not known.
    """

    kind: str
    shapes: tuple[tuple[tuple[Point, ...], ...], ...] | None

    @cached_property
    def edges(self) -> tuple[tuple[Point, Point], ...]:
        """All straight edges of it."""
        rings = (ring for shape in self.shapes or () for ring in shape)
        return tuple(edge for ring in rings for edge in pairwise(ring))

    @cached_property
    def rectangle(self) -> Box | None:
        """Its box where it is a single upright rectangle, as around a page."""
        if self.shapes is None or len(self.shapes) != 1 or len(self.shapes[0]) != 1:
            return None
        (ring,) = self.shapes[0]
        box = _box(ring)
        corners = {(x, y) for x in box[::2] for y in box[1::2]}
        turns = list(dict.fromkeys(ring))
        return box if len(turns) == 4 and set(turns) == corners else None

    def encloses(self, point: Point) -> bool:
        """Whether a point lies in what it leaves."""
        return any(
            sum(_crosses(edge, point) for ring in shape for edge in pairwise(ring)) % 2
            for shape in self.shapes or ()
        )


@dataclass
class Effort:
    """How much may still be looked at in one drawing. left: pairs of a step and an edge."""

    left: int = MOST_LOOKED_AT

    def allows(self, pairs: int) -> bool:
        """Whether so many more are allowed; they are taken off."""
        self.left -= pairs
        return self.left >= 0


def clip_of(kind: str, shapes: Iterable[Sequence[Sequence[Piece]]]) -> Clip:
    """A clip path from the ways of its shapes; each way is closed by a straight line."""
    rings = (tuple(_closed(points_along(way)) for way in ways) for ways in shapes)
    return Clip(kind, tuple(rings))


def left_by(clips: Sequence[Clip], pieces: Sequence[Piece], effort: Effort) -> tuple[Left, str]:
    """What clips leave of a curve, and the kind of the one that leaves least.

    Where that is not known, or takes more than the effort allowed, a part counts as cut off.
    """
    found: tuple[Left, str] = "all", ""
    points = points_along(pieces) if clips else []
    for clip in clips:
        left = _left_by_one(clip, points, effort)
        if left == "nothing":
            return left, clip.kind
        if left == "part":
            found = left, clip.kind
    return found


def _left_by_one(clip: Clip, points: Sequence[Point], effort: Effort) -> Left:
    if clip.shapes is None:
        return "part"
    if not clip.edges:
        return "nothing"
    low_x, low_y, high_x, high_y = box = _box(points)
    touching = TOUCHING * max(high_x - low_x, high_y - low_y)
    around = _box([point for edge in clip.edges for point in edge])
    if (
        low_x > around[2] + touching
        or high_x < around[0] - touching
        or low_y > around[3] + touching
        or high_y < around[1] - touching
    ):
        return "nothing"
    if clip.rectangle is not None and _holds(around, box, touching):
        return "all"
    if not effort.allows(len(points) * len(clip.edges)):
        return "part"
    # 1 inside, -1 outside, 0 on the edge, give or take
    sides = [
        0 if any(_away(edge, p) <= touching for edge in clip.edges) else 2 * clip.encloses(p) - 1
        for p in points
    ]
    crossed = any(
        here and there and any(_cross(edge, (one, other)) for edge in clip.edges)
        for (one, here), (other, there) in pairwise(zip(points, sides, strict=True))
    )
    if crossed or {1, -1} <= set(sides):
        return "part"
    if -1 not in sides:
        return "all"
    curve = Clip("", ((tuple(_closed(points)),),))
    return "part" if any(curve.encloses(edge[0]) for edge in clip.edges) else "nothing"


def points_along(pieces: Sequence[Piece]) -> list[Point]:
    """Points on pieces that follow one another, both ends among them."""
    points = [pieces[0][0]]
    for piece in pieces:
        points += _inner_points(piece)
        points.append(piece[3])
    return points


def _inner_points(piece: Piece) -> Iterator[Point]:
    a, b, c, d = piece
    if max(_away((a, d), b), _away((a, d), c)) <= 1e-9 * math.dist(a, d):
        return  # straight
    for step in range(1, STEPS):
        t = step / STEPS
        u = 1 - t
        w = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
        yield (
            w[0] * a[0] + w[1] * b[0] + w[2] * c[0] + w[3] * d[0],
            w[0] * a[1] + w[1] * b[1] + w[2] * c[1] + w[3] * d[1],
        )


def _closed(points: Sequence[Point]) -> tuple[Point, ...]:
    return (*points, points[0])


def _box(points: Sequence[Point]) -> Box:
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _holds(outer: Box, inner: Box, touching: float) -> bool:
    return (
        outer[0] - touching <= inner[0]
        and outer[1] - touching <= inner[1]
        and outer[2] + touching >= inner[2]
        and outer[3] + touching >= inner[3]
    )


def _crosses(edge: tuple[Point, Point], point: Point) -> bool:
    """Whether an edge is crossed on the way from a point to the right."""
    (ax, ay), (bx, by) = edge
    x, y = point
    return (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay)


def _away(edge: tuple[Point, Point], point: Point) -> float:
    """How far a point is from an edge."""
    (ax, ay), (bx, by) = edge
    along = (bx - ax) ** 2 + (by - ay) ** 2
    share = 0.0
    if along:
        share = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / along
        share = min(1.0, max(0.0, share))
    return math.dist(point, (ax + share * (bx - ax), ay + share * (by - ay)))


def _cross(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    """Whether two edges cross in their insides."""

    def side(edge: tuple[Point, Point], point: Point) -> float:
        (ax, ay), (bx, by) = edge
        return (bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)

    return (
        side(one, other[0]) * side(one, other[1]) < 0
        and side(other, one[0]) * side(other, one[1]) < 0
    )
