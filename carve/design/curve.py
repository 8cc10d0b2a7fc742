"""A closed curve as plain numbers: what a builder drew, before anybody asks for its points."""

from dataclasses import dataclass

Point = tuple[float, float]
"""x and y in mm."""

Piece = tuple[Point, Point, Point, Point]
"""A cubic Bezier piece by its four control points; a straight one has them in a line."""


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
