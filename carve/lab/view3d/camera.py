"""Where a camera stands so that a picture is filled with what is shown."""

from typing import Literal, NamedTuple

import numpy as np

from carve.arrays import Array

Direction = Literal["back", "front", "top", "bottom", "side", "end"]
"""Where to look from. `back` and `front` are three-quarter views, back or strings up; the others
are straight on and true to proportion: `top` on the strings' side, `bottom` on the back,
`side` from low y, which is a right-handed part's bass side, `end` along the neck from the nut."""

VIEW_ANGLE = 25.0
"""Degrees from top to bottom of the picture: a long lens, so that a neck seen at a slant does not
look tapered by the camera."""

MARGIN = 0.05
"""Share of the picture left free on every side."""


class Pose(NamedTuple):
    """Where a camera stands.

    position, focus: (3,) mm. up: (3,) unit vector. half_height: mm from the middle to the top of
    the picture for a straight-on view; None for a perspective one.
    """

    position: Array
    focus: Array
    up: Array
    half_height: float | None


class _View(NamedTuple):
    towards_camera: tuple[float, float, float]
    up: tuple[float, float, float]
    straight_on: bool


# The back is shown as the neck lies on a bench, back up, nut to the left.
VIEWS: dict[Direction, _View] = {
    "back": _View((-0.28, 0.65, -0.70), (0.0, 0.0, -1.0), straight_on=False),
    "front": _View((-0.28, -0.65, 0.70), (0.0, 0.0, 1.0), straight_on=False),
    "top": _View((0.0, 0.0, 1.0), (0.0, 1.0, 0.0), straight_on=True),
    "bottom": _View((0.0, 0.0, -1.0), (0.0, -1.0, 0.0), straight_on=True),
    "side": _View((0.0, -1.0, 0.0), (0.0, 0.0, 1.0), straight_on=True),
    "end": _View((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), straight_on=True),
}


def pose(points: Array, direction: Direction, aspect: float, band: float = 0.0) -> Pose:
    """The camera that fills a picture with the points.

    points: (n, 3) mm. aspect: width over height of the picture. band: share of its height, at the
    bottom, that stays free for scale bars.
    """
    view = VIEWS[direction]
    forward = -_unit(np.array(view.towards_camera))
    right = _unit(np.cross(forward, np.array(view.up)))
    up = np.cross(right, forward)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    across, upward, nearer = np.stack([right, up, -forward]) @ (points - middle).T

    # For each of the four sides of the picture: how far it is from the middle, per mm of distance
    # (perspective) or per mm of half height (straight on).
    lens = 1.0 if view.straight_on else float(np.tan(np.radians(VIEW_ANGLE) / 2.0))
    depth = np.zeros_like(nearer) if view.straight_on else nearer
    free = 1.0 - 2.0 * MARGIN
    sideways = _Between(across, depth, lens * free * aspect, lens * free * aspect)
    upright = _Between(upward, depth, lens * (free - 2.0 * band), lens * free)

    away = max(sideways.least(), upright.least(), 1e-3)
    focus = middle + sideways.centre(away) * right + upright.centre(away) * up
    if view.straight_on:
        return Pose(focus - 10.0 * _size(points) * forward, focus, up, away)
    return Pose(focus - away * forward, focus, up, None)


class _Between:
    """Points between two opposite sides of the picture.

    A point v off the middle and n nearer than the focus, seen from a distance d by a camera that
    is shifted by c, is inside when -low (d - n) <= v - c <= high (d - n). All points are inside
    when `above` - high d <= c <= low d - `below`.
    """

    def __init__(self, off: Array, nearer: Array, low: float, high: float) -> None:
        self.low, self.high = low, high
        self.above = float(np.max(off + high * nearer))
        self.below = float(np.max(low * nearer - off))

    def least(self) -> float:
        """The least distance, mm, at which some shift gets all points inside."""
        return (self.above + self.below) / (self.low + self.high)

    def centre(self, distance: float) -> float:
        """The shift, mm, that leaves both sides the same room."""
        return (self.above - self.high * distance + self.low * distance - self.below) / 2.0


def _size(points: Array) -> float:
    """Longest extent of the points along an axis, mm, and never nothing."""
    return float(np.ptp(points, axis=0).max()) + 1.0


def _unit(vector: Array) -> Array:
    """The vector at length 1; (3,) both."""
    return vector / np.linalg.norm(vector)
