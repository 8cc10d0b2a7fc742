"""Outlines seen from above: corners made round, and what that takes away."""

import math

import numpy as np

from carve.arrays import Array

CURVE_TOLERANCE = 0.005  # mm; chord error of the plans that areas and distances are reckoned with


def rounded(before: Array, corner: Array, after: Array, radius: float, chord_error: float) -> Array:
    """The corner between two straight sides, as an arc of chords.

    before, corner, after: (2,) mm. radius: mm, 0 keeps the corner. chord_error: mm, how far
    a chord may be from the arc. Returns (k, 2) from the arc's start to its end.
    """
    if radius == 0:
        return corner[None].copy()
    back, on = _unit(before - corner), _unit(after - corner)
    opening = math.acos(float(np.clip(back @ on, -1, 1)))
    away = radius / math.tan(opening / 2)
    centre = corner + _unit(back + on) * radius / math.sin(opening / 2)
    start, stop = corner + back * away - centre, corner + on * away - centre
    turn = math.pi - opening
    pieces = arc_pieces(radius, turn, chord_error)
    first = math.atan2(start[1], start[0])
    way = math.copysign(1.0, float(start[0] * stop[1] - start[1] * stop[0]))
    angles = first + way * turn * np.linspace(0, 1, pieces + 1)
    return np.asarray(centre + radius * np.stack([np.cos(angles), np.sin(angles)], 1))


def arc_pieces(radius: float, turn: float, chord_error: float) -> int:
    """How many chords keep within ``chord_error`` mm of an arc of ``turn`` radians.

    radius: mm, more than 0.
    """
    # a chord over an angle a is r (1 - cos(a / 2)) from its arc
    half = math.acos(1 - min(chord_error / radius, 0.5))
    return max(1, math.ceil(turn / (2 * half)))


def arc_error(radius: float, turn: float, chord_error: float) -> float:
    """How far in mm the chords of ``arc_pieces`` are from their arc."""
    pieces = arc_pieces(radius, turn, chord_error) if radius else 1
    return radius * (1 - math.cos(turn / pieces / 2))


def lost_at_corner(opening: float, radius: float) -> float:
    """Area in mm^2 between a corner and the arc that rounds it. opening: radians inside."""
    return radius**2 * (1 / math.tan(opening / 2) - (math.pi - opening) / 2)


def area(outline: Array) -> float:
    """Area in mm^2 within a closed outline (n, 2), positive where counter-clockwise."""
    x, y = outline.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def to_chain(points: Array, chain: Array) -> Array:
    """(n,) distance from points (n, 2) to a chain of segments through (k, 2)."""
    a, along = chain[:-1], np.diff(chain, axis=0)
    offset = points[:, None] - a
    share = np.clip((offset * along).sum(-1) / (along**2).sum(-1), 0, 1)
    return np.asarray(np.linalg.norm(offset - share[..., None] * along, axis=-1).min(axis=1))


def _unit(vector: Array) -> Array:
    return np.asarray(vector / np.linalg.norm(vector))
