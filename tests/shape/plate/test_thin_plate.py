"""That the plate bends as plates do; handbook loads stand in tests/validation/test_plates.py."""

import numpy as np
import pytest
import shapely
from thin_plates import STIFF, box, circle, clamped, within

from carve.shape.numeric.bspline import PARTS_PER_CELL, along_x, bending, lattice_over
from carve.shape.planar.offset import spaced
from carve.shape.plate.thin_plate import held, held_slope, plate


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


@pytest.mark.parametrize("follows", [False, True])
def test_a_bed_that_waves_is_smoothed_unless_slope_and_bending_are_followed(follows: bool) -> None:
    """Without, a wave cos kx comes out lower by (1 + k^2 L^2)^2, by the bedded plate's equation.

    Which is f_xxxx - 2 f_xx / L^2 + f / L^4 = h / L^4.
    """
    length, wave = 15.0, 2 * np.pi / 120
    lattice = lattice_over(np.array([-300.0, -30.0]), np.array([300.0, 30.0]), 5.0)
    everywhere = np.ones([count * PARTS_PER_CELL for count in lattice.cells])
    nothing = held(lattice, np.array([[290.0, 0.0]]), 0.0)
    made = plate(lattice, [nothing], length=length, follows=everywhere if follows else None)
    knots = lattice.low[0] + lattice.step * np.arange(lattice.cells[0] + 1)
    field = made.through(np.zeros(1), onto=along_x(lattice, np.cos(wave * knots)))
    x = np.linspace(-60, 60, 121)
    lower = 1.0 if follows else (1 + (wave * length) ** 2) ** 2
    assert field(x, np.zeros_like(x)) == pytest.approx(np.cos(wave * x) / lower, abs=2e-3)
