"""What a builder expects of a curve through stations: exact, smooth, never beyond them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline
from scipy.optimize import nnls

from carve.shape.numeric.monotone_spline import _nonnegative_least_squares, smooth_through

LENGTH = 420.0


@st.composite
def stations(draw):
    """Two to nine places at least 2 mm apart with thicknesses, some of them equal."""
    count = draw(st.integers(2, 9))
    gaps = draw(st.lists(st.floats(2, 45), min_size=count, max_size=count))
    levels = st.one_of(st.floats(14, 26), st.integers(14, 18).map(float))
    heights = draw(st.lists(levels, min_size=count, max_size=count))
    return np.cumsum(gaps), np.array(heights)


both_ends = st.sampled_from(["straight", "level", "clamped"])


@settings(max_examples=200, deadline=None)
@given(stations(), both_ends)
def test_passes_exactly_through_every_station(placed, ends):
    x, y = placed
    assert smooth_through(x, y, (0, LENGTH), ends)(x) == pytest.approx(y, abs=1e-9)


@settings(max_examples=200, deadline=None)
@given(stations(), both_ends)
def test_never_overshoots_between_stations(placed, ends):
    x, y = placed
    curve = smooth_through(x, y, (0, LENGTH), ends)
    for x1, x2, y1, y2 in zip(x[:-1], x[1:], y[:-1], y[1:], strict=True):
        between = curve(np.linspace(x1, x2, 200))
        assert between.min() >= min(y1, y2) - 1e-8
        assert between.max() <= max(y1, y2) + 1e-8
        # and it rises or falls all the way, as a straight-edge laid along it would tell
        assert (np.diff(between) * np.sign(y2 - y1)).min() >= -1e-8


@settings(max_examples=200, deadline=None)
@given(stations(), both_ends)
def test_slope_and_curvature_run_on_through_every_station(placed, ends):
    x, y = placed
    curve = smooth_through(x, y, (0, LENGTH), ends)
    steepest = np.abs(np.diff(y) / np.diff(x)).max() + 1e-6
    for order, scale in ((1, steepest), (2, steepest / np.diff(x).min())):
        piece = curve.derivative(order)
        jump = piece(x + 1e-10) - piece(x - 1e-10)
        assert np.abs(jump).max() <= 1e-5 * scale


@given(st.floats(14, 25), st.floats(-0.02, 0.04), st.integers(2, 8))
def test_straight_taper_stays_straight(start, slope, count):
    x = np.linspace(36, 318, count)
    curve = smooth_through(x, start + slope * x, (0, LENGTH), "straight")
    everywhere = np.linspace(0, LENGTH, 99)
    assert curve(everywhere) == pytest.approx(start + slope * everywhere, abs=1e-9)


def test_is_the_natural_cubic_spline_where_that_does_not_overshoot():
    # Holladay 1957: the natural cubic spline bends least of all curves through its points.
    # Reference: scipy.interpolate.CubicSpline with natural ends.
    x, y = np.array([0, 100, 200, 300.0]), np.array([14, 14.5, 15.5, 18])
    natural = CubicSpline(x, y, bc_type="natural")
    everywhere = np.linspace(0, 300, 301)
    assert smooth_through(x, y, (0, 300), "straight")(everywhere) == pytest.approx(
        natural(everywhere), abs=1e-10
    )


def test_bends_no_more_than_it_must_to_stay_between_the_stations():
    # A general-purpose solver (scipy.optimize, SLSQP) given the same pieces, the same bounds
    # and the same energy by plain quadrature finds no curve that bends less.
    from scipy.interpolate import BPoly
    from scipy.optimize import minimize

    x, y = np.array([0, 100, 200, 300.0]), np.array([14.0, 15.0, 15.1, 18.0])
    natural = CubicSpline(x, y, bc_type="natural")
    assert np.diff(natural(np.linspace(100, 200, 99))).min() < 0  # it would dip: the bounds bind
    fine = np.linspace(0, 300, 3001)

    def curve_of(u):
        slopes, bends = u[:4] / 100, np.r_[0, u[4:], 0] / 1e4
        return BPoly.from_derivatives(x, np.c_[y, slopes, bends])

    def energy(u):
        return np.trapezoid(curve_of(u).derivative(2)(fine) ** 2, fine) * 1e6

    def coefficients(u):
        return (curve_of(u).derivative().c * 100).ravel()

    best = minimize(
        energy,
        np.ones(6),
        method="SLSQP",
        constraints={"type": "ineq", "fun": coefficients},
        options={"maxiter": 500, "ftol": 1e-10},
    )
    ours = smooth_through(x, y, (0, 300), "straight").derivative(2)(fine)
    assert np.trapezoid(ours**2, fine) * 1e6 == pytest.approx(best.fun, rel=1e-3)


@pytest.mark.parametrize("heights", [(-1.0, 14.0, -1.0), (0.0, 5.0, 9.0, 14.0)])
def test_a_clamped_curve_bends_as_a_beam_held_level_at_both_ends(heights):
    # of all curves level at both ends the clamped cubic spline bends least (Holladay 1957)
    x = np.linspace(0.0, 300.0, len(heights))
    clamped = CubicSpline(x, heights, bc_type="clamped")
    everywhere = np.linspace(0.0, 300.0, 301)
    ours = smooth_through(x, np.array(heights), (0.0, 300.0), "clamped")
    assert ours(everywhere) == pytest.approx(clamped(everywhere), abs=1e-10)


def test_a_level_curve_keeps_its_values_beyond_the_outermost_stations():
    curve = smooth_through(np.array([36.0, 318.0]), np.array([0.2, 0.8]), (0, LENGTH), "level")
    assert curve(np.linspace(0, 36, 9)) == pytest.approx(0.2)
    assert curve(np.linspace(318, LENGTH, 9)) == pytest.approx(0.8)


def least_distances() -> list[tuple[np.ndarray, np.ndarray]]:
    """Problems as the curves pose them: the last row is what is missed, and 1 at most."""
    rng = np.random.default_rng(8)
    found = []
    for _ in range(400):
        rows, count = rng.integers(2, 12, 2)
        system = np.vstack([rng.normal(size=(rows, count)), rng.uniform(-4, 1, count)])
        system[-1, rng.integers(count)] = 1.0
        found.append((system, np.r_[np.zeros(rows), 1.0]))
    return found


def test_least_squares_without_a_negative_are_scipys():
    # reference: scipy.optimize.nnls
    alone = 0
    for system, target in least_distances():
        ours, reference = _nonnegative_least_squares(system, target), nnls(system, target)[0]
        assert ours == pytest.approx(reference, abs=1e-12)
        alone += int((reference > 0).sum() == 1)
    assert 50 < alone < 350  # both ways have been gone
