"""Piecewise polynomials, against scipy's BPoly."""

import numpy as np
import pytest
from scipy.interpolate import BPoly

from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial


def both(degree: int, values: tuple[int, ...], seed: int) -> tuple[PiecewisePolynomial, BPoly]:
    rng = np.random.default_rng(seed)
    c, x = rng.normal(size=(degree + 1, 5, *values)), np.cumsum(rng.uniform(0.1, 300.0, 6))
    return PiecewisePolynomial(c, x), BPoly(c, x)


def places(curve: PiecewisePolynomial) -> np.ndarray:
    """Inside, at the knots, and beyond both ends."""
    low, high = curve.x[[0, -1]]
    return np.r_[np.linspace(low - 1, high + 1, 997), curve.x]


@pytest.mark.parametrize("degree", range(7))
@pytest.mark.parametrize("values", [(), (3,), (2, 2)])
def test_values_are_scipys_to_the_last_digit(degree, values):
    ours, reference = both(degree, values, degree)
    x = places(ours)
    assert np.ptp(reference(x)) > 1
    np.testing.assert_array_equal(ours(x), reference(x))


@pytest.mark.parametrize("degree", range(7))
@pytest.mark.parametrize("order", [1, 2, 3])
@pytest.mark.parametrize("values", [(), (3,)])
def test_derivatives_are_scipys(degree, order, values):
    ours, reference = both(degree, values, 10 + degree)
    x = places(ours)
    expected = reference.derivative(order)(x)
    np.testing.assert_array_equal(ours.derivative(order)(x), expected)
    size = max(1.0, float(np.abs(expected).max()))
    np.testing.assert_allclose(ours(x, order), expected, rtol=0, atol=1e-12 * size)
    if order <= degree:  # scipy knows no other ones
        np.testing.assert_array_equal(ours(x, order), reference(x, order))


@pytest.mark.parametrize("shape", [(), (1,), (4,), (3, 2), (0,)])
@pytest.mark.parametrize("values", [(), (3,)])
@pytest.mark.parametrize("order", [0, 2])
def test_the_shape_of_places_comes_first(shape, values, order):
    ours, reference = both(5, values, 3)
    x = np.random.default_rng(4).uniform(*ours.x[[0, -1]], shape)
    assert ours(x, order).shape == (*shape, *values) == reference(x, order).shape


def test_one_place_is_a_plain_number():
    ours, reference = both(5, (), 5)
    x = float(ours.x.mean())
    assert float(ours(x)) == float(reference(x))


def test_a_piece_holds_at_the_knot_where_it_begins():
    steps = PiecewisePolynomial(np.array([[1.0, 2.0]]), np.array([0.0, 1.0, 2.0]))
    assert steps(np.array([-1.0, 0.0, 0.5, 1.0, 2.0, 3.0])).tolist() == [1, 1, 1, 2, 2, 2]
