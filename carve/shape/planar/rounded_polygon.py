"""Polygons seen from above: corners made round, and what that takes away."""

import math
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array

CURVE_TOLERANCE = 0.005  # mm; chord error of the plans that areas and distances are computed with
SAME_POINT = 1e-6  # mm; points of a plan no further apart are one


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


@dataclass(frozen=True, eq=False)
class RoundedPolygon:
    """A closed polygon with round corners. corners: (k, 2), counter-clockwise. radii: (k,) mm."""

    corners: Array
    radii: Array

    def points(self, chord_error: float) -> Array:
        """(n, 2) points around, counter-clockwise. chord_error: of the arcs, mm."""
        into = self.corners - np.roll(self.corners, 1, axis=0)
        into = into / np.hypot(*into.T)[:, None]
        turn = turns(self.corners)
        round_ones = np.maximum(self.radii, SAME_POINT)
        # a chord over an angle a is r (1 - cos(a / 2)) from its arc
        half = np.arccos(1 - np.minimum(chord_error / round_ones, 0.5))
        pieces = np.where(self.radii > 0, np.ceil(np.abs(turn) / (2 * half)), 0).astype(int)
        corner = np.repeat(np.arange(len(turn)), pieces + 1)
        number = np.arange(len(corner)) - np.repeat(np.cumsum(pieces + 1) - pieces - 1, pieces + 1)
        angle = turn[corner] * number / np.maximum(pieces[corner], 1)
        # from where the arc leaves the side into the corner, around its middle beside that side
        ahead, left = into[corner], into[corner] @ np.array([[0.0, 1.0], [-1.0, 0.0]])
        way = np.sign(turn)[corner] * self.radii[corner]
        start = self.corners[corner] - ahead * (self.radii * np.tan(np.abs(turn) / 2))[corner, None]
        around = (
            start
            + (np.abs(way) * np.sin(np.abs(angle)))[:, None] * ahead
            + (way * (1 - np.cos(angle)))[:, None] * left
        )
        # arcs that meet, as a circle's four do, share their ends
        fresh = np.hypot(*(around - np.roll(around, 1, axis=0)).T) > SAME_POINT
        return np.asarray(around[fresh])

    def error(self, chord_error: float) -> float:
        """How far in mm the chords are from the arcs, at most."""
        angles = np.abs(turns(self.corners))
        errors = (arc_error(r, t, chord_error) for r, t in zip(self.radii, angles, strict=True))
        return max((float(error) for error in errors), default=0.0)

    @property
    def circle(self) -> tuple[float, float, float] | None:
        """x, y and radius in mm where its four arcs make one circle."""
        sides = np.linalg.norm(self.corners - np.roll(self.corners, 1, axis=0), axis=1)
        if len(sides) != 4 or not np.allclose(sides, 2 * self.radii, rtol=0, atol=SAME_POINT):
            return None
        x, y = self.corners.mean(axis=0)
        return float(x), float(y), float(self.radii[0])


def turns(corners: Array) -> Array:
    """(k,) angle in radians by which the way around turns at each corner, positive to the left."""
    into = corners - np.roll(corners, 1, axis=0)
    out = np.roll(into, -1, axis=0)
    across = into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0]
    return np.asarray(np.arctan2(across, (into * out).sum(axis=1)))
