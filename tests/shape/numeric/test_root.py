"""Zeros of functions, against scipy's brentq."""

import math

import pytest
from scipy.optimize import brentq

from carve.shape.numeric.root import root_between

FUNCTIONS = [
    (lambda x: math.cos(x) - x, 0.0, 3.0),
    (lambda x: x**9 - 1e-3, -1.0, 5.0),
    (lambda x: math.exp(x) - 50, 0.0, 9.3),
    (lambda x: 1e-9 * (x - 2), -1e3, 1e6),
    (lambda x: math.atan(x - 7), 400.0, -3.0),
    (lambda x: -1.0 if x < 0.3 else 1.0, 0.0, 1.0),
    (lambda x: x, 0.0, 1.0),
    (lambda x: x - 1, 0.0, 1.0),
]


@pytest.mark.parametrize(("function", "low", "high"), FUNCTIONS)
@pytest.mark.parametrize("within", [1e-3, 1e-6, 1e-14])
@pytest.mark.parametrize("relative", [1e-14, 1e-6])
def test_the_zero_is_scipys_and_as_near_as_asked(function, low, high, within, relative):
    asked: list[float] = []

    def counted(x: float) -> float:
        asked.append(x)
        return function(x)

    found = root_between(counted, low, high, within, relative)
    ours, asked = len(asked), []
    assert found == brentq(counted, low, high, xtol=within, rtol=relative)
    assert ours == len(asked)  # as quick, too
    exact = brentq(function, low, high, xtol=1e-300)
    assert abs(found - exact) <= within + relative * abs(found) + 4 * math.ulp(found)


def test_without_a_change_of_sign_there_is_nothing_to_find():
    with pytest.raises(ArithmeticError, match="same sign"):
        root_between(lambda x: x * x + 1, -1.0, 1.0, 1e-6)
