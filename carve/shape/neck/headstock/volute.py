"""The volute: a swelling that rises out of the back and sinks into it without a trace.

Over its length and its width it is (1 - s^2)^3, s from -1 to 1 across it: at its rim height,
slope and curvature are all zero, so the back around it stays exactly as it was.
"""

from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.schema.headstock import Volute


@dataclass(frozen=True)
class VoluteShape:
    """A volute. middle: its crest, mm from the nut. height, length, width: mm."""

    middle: float
    height: float
    length: float
    width: float

    @property
    def reach(self) -> tuple[float, float]:
        """Where it begins and ends, mm from the nut."""
        return self.middle - self.length / 2, self.middle + self.length / 2

    def rise(self, x: Array, y: Array, derivative: int = 0, by_x: int = 0) -> Array:
        """How far it stands out of the back at x and y, mm of one shape.

        derivative, by_x: orders of the derivatives by y and by x instead, each up to 2.
        """
        long, half = self.length / 2, self.width / 2
        along = _swell((x - self.middle) / long, by_x) / long**by_x
        return np.asarray(self.height * along * _swell(y / half, derivative) / half**derivative)

    def along(self, x: Array, y: Array, slope: Array, bend: Array) -> tuple[Array, Array]:
        """First and second derivative of the rise by x along a line y(x), all of one shape.

        slope, bend: the line's own derivatives, per 1 and per mm.
        """
        by_y = self.rise(x, y, 1)
        first = self.rise(x, y, 0, 1) + by_y * slope
        second = self.rise(x, y, 0, 2) + 2 * self.rise(x, y, 1, 1) * slope
        return first, second + self.rise(x, y, 2) * slope**2 + by_y * bend


def volute_shape(volute: Volute | None) -> VoluteShape | None:
    """The volute as the design asks for it."""
    if volute is None:
        return None
    return VoluteShape(-volute.behind, volute.height, volute.length, volute.width)


def _swell(s: Array, derivative: int) -> Array:
    inside = np.maximum(1 - s**2, 0.0)
    if derivative == 0:
        return np.asarray(inside**3)
    if derivative == 1:
        return np.asarray(-6 * s * inside**2)
    return np.asarray(-6 * inside**2 + 24 * s**2 * inside)
