"""Height, slope and curvature of a surface at many places at once, and the rules they follow."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array


@dataclass(frozen=True, eq=False)
class Jet:
    """A field z(x, y) to second order; all arrays have one shape.

    z: mm. zx, zy: slopes. zxx, zxy, zyy: second derivatives in 1/mm.
    """

    z: Array
    zx: Array
    zy: Array
    zxx: Array
    zxy: Array
    zyy: Array

    def __add__(self, other: "Jet | float") -> "Jet":
        """The sum of two fields, or of a field and a number."""
        if isinstance(other, float):
            return Jet(self.z + other, *self.derivatives)
        return Jet(*(a + b for a, b in zip(self.all, other.all, strict=True)))

    def __sub__(self, other: "Jet | float") -> "Jet":
        """The difference of two fields, or of a field and a number."""
        return self + (-other if isinstance(other, float) else other * -1.0)

    def __mul__(self, other: "Jet | float") -> "Jet":
        """The product of two fields, or of a field and a number."""
        if isinstance(other, float):
            return Jet(*(a * other for a in self.all))
        f, g = self, other
        return Jet(
            f.z * g.z,
            f.zx * g.z + f.z * g.zx,
            f.zy * g.z + f.z * g.zy,
            f.zxx * g.z + 2 * f.zx * g.zx + f.z * g.zxx,
            f.zxy * g.z + f.zx * g.zy + f.zy * g.zx + f.z * g.zxy,
            f.zyy * g.z + 2 * f.zy * g.zy + f.z * g.zyy,
        )

    def through(self, function: Callable[[Array, int], Array]) -> "Jet":
        """A function of the field. function: (values, order of derivative) to values."""
        f, g, h = (function(self.z, order) for order in range(3))
        return Jet(
            f,
            g * self.zx,
            g * self.zy,
            g * self.zxx + h * self.zx**2,
            g * self.zxy + h * self.zx * self.zy,
            g * self.zyy + h * self.zy**2,
        )

    @property
    def all(self) -> tuple[Array, ...]:
        """Height, slopes and second derivatives in their order."""
        return (self.z, *self.derivatives)

    @property
    def derivatives(self) -> tuple[Array, Array, Array, Array, Array]:
        """Slopes and second derivatives in their order."""
        return self.zx, self.zy, self.zxx, self.zxy, self.zyy

    @property
    def steepness(self) -> Array:
        """The slope along the line of fall, as a ratio."""
        return np.hypot(self.zx, self.zy)

    @property
    def normal(self) -> Array:
        """(..., 3) unit vectors square to the surface, upward."""
        up = np.stack([-self.zx, -self.zy, np.ones_like(self.zx)], axis=-1)
        return np.asarray(up / np.sqrt(1 + self.zx**2 + self.zy**2)[..., None])

    @property
    def curvatures(self) -> tuple[Array, Array]:
        """Least and greatest normal curvature in 1/mm, positive where the surface is hollow.

        Of the graph of a function, from mean and Gaussian curvature
        (do Carmo, Differential Geometry of Curves and Surfaces, section 3-3; from memory).
        """
        one = 1 + self.zx**2 + self.zy**2
        twice = (1 + self.zy**2) * self.zxx - 2 * self.zx * self.zy * self.zxy
        mean = (twice + (1 + self.zx**2) * self.zyy) / (2 * one**1.5)
        gauss = (self.zxx * self.zyy - self.zxy**2) / one**2
        apart = np.sqrt(np.maximum(mean**2 - gauss, 0.0))
        return mean - apart, mean + apart


ORDERS = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))
"""How often a jet's entries are differentiated along x and y."""
