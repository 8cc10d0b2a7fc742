"""That the plate bends as plates do: handbook loads, biharmonic functions, lines held true."""

import numpy as np
import pytest
import shapely

from carve.arrays import Array
from carve.shape.numeric.bspline import Lattice, Spline, bending, centres, lattice_over
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


def test_a_clamped_disc_under_uniform_load() -> None:
    # q (R^2 - r^2)^2 / 64 D; Civil Engineering Handbook, 2nd ed., equation 47.72
    _, field = clamped(circle(50.0), 2.5)
    r = np.linspace(0, 50, 40)
    for turn in (0.0, 0.7, 2.9):
        expected = (50.0**2 - r**2) ** 2 / 64
        found = field(r * np.cos(turn), r * np.sin(turn))
        assert found == pytest.approx(expected, abs=0.001 * expected[0])


def test_a_clamped_square_under_uniform_load() -> None:
    # 0.00126 q a^4 / D; Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells,
    # Table 35, from memory
    side = 100.0
    rim = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * side / 2
    _, field = clamped(rim, 2.5)
    centre = float(field(np.zeros(1), np.zeros(1))[0])
    assert centre / side**4 == pytest.approx(0.00126, abs=0.00001)


BIHARMONIC = {
    # Duchon 1977 and Wahba 1990, from memory: all have a vanishing bilaplacian
    "x^3 - 3 x y^2": lambda x, y: (x**3 - 3 * x * y**2) / 1e4,
    "r^2 x": lambda x, y: (x * x + y * y) * x / 1e4,
    "r^2 ln r": lambda x, y: (r2 := x * x + y * y) * np.log(np.maximum(r2, 1e-12)) / 2 / 1e3,
}


@pytest.mark.parametrize("name", BIHARMONIC)
def test_biharmonic_functions_come_back_from_their_edges(name: str) -> None:
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
    assert field(x, y) == pytest.approx(function(x, y), abs=5e-4 * size)


def test_what_is_held_at_is_met_and_the_rest_lies_flat() -> None:
    """A plane held on a few lines is a plane everywhere: nothing bends without a cause."""
    lattice = box(60.0, 6.0)
    x = np.linspace(-50, 50, 200)
    points = np.vstack([np.stack([x, 0.3 * x], 1), np.stack([x, np.full_like(x, -30)], 1)])
    made = plate(lattice, [held(lattice, points, STIFF)])
    field = made.through(2 + 0.1 * points[:, 0] - 0.2 * points[:, 1])
    at = np.random.default_rng(1).uniform(-60, 60, (100, 2))
    assert field(*at.T) == pytest.approx(2 + 0.1 * at[:, 0] - 0.2 * at[:, 1], abs=1e-4)
    assert field.energy() == pytest.approx(0, abs=1e-6)


def test_heights_superpose() -> None:
    made, _ = clamped(circle(50.0), 5.0)
    rng = np.random.default_rng(2)
    one, other = rng.normal(size=(2, made.pull.shape[1]))
    both = made.through(2 * one - 3 * other).coefficients
    apart = 2 * made.through(one).coefficients - 3 * made.through(other).coefficients
    assert both == pytest.approx(apart, abs=1e-9 * np.abs(apart).max())


def test_no_field_through_the_same_lines_bends_less() -> None:
    lattice = box(50.0, 5.0)
    rim, square, stands_for = spaced(circle(45.0), 1.2)
    line = np.stack([np.linspace(-40, 40, 80), np.zeros(80)], axis=1)
    share = within(lattice, shapely.Polygon(circle(45.0)))
    holds = [
        held(lattice, rim, STIFF * stands_for),
        held_slope(lattice, rim, square, STIFF * stands_for),
        held(lattice, line, STIFF),
    ]
    made = plate(lattice, holds, share=share)
    values = np.r_[np.zeros(2 * len(rim)), 5 * np.cos(np.pi * line[:, 0] / 90) ** 2]
    field = made.through(values)
    matrix = bending(lattice, share)
    together = np.vstack([hold.rows.toarray() for hold in holds])
    # directions in which nothing that is held moves
    _, size, ways = np.linalg.svd(together)
    loose = ways[(size > 1e-6 * size[0]).sum() :]
    flat = field.coefficients.ravel()
    least = flat @ (matrix @ flat)
    rng = np.random.default_rng(3)
    for _ in range(20):
        aside = flat + loose.T @ rng.normal(size=len(loose)) * 0.1
        assert aside @ (matrix @ aside) > least


def test_a_bedded_plate_comes_to_its_bed_and_not_beyond_it() -> None:
    # 1 - (1 + s) exp(-s), s in lengths: a critically damped spring, standard result
    lattice = lattice_over(np.array([0.0, -100.0]), np.array([150.0, 100.0]), 5.0)
    y = np.linspace(-100, 100, 400)
    edge = np.stack([np.zeros_like(y), y], axis=1)
    along = np.tile([1.0, 0.0], (400, 1))
    holds = [held(lattice, edge, STIFF), held_slope(lattice, edge, along, STIFF)]
    made = plate(lattice, holds, length=15.0)
    field = made.through(np.zeros(800), onto=np.full(lattice.shape, 10.0))
    x = np.linspace(0, 140, 281)
    z = field(x, np.zeros_like(x))
    far = x / 15.0
    assert z == pytest.approx(10 * (1 - (1 + far) * np.exp(-far)), abs=0.005)
    assert z.max() <= 10.0
