"""Strings in plan, and the cone that keeps their paths straight."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from carve.shape.fretboard.strings import (
    StringLayout,
    bow_under,
    cone_radius,
    spaced_strings,
    string_layout,
)

MM = 25.4


def layout_of(design):
    return string_layout(design.strings, design.neck.nut_width, design.scale_length)


def test_even_centres_by_hand():
    # 6 strings over 35 mm: 35 / 5 = 7 mm from middle to middle
    assert spaced_strings(-17.5, 17.5, np.zeros(6), "even centres") == pytest.approx(
        [-17.5, -10.5, -3.5, 3.5, 10.5, 17.5]
    )


def test_even_gaps_by_hand():
    """Six strings of 1.2, 1.0, 0.7, 0.5, 0.4, 0.3 mm, outer middles 36 mm apart.

    Of the 36 mm the strings themselves take 1.2/2 + 1.0 + 0.7 + 0.5 + 0.4 + 0.3/2 = 3.35 mm.
    The rest is five gaps: (36 - 3.35) / 5 = 6.53 mm. From middle to middle:
    0.6 + 6.53 + 0.5 = 7.63, 0.5 + 6.53 + 0.35 = 7.38, 0.35 + 6.53 + 0.25 = 7.13,
    0.25 + 6.53 + 0.2 = 6.98, 0.2 + 6.53 + 0.15 = 6.88; their sum is 36.
    """
    gauges = np.array([1.2, 1.0, 0.7, 0.5, 0.4, 0.3])
    y = spaced_strings(0.0, 36.0, gauges, "even gaps")
    assert np.diff(y) == pytest.approx([7.63, 7.38, 7.13, 6.98, 6.88])
    assert y[[0, -1]] == pytest.approx([0.0, 36.0])


@given(
    gauges=st.lists(st.floats(0.1, 5), min_size=4, max_size=12),
    first=st.floats(-60, -1),
    room=st.floats(70, 150),
)
def test_even_gaps_are_even_whatever_the_strings(gauges, first, room):
    gauges = np.array(gauges)
    y = spaced_strings(first, first + room, gauges, "even gaps")
    clear = np.diff(y) - (gauges[:-1] + gauges[1:]) / 2
    assert np.ptp(clear) < 1e-9
    assert y[[0, -1]] == pytest.approx([first, first + room])


@given(gauge=st.floats(0.1, 3), count=st.integers(4, 12))
def test_strings_of_one_diameter_stand_the_same_either_way(gauge, count):
    gauges = np.full(count, gauge)
    even = spaced_strings(-30.0, 30.0, gauges, "even centres")
    assert spaced_strings(-30.0, 30.0, gauges, "even gaps") == pytest.approx(even, abs=1e-9)


def test_outer_strings_keep_their_distance_from_the_edges(heron):
    layout = layout_of(heron)
    half = heron.neck.nut_width / 2
    bass, treble = layout.overhang(np.zeros(1), np.array([half]))
    assert (bass[0], treble[0]) == pytest.approx((3.6, 3.2))  # as the file says
    # half way to the bridge a string is half way between its two places
    middle = np.array([heron.scale_length / 2])
    assert layout.y(middle)[0, 0] == pytest.approx((-half + 3.6 - 26.0) / 2)
    assert layout.spread(middle)[0] == pytest.approx((2 * half - 6.8 + 52.0) / 2)


def test_on_the_cone_every_string_lies_straight():
    """Lines through the apex of a cone are straight on it.

    The surface is asked point by point for the equation of a cone through one apex: seen
    from there, heights and places grow together, z(x) / y(x) is one number along a string.
    """
    layout = StringLayout(np.linspace(-18, 18, 6), np.linspace(-26, 26, 6), np.zeros(6), 640.0)
    x = np.linspace(0.0, 460.0, 93)
    radius = cone_radius(x, 254.0, 36.0, 52.0, 640.0)
    y = layout.y(x)
    fall = radius - np.sqrt(radius**2 - y**2)  # Machinery's Handbook, circular segments; memory
    assert np.ptp(fall / y, axis=1) == pytest.approx(0.0, abs=1e-9)
    assert bow_under(layout, x, radius) == pytest.approx(0.0, abs=1e-9)


def test_a_cylinder_bows_under_the_outer_strings_by_the_sagittas_second_difference():
    """Radius 254 mm; the outer string at 18 mm at the nut, 24 mm at the end, 21 mm half way.

    Sagittas 254 - sqrt(254^2 - y^2): 0.638598, 1.136400, 0.869599. Straight half way would
    be (0.638598 + 1.136400) / 2 = 0.887499; the board lies at 0.869599, so 0.017900 higher.
    """
    layout = StringLayout(np.array([-18.0, 18.0]), np.array([-24.0, 24.0]), np.zeros(2), 400.0)
    bow = bow_under(layout, np.array([0.0, 200.0, 400.0]), np.full(3, 254.0))
    assert bow[:, 1] == pytest.approx(-0.017900, abs=2e-6)
    assert bow[:, [0, 2]] == pytest.approx(0.0, abs=1e-12)


@given(nut=st.floats(20, 60), growth=st.floats(0, 40), radius=st.floats(120, 600))
def test_any_cone_through_the_strings_is_straight_under_them(nut, growth, radius):
    layout = StringLayout(
        np.linspace(-nut / 2, nut / 2, 5),
        np.linspace(-(nut + growth) / 2, (nut + growth) / 2, 5),
        np.zeros(5),
        650.0,
    )
    x = np.linspace(0.0, 480.0, 25)
    cone = cone_radius(x, radius, nut, nut + growth, 650.0)
    assert np.abs(bow_under(layout, x, cone)).max() < 1e-9
