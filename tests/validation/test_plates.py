"""Plates: thin plates under load, through held edges, and against finite elements."""

import numpy as np
import pytest
import shapely
from morley import morley_plate
from outlines import ellipse
from thin_plates import STIFF, box, circle, clamped, within

from carve.shape.planar.offset import spaced
from carve.shape.plate.arch import arch_surface, long_arch
from carve.shape.plate.foundation import arch_foundation
from carve.shape.plate.request import Arch, StationHeight
from carve.shape.plate.thin_plate import held, held_slope, plate

BIHARMONIC = {
    # all have a vanishing bilaplacian
    "x³ − 3xy²": lambda x, y: (x**3 - 3 * x * y**2) / 1e4,
    "r²x": lambda x, y: (x * x + y * y) * x / 1e4,
    "r² ln r": lambda x, y: (r2 := x * x + y * y) * np.log(np.maximum(r2, 1e-12)) / 2 / 1e3,
}


def test_a_clamped_disc_under_uniform_load(validated) -> None:
    # q (R^2 - r^2)^2 / 64 D, here as shares of the deflection in the middle, q R^4 / 64 D
    _, field = clamped(circle(50.0), 2.5)
    r = np.linspace(0, 50, 40)
    middle = 50.0**4 / 64
    turns = (0.0, 0.7, 2.9)
    theirs = np.tile((50.0**2 - r**2) ** 2 / 64 / middle, len(turns))
    ours = np.concatenate([field(r * np.cos(t), r * np.sin(t)) / middle for t in turns])
    what = "clamped disc under uniform load, deflection by that of its middle"
    validated(what, "Civil Engineering Handbook, 2nd ed., equation 47.72", theirs, ours, 0.001)


def test_a_clamped_square_under_uniform_load(validated) -> None:
    side = 100.0
    rim = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * side / 2
    _, field = clamped(rim, 2.5)
    centre = float(field(np.zeros(1), np.zeros(1))[0])
    source = "Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, Table 35 (from memory)"
    what = "clamped square under uniform load, deflection of its middle by q a⁴/D"
    validated(what, source, 0.00126, centre / side**4, 0.00001)


@pytest.mark.parametrize("name", BIHARMONIC)
def test_biharmonic_functions_come_back_from_their_edges(validated, name: str) -> None:
    """Height and slope on the edges of a ring say all that is within it."""
    function = BIHARMONIC[name]
    lattice = box(50.0, 2.5)
    lines = [spaced(circle(radius), 0.6) for radius in (15.0, 45.0)]
    ring = shapely.Polygon(circle(45.0), [circle(15.0)])
    small = 1e-5
    holds, values = [], []
    for points, square, stands_for in lines:
        holds += [
            held(lattice, points, STIFF * stands_for),
            held_slope(lattice, points, square, STIFF * stands_for),
        ]
        ahead, behind = points + small * square, points - small * square
        values += [function(*points.T), (function(*ahead.T) - function(*behind.T)) / (2 * small)]
    field = plate(lattice, holds, share=within(lattice, ring)).through(np.concatenate(values))
    rng = np.random.default_rng(8)
    r, turn = rng.uniform(15, 45, 300), rng.uniform(0, 2 * np.pi, 300)
    x, y = r * np.cos(turn), r * np.sin(turn)
    size = np.ptp(function(x, y))
    source = "biharmonic functions; Duchon 1977 and Wahba 1990 (from memory)"
    what = f"{name} within a ring, from height and slope on its edges, by its whole height"
    validated(what, source, function(x, y) / size, field(x, y) / size, 5e-4)


@pytest.mark.parametrize("depth", [0.8, 1.5])
def test_it_is_the_plate_that_finite_elements_find(validated, depth: float) -> None:
    """Clamped and held on the same lines, at the corners of the finite elements."""
    arch = Arch(5, 14, depth, (StationHeight(110, 11.0), StationHeight(180, 13.0)))
    on = arch_foundation(ellipse(300.0, 220.0), arch.lines)
    surface = arch_surface(on, arch)
    other = morley_plate(np.asarray(on.inner.exterior.coords)[:-1], 4.0)
    long = long_arch(on, arch)(np.clip(other.held_x, *on.reach))
    theirs = other.at_points(other.through(long + arch.depth)) - arch.depth
    ours = surface(*other.points.T)
    what = f"carved arch over an ellipse, recurve {depth} mm deep, height where it is most apart"
    validated(what, "scikit-fem, Morley's element, triangles of 4 mm", theirs, ours, 0.05, "mm")
