"""The playing surface and its plan: sagitta, cone, taper, and volumes against other formulas."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from carve.design import with_values
from carve.design.derived.board_plan import board_plan
from carve.shape.fretboard.shape import fretboard_shape
from carve.shape.fretboard.strings import bow_under, string_layout

STRINGS = {"number": 6, "nut_edge_bass": 3.5, "nut_edge_treble": 3.5, "bridge_spread": 52.0}


def shape_of(design, changes=None):
    return fretboard_shape(board_plan(with_values(design, changes or {})))


def test_a_cylinder_is_level_along_its_crown_and_falls_by_the_sagitta(design):
    changes = {
        "fretboard.radius": "12 in",
        "neck.nut_width": 42.0,
        "neck.heel_width": 55.0,
    }
    shape = shape_of(design, changes)
    x = np.linspace(0, shape.end, 9)
    assert shape.height(x, np.zeros(9)) == pytest.approx(6.0)
    edge = shape.surface(np.array([0.0]), np.array([-1.0, 1.0]))[0]
    assert edge[:, 1] == pytest.approx([-21.0, 21.0])
    assert 6.0 - edge[:, 2] == pytest.approx([0.72429, 0.72429], abs=0.5e-5)


def test_a_radius_given_twice_grows_evenly_between_nut_and_last_fret_and_on(design):
    shape = shape_of(design, {"fretboard.radius": {"nut": 254.0, "end": 406.4}})
    last = shape.frets[-1]
    found = shape.radius(np.array([0.0, last / 2, last, shape.end]))
    assert found[:3] == pytest.approx([254.0, 330.2, 406.4])
    assert found[3] == pytest.approx(406.4 + 152.4 * (shape.end - last) / last)


def test_the_cone_through_the_strings_is_earls_cone(design):
    """R grows as the strings spread: 12 in at 42 mm wide is 16.0 in at 56 mm.

    Earls, American Lutherie 30 (1991), abstract. Here the outer
    strings run along the edges of a board 42 mm wide at the nut, so that it is 56 mm wide
    where their spread is 56 mm.
    """
    scale = design.scale_length
    changes = {
        "neck.nut_width": 43.0,
        "neck.heel_width": 57.0,
        "neck.blank.width": 90.0,
        "strings": {
            "number": 6,
            "nut_edge_bass": 0.5,
            "nut_edge_treble": 0.5,
            "bridge_spread": 42.0 + 14.0 * scale / 400.0,  # 56 mm at 400 mm from the nut
        },
        "fretboard.radius": {"nut": "12 in", "follow": "strings"},
    }
    radius = shape_of(design, changes).radius(np.array([0.0, 400.0]))
    assert radius / 25.4 == pytest.approx([12.0, 16.0], abs=1e-9)


def bows(design, radius):
    """Shape and, for each string, how far the board lies below straight from nut to end."""
    changed = with_values(design, {"strings": STRINGS, "fretboard.radius": radius})
    shape = shape_of(changed)
    layout = string_layout(changed.strings, changed.neck.nut_width, changed.scale_length)
    x = np.linspace(0, shape.end, 257)
    heights = np.array([shape.height(x, y) for y in layout.y(x)])
    ends = heights[:, :1] + (heights[:, -1:] - heights[:, :1]) * x / shape.end
    assert bow_under(layout, x, shape.radius(x)) == pytest.approx(ends - heights, abs=1e-9)
    return shape, layout, ends - heights


def test_on_the_cone_that_follows_the_strings_every_string_lies_straight(design):
    shape, layout, bow = bows(design, {"nut": 254.0, "follow": "strings"})
    assert np.abs(bow).max() < 1e-12
    x = np.array([0.0, 200.0, shape.end])
    spread = layout.spread(x)
    assert shape.radius(x) == pytest.approx(254.0 * spread / spread[0])


@pytest.mark.parametrize("radius", [254.0, {"nut": 184.15, "end": 508.0}])
def test_any_other_round_board_bows_under_the_outer_strings(design, radius):
    _, _, bow = bows(design, radius)
    assert np.abs(bow[[0, -1]]).max() > 0.015


def test_a_cylinders_bow_by_hand(design):
    # z = -y^2 / 2R (flat arc), y grows by d over the board: a parabola of rise d^2 / 8R
    shape, layout, bow = bows(design, 1500.0)
    d = np.ptp(layout.y(np.array([0.0, shape.end]))[0])
    assert -bow[0].min() == pytest.approx(d**2 / (8 * 1500.0), rel=2e-3)


def test_the_boards_sides_are_the_necks_taper_carried_on(design):
    shape = shape_of(design)
    heel = design.place(design.neck.heel_end)
    x = np.array([0.0, heel, 2 * heel])
    nut, wide = design.neck.nut_width / 2, design.neck.heel_width / 2
    assert shape.half_width(x) == pytest.approx([nut, wide, 2 * wide - nut])


def test_binding_takes_its_thickness_square_to_the_edge(design):
    shape = shape_of(design, {"fretboard.binding": {"thickness": 1.6, "around": "sides and end"}})
    core, finished = shape.outline(), shape.finished_outline()
    along = finished[1] - finished[0]
    normal = np.array([-along[1], along[0]]) / np.hypot(*along)
    assert (core[:2] - finished[0]) @ normal == pytest.approx([1.6, 1.6])
    assert finished[1, 0] - core[1, 0] == pytest.approx(1.6)
    assert core[0, 0] == finished[0, 0]


def test_without_a_length_of_its_own_the_board_ends_with_the_neck(design):
    changes = {"fretboard.beyond_last_fret": None, "fretboard.frets": 18}
    changes["fretboard.markers.frets"] = [3]
    shape = shape_of(design, changes)
    assert shape.end == pytest.approx(design.place(design.neck.heel_end))


@given(
    st.floats(150, 1000),
    st.one_of(st.none(), st.floats(1, 3)),
    st.sampled_from(["radius", "flat"]),
    st.sampled_from([0.0, 2.5]),
)
def test_volume_is_what_scipys_integration_finds(wren, nut, flatter, floor, blind):
    # reference: scipy.integrate.dblquad over the plan, cuts subtracted one by one
    radius = nut if flatter is None else {"nut": nut, "end": nut * flatter}
    changes = {
        "fretboard.radius": radius,
        "fretboard.frets": 2,
        "fretboard.beyond_last_fret": 12.0,
        "fretboard.markers": {"frets": [2], "double": [2]},
        "fretboard.slots": {"floor": floor, "blind": blind, "width": 0.8, "depth": 2.9},
    }
    shape = shape_of(wren, changes)
    ways = {"epsabs": 1e-6, "epsrel": 1e-9}

    def z(y, x):
        return float(shape.height(np.array(x), np.array(y)))

    def half(x):
        return float(shape.half_width(np.array([x]))[0])

    whole, _ = integrate.dblquad(z, 0, shape.end, lambda x: -half(x), half, **ways)
    for slot in shape.slots:

        def gap(y, x, slot=slot):
            return max(0.0, z(y, x) - float(shape.floor(slot, np.array([y]))[0]))

        low, high = slot.x - slot.width / 2, slot.x + slot.width / 2

        def reach(x, slot=slot):
            return half(x) if blind == 0 else half(slot.x) - blind

        def back(x, reach=reach):
            return -reach(x)

        whole -= integrate.dblquad(gap, low, high, back, reach, epsabs=1e-4)[0]
    for marker in shape.markers:

        def over(r, a, marker=marker):
            y, x = marker.y + r * np.sin(a), marker.x + r * np.cos(a)
            return (z(y, x) - marker.floor) * r

        whole -= integrate.dblquad(over, 0, 2 * np.pi, 0, marker.radius, **ways)[0]
    assert shape.volume() == pytest.approx(whole, abs=0.05)


@pytest.fixture(scope="session")
def wren(request):
    """The example once for all random designs."""
    from carve.design import load

    return load(request.config.rootpath / "examples" / "wren.toml")
