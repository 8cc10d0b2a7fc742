"""What a section must do, over the whole travel of its dials."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import BPoly

from carve.design.values.profile import LETTERS
from carve.shape.neck.section import bernstein, half_area, half_section, keel_curvature

share = st.floats(0, 1)
U = np.linspace(0, 1, 801)

# half width, depth in mm: a ukulele's nut to a bass guitar's heel
SIZES = ((17, 12), (21.5, 15), (21.5, 18), (24, 11), (28, 15), (32, 22))


def controls(shoulder, keel, shared=None):
    shared = keel if shared is None else shared
    return half_section(np.array([shoulder]), np.array([keel]), np.array([shared]))[0]


def curvature(points, u=U):
    first, second = bernstein(u, 1) @ points, bernstein(u, 2) @ points
    turn = second[:, 0] * first[:, 1] - first[:, 0] * second[:, 1]
    return turn / np.hypot(*first.T) ** 3


def turns(values, least):
    """How often a figure turns from rising to falling or back by more than ``least``."""
    count, way, high, low = 0, 0, values[0], values[0]
    for value in values:
        high, low = max(high, value), min(low, value)
        if way >= 0 and value < high - least:
            count, way, high, low = count + (way == 1), -1, value, value
        elif way <= 0 and value > low + least:
            count, way, high, low = count + (way == -1), 1, value, value
    return count


@given(share, share)
def test_passes_exactly_through_edge_and_keel(shoulder, keel):
    ends = bernstein(np.array([0.0, 1.0])) @ controls(shoulder, keel)
    assert ends == pytest.approx(np.array([[1, 0], [0, -1]]), abs=1e-15)


@given(share, share)
def test_leaves_the_edge_upright_and_arrives_level(shoulder, keel):
    at_edge, at_keel = bernstein(np.array([0.0, 1.0]), 1) @ controls(shoulder, keel)
    assert at_edge[0] == pytest.approx(0, abs=1e-12)
    assert at_edge[1] < 0
    assert at_keel[1] == pytest.approx(0, abs=1e-12)
    assert at_keel[0] < 0


@given(share, share)
def test_is_the_bezier_curve_of_its_control_points(shoulder, keel):
    # reference: scipy.interpolate.BPoly, values and two derivatives
    points = controls(shoulder, keel)
    reference = BPoly(points[:, None, :], [0, 1])
    for order in range(3):
        ours = bernstein(U, order) @ points
        theirs = reference.derivative(order)(U) if order else reference(U)
        assert ours == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize(("half", "depth"), SIZES)
def test_has_no_hollow_and_no_wiggle_over_the_whole_travel(half, depth):
    for shoulder in np.linspace(0, 1, 21):
        for keel in np.linspace(0, 1, 21):
            bend = curvature(controls(shoulder, keel) * [half, depth])
            assert np.isfinite(bend).all()
            assert bend.min() >= -1e-3 * bend.max(), (shoulder, keel)
            assert turns(bend, 0.01 * np.ptp(bend)) <= 2, (shoulder, keel)


@given(share, share, share, share)
def test_both_sides_share_one_curvature_at_the_keel(shoulder_b, keel_b, shoulder_t, keel_t):
    shared = (keel_b + keel_t) / 2
    at_keel = [
        curvature(controls(shoulder, keel, shared) * [21.5, 15], np.array([1.0]))[0]
        for shoulder, keel in ((shoulder_b, keel_b), (shoulder_t, keel_t))
    ]
    wanted = keel_curvature(np.array(shared)) * 15 / 21.5**2
    assert at_keel == pytest.approx([wanted, wanted], abs=1e-9)


@pytest.mark.parametrize("keel", [0.0, 0.3, 0.6, 1.0])
def test_the_shoulder_dial_feels_even(keel):
    dial = np.linspace(0, 1, 11)
    points = half_section(dial, np.full(11, keel), np.full(11, keel))
    steps = np.diff(half_area(points))
    assert steps.min() > 0
    assert steps.max() / steps.min() < 1.6


@pytest.mark.parametrize("shoulder", [0.0, 0.5, 1.0])
def test_the_keel_dial_always_takes_wood_away(shoulder):
    dial = np.linspace(0, 1, 11)
    points = half_section(np.full(11, shoulder), dial, dial)
    assert np.diff(half_area(points)).max() < 0


@given(share, share)
def test_area_is_that_of_a_fine_polygon(shoulder, keel):
    # reference: shapely's polygon area
    from shapely import Polygon

    points = controls(shoulder, keel)
    outline = bernstein(np.linspace(0, 1, 4001)) @ points
    polygon = Polygon(np.vstack([outline, [[0, 0]]]))
    assert half_area(points) == pytest.approx(polygon.area, abs=1e-6)


def test_letters_stand_in_the_trades_order_of_fullness():
    # common practice: V is the leanest, then soft V, C, D, and U the fullest
    areas = [
        float(half_area(controls(dials.shoulder, dials.keel)))
        for dials in (LETTERS[name] for name in ("V", "soft V", "C", "D", "U"))
    ]
    assert areas == sorted(areas)
    # a C lies near a half ellipse (pi/4 of its box), a little fuller
    assert np.pi / 4 < areas[2] < np.pi / 4 + 0.05


def test_a_v_has_a_small_but_finite_keel_radius():
    # common practice: on a 43 x 15 mm section a V's keel is rounded to some millimetres
    dials = LETTERS["V"]
    bend = curvature(controls(dials.shoulder, dials.keel) * [21.5, 15], np.array([1.0]))[0]
    assert 2.5 < 1 / bend < 6
