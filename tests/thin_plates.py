"""Plates that tests of the thin plate share: clamped along a line, under a load of 1."""

import numpy as np
import shapely

from carve.arrays import Array
from carve.shape.numeric.bspline import Lattice, Spline, centres, lattice_over
from carve.shape.planar.offset import spaced
from carve.shape.plate.thin_plate import Plate, held, held_slope, plate, uniform_load

STIFF = 1e4


def box(half: float, step: float) -> Lattice:
    corner = np.array([half, half])
    return lattice_over(-corner, corner, step)


def within(lattice: Lattice, region: shapely.Polygon) -> Array:
    x, y = centres(lattice)
    return np.where(shapely.contains_xy(region, x[:, None], y[None, :]), 1.0, 1e-6)


def clamped(rim: Array, step: float) -> tuple[Plate, Spline]:
    """A plate clamped along a closed line, and its field under a load of 1."""
    lattice = box(float(np.abs(rim).max()) + 2 * step, step)
    points, square, stands_for = spaced(rim, step / 4)
    share = within(lattice, shapely.Polygon(rim))
    holds = [
        held(lattice, points, STIFF * stands_for),
        held_slope(lattice, points, square, STIFF * stands_for),
    ]
    made = plate(lattice, holds, share=share)
    return made, made.through(np.zeros(2 * len(points)), load=uniform_load(lattice, share))


def circle(radius: float) -> Array:
    turn = np.linspace(0, 2 * np.pi, 800, endpoint=False)
    return radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)
