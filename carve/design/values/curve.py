"""A closed curve as plain numbers: what a builder drew, before anybody asks for its points."""

from collections.abc import Iterable
from dataclasses import dataclass

Point = tuple[float, float]
"""x and y in mm."""

Piece = tuple[Point, Point, Point, Point]
"""A cubic Bezier piece by its four control points; a straight one has them in a line."""

Move = tuple[float, float, float, float, float, float]
"""(a, b, c, d, e, f) moves (x, y) to (a x + c y + e, b x + d y + f), as SVG's matrix does."""


@dataclass(frozen=True)
class Curve:
    """A closed curve of cubic Bezier pieces, each beginning where the one before it ends.

    name: its layer or id, to speak of it. pieces: the last ends where the first begins.
    """

    name: str
    pieces: tuple[Piece, ...]


def straight(start: Point, stop: Point) -> Piece:
    """The straight piece between two points, its control points at thirds."""
    (ax, ay), (bx, by) = start, stop
    return (
        start,
        (ax + (bx - ax) / 3, ay + (by - ay) / 3),
        (bx - (bx - ax) / 3, by - (by - ay) / 3),
        stop,
    )


def closed_polygon(name: str, points: tuple[Point, ...]) -> Curve:
    """The closed curve of straight pieces through points, the last joined to the first."""
    return Curve(name, tuple(map(straight, points, points[1:] + points[:1])))


def moved_point(point: Point, move: Move) -> Point:
    """A point through a move."""
    (x, y), (a, b, c, d, e, f) = point, move
    return a * x + c * y + e, b * x + d * y + f


def moved_pieces(pieces: Iterable[Piece], move: Move) -> tuple[Piece, ...]:
    """Pieces through a move: a Bezier curve moves with its control points."""
    return tuple(
        (
            moved_point(start, move),
            moved_point(first, move),
            moved_point(second, move),
            moved_point(stop, move),
        )
        for start, first, second, stop in pieces
    )


def turned_round(pieces: tuple[Piece, ...]) -> tuple[Piece, ...]:
    """The same way walked backwards."""
    return tuple((d, c, b, a) for a, b, c, d in reversed(pieces))


def between_ends(piece: Piece, start: Point, stop: Point) -> Piece:
    """A piece with its ends put elsewhere, what lies between shifted in step.

    The shift grows evenly from one end to the other, so a straight piece stays straight.
    """
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = piece
    (sx, sy), (tx, ty) = (start[0] - ax, start[1] - ay), (stop[0] - dx, stop[1] - dy)
    return (
        start,
        (bx + (2 * sx + tx) / 3, by + (2 * sy + ty) / 3),
        (cx + (sx + 2 * tx) / 3, cy + (sy + 2 * ty) / 3),
        stop,
    )
