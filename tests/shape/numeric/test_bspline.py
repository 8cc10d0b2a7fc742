"""That fields over a plan are what splines promise: cubics exact, smooth, their energy true."""

import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.interpolate import BSpline

from carve.shape.numeric.bspline import (
    PARTS_PER_CELL,
    Spline,
    bending,
    centres,
    lattice_over,
    mass,
    rows,
)

RNG = np.random.default_rng(4)
LATTICE = lattice_over(np.array([-12.0, -20.0]), np.array([31.0, 20.0]), 5.0)


@pytest.fixture
def rough() -> Spline:
    return Spline(LATTICE, RNG.normal(size=LATTICE.shape))


def test_a_knot_lies_on_the_centre_line() -> None:
    assert LATTICE.low[1] % LATTICE.step == 0
    assert LATTICE.low[0] <= -12
    assert LATTICE.high[0] >= 31


def test_it_is_the_spline_that_scipy_knows(rough: Spline) -> None:
    # scipy.interpolate.BSpline, one axis after the other
    knots = [
        low + LATTICE.step * np.arange(-3, cells + 4)
        for low, cells in zip(LATTICE.low, LATTICE.cells, strict=True)
    ]
    x, y = RNG.uniform(-12, 31, 200), RNG.uniform(-20, 20, 200)
    for dx, dy in ((0, 0), (1, 0), (0, 2), (1, 1), (2, 1)):
        along = BSpline(knots[0], np.eye(LATTICE.shape[0]), 3)(x, nu=dx)
        across = BSpline(knots[1], np.eye(LATTICE.shape[1]), 3)(y, nu=dy)
        expected = np.einsum("ni,ij,nj->n", along, rough.coefficients, across)
        assert rough(x, y, dx, dy) == pytest.approx(expected, abs=1e-12)


def test_a_grid_is_its_points(rough: Spline) -> None:
    x, y = np.linspace(-12, 31, 17), np.linspace(-20, 20, 11)
    across, up = np.meshgrid(x, y, indexing="ij")
    for order in ((0, 0), (1, 0), (0, 1), (1, 1), (0, 2)):
        points = rough(across.ravel(), up.ravel(), *order).reshape(across.shape)
        assert rough.grid(x, y, *order) == pytest.approx(points, abs=1e-12)


def test_height_slope_and_curvature_run_on_across_knots(rough: Spline) -> None:
    y = RNG.uniform(-20, 20, 50)
    knots = LATTICE.low[0] + LATTICE.step * np.arange(1, LATTICE.cells[0])
    for x in knots:
        before, after = np.full(50, x - 1e-9), np.full(50, x + 1e-9)
        for order in ((0, 0), (1, 0), (2, 0), (1, 1)):
            assert rough(before, y, *order) == pytest.approx(rough(after, y, *order), abs=1e-6)


def _cubic(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 2 - x / 7 + y * x * x / 300 - (x * y) ** 2 / 2000 + x**3 * y**3 / 1e7 - y**3 / 900


def test_any_bicubic_is_held_exactly() -> None:
    x, y = np.meshgrid(np.linspace(-12, 31, 25), np.linspace(-20, 20, 25))
    x, y = x.ravel(), y.ravel()
    fitted, *_ = np.linalg.lstsq(rows(LATTICE, x, y).toarray(), _cubic(x, y))
    spline = Spline(LATTICE, fitted.reshape(LATTICE.shape))
    x, y = RNG.uniform(-12, 31, 100), RNG.uniform(-20, 20, 100)
    assert spline(x, y) == pytest.approx(_cubic(x, y), abs=1e-9)


def test_energy_is_its_integral(rough: Spline) -> None:
    # scipy's adaptive quadrature over one cell, where the field is a polynomial
    share = np.zeros((LATTICE.cells[0] * PARTS_PER_CELL, LATTICE.cells[1] * PARTS_PER_CELL))
    share[2 * PARTS_PER_CELL : 3 * PARTS_PER_CELL, PARTS_PER_CELL : 2 * PARTS_PER_CELL] = 1
    low_x, low_y = LATTICE.low[0] + 2 * LATTICE.step, LATTICE.low[1] + LATTICE.step

    def density(y: float, x: float) -> float:
        at = np.array([x]), np.array([y])
        xx, xy, yy = (float(rough(*at, *order)[0]) for order in ((2, 0), (1, 1), (0, 2)))
        return xx**2 + 2 * xy**2 + yy**2

    expected, _ = dblquad(density, low_x, low_x + LATTICE.step, low_y, low_y + LATTICE.step)
    flat = rough.coefficients.ravel()
    assert flat @ (bending(LATTICE, share) @ flat) == pytest.approx(expected, rel=1e-9)


def test_energy_of_a_saddle_and_a_bowl() -> None:
    # xy has f_xy = 1: energy 2 area; (x^2 + y^2) / 2 has f_xx = f_yy = 1: energy 2 area
    for field in (lambda x, y: x * y, lambda x, y: (x * x + y * y) / 2):
        x, y = np.meshgrid(np.linspace(-15, 35, 25), np.linspace(-20, 20, 25))
        x, y = x.ravel(), y.ravel()
        fitted, *_ = np.linalg.lstsq(rows(LATTICE, x, y).toarray(), field(x, y))
        area = np.prod(LATTICE.cells) * LATTICE.step**2
        spline = Spline(LATTICE, fitted.reshape(LATTICE.shape))
        assert spline.energy() == pytest.approx(2 * area, rel=1e-9)


def test_a_region_counts_by_its_parts() -> None:
    # the mass matrix of a region sums to its area, since the B-splines sum to one everywhere
    x, y = centres(LATTICE)
    share = (np.hypot(x[:, None] - 10, y[None, :]) < 12).astype(float)
    area = share.sum() * (LATTICE.step / PARTS_PER_CELL) ** 2
    assert mass(LATTICE, share).sum() == pytest.approx(area)
    assert area == pytest.approx(np.pi * 12**2, rel=0.02)
