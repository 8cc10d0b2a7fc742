"""Two scale lengths: where nut, frets and saddle lie, and how truly every string is divided."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point

from carve.design import with_values
from carve.design.derived.board_plan import board_plan
from carve.errors import DesignError
from carve.parts.assembly import assembly_outlines, assembly_tables
from carve.parts.fretboard import FRETBOARD
from carve.parts.job import make, shape_of
from carve.shape.assembly.string_heights import string_heights
from carve.shape.fretboard.strings import string_layout

IN = 25.4
BASS, TREBLE, SQUARE, FRETS = 26.75 * IN, 25.25 * IN, 8, 24
SEMITONE = 17.817153745  # L / (L - L 2^(-1/12)): equal temperament, any acoustics text


def layout_of(design):
    return string_layout(design.strings, design.neck.nut_width, design.scale_length, design.fan)


def string_lines(design):
    """Each string as a shapely line from its nut point to its saddle point."""
    layout = layout_of(design)
    return [
        LineString([(x0, y0), (x1, y1)])
        for x0, y0, x1, y1 in zip(
            layout.starts, layout.nut, layout.ends, layout.bridge, strict=True
        )
    ]


def fret_lines(design):
    """Each fret as the drawing has it, drawn on a little beyond the board's edges."""
    drawing = assembly_outlines(design)["strings-from-above"]
    lines = [line.points for line in drawing.lines if line.layer == "fret lines"]
    return [LineString([a + 0.3 * (a - b), b + 0.3 * (b - a)]) for a, b in lines]


def distance_to_fret(string, fret):
    """Mm along a string from its nut to where a fret crosses it, as shapely finds it."""
    crossing = string.intersection(fret)
    assert isinstance(crossing, Point)
    return string.project(crossing)


def test_the_outer_strings_are_as_long_as_the_builder_wrote(kite):
    bass, *_, treble = string_lines(kite)
    assert bass.length == pytest.approx(BASS, abs=1e-9)
    assert treble.length == pytest.approx(TREBLE, abs=1e-9)


def test_each_outer_strings_frets_are_those_of_its_own_scale(kite):
    """L (1 - 2^(-n/12)), and each space is the rest over 17.817153745 (equal temperament)."""
    frets = fret_lines(kite)
    assert len(frets) == FRETS
    for string, scale in ((string_lines(kite)[0], BASS), (string_lines(kite)[-1], TREBLE)):
        found = np.array([distance_to_fret(string, fret) for fret in frets])
        n = np.arange(1, FRETS + 1)
        assert found == pytest.approx(scale * (1 - 2 ** (-n / 12)), abs=1e-7)
        rest = scale - np.r_[0.0, found[:-1]]
        assert np.diff(found, prepend=0.0) == pytest.approx(rest / SEMITONE, abs=1e-6)
        assert found[11] == pytest.approx(scale / 2, abs=1e-7)
        assert found[23] == pytest.approx(scale * 3 / 4, abs=1e-7)


def test_published_places_of_a_25_and_a_half_inch_scale_come_out_on_that_side(kite):
    """1.431 and 2.782 in: a published table of 25.5 in, to its rounding."""
    treble = with_values(kite, {"fretboard.treble_scale_length": 25.5 * IN})
    frets, string = fret_lines(treble), string_lines(treble)[-1]
    found = [distance_to_fret(string, fret) / IN for fret in frets[:2]]
    assert found == pytest.approx([1.431, 2.782], abs=0.0005)


def test_the_perpendicular_fret_is_square_to_the_centre_line_and_no_other_is(kite):
    slants = np.array([line.slant for line in board_plan(kite).lines])
    assert abs(slants[SQUARE - 1]) < 1e-12
    assert np.all(slants[: SQUARE - 1] > 1e-3)
    assert np.all(slants[SQUARE:] < -1e-3)
    assert np.all(np.diff(slants) < 0)


def test_with_the_nut_perpendicular_the_nut_is_square(kite):
    square = with_values(
        kite, {"fretboard.perpendicular_fret": 0, "fretboard.beyond_last_fret": 30.0}
    )
    assert square.nut_line.slant == 0
    assert square.saddle_line.slant < 0


def test_the_nut_crosses_the_centre_line_at_the_origin(kite):
    layout = layout_of(kite)
    nut = LineString(np.stack([layout.starts, layout.nut], 1)[[0, -1]])
    crossing = nut.intersection(LineString([(-50, 0), (50, 0)]))
    assert (crossing.x, crossing.y) == pytest.approx((0.0, 0.0), abs=1e-9)


def test_nut_edges_and_bridge_spread_are_as_written_straight_across(kite):
    layout, plan = layout_of(kite), board_plan(kite)
    edge = plan.nut_half + plan.flare * layout.starts
    assert layout.nut[0] + edge[0] == pytest.approx(3.6, abs=1e-9)
    assert edge[-1] - layout.nut[-1] == pytest.approx(3.2, abs=1e-9)
    assert layout.bridge[-1] - layout.bridge[0] == pytest.approx(63.0)


@pytest.mark.parametrize("offset", [0.0, 1.5])
@pytest.mark.parametrize("swap", [False, True])
@pytest.mark.parametrize("square", [0, 8, 24])
def test_every_string_of_even_centres_is_divided_in_its_own_equal_shares(
    kite, offset, swap, square
):
    """Intonation: a fret stops 2^(-n/12) of each string's own length (Mersenne's law).

    Straight lines that join equal shares of two straight lines cut every line of the fan in
    that share; here found as intersections by shapely, on strings of neither side's length.
    """
    bass, treble = (TREBLE, BASS) if swap else (BASS, TREBLE)
    design = with_values(
        kite,
        {
            "scale_length": bass,
            "fretboard.treble_scale_length": treble,
            "fretboard.perpendicular_fret": square,
            "fretboard.beyond_last_fret": 30.0,
            "strings.bridge_offset": offset,
        },
    )
    frets = fret_lines(design)
    for string in string_lines(design):
        left = [1 - distance_to_fret(string, fret) / string.length for fret in frets]
        n = np.arange(1, FRETS + 1)
        assert left == pytest.approx(2 ** (-n / 12), abs=1e-9)


def test_strings_between_have_lengths_between(kite):
    lengths = [string.length for string in string_lines(kite)]
    assert np.all(np.diff(lengths) < 0)
    assert lengths[3] == pytest.approx((BASS + TREBLE) / 2, abs=0.1)


def test_even_gaps_at_the_nut_only_miss_by_what_shapely_finds(kite):
    """Spaces that differ at nut and bridge: such a string is no line of the fan."""
    design = with_values(kite, {"strings.nut_spacing": "even gaps"})
    n = np.arange(1, FRETS + 1)
    worst = max(
        abs(distance_to_fret(string, fret) - string.length * (1 - 2 ** (-k / 12)))
        for string in string_lines(design)
        for k, fret in zip(n, fret_lines(design), strict=True)
    )
    assert 0.05 < worst < 0.5


def test_ratios_of_ones_own_are_laid_on_both_strings(kite):
    ratios = ["9/8", "5/4", "4/3", "3/2"]
    design = with_values(
        kite,
        {
            "fretboard.frets": 4,
            "fretboard.temperament": ratios,
            "fretboard.perpendicular_fret": 4,
            "fretboard.markers": None,
            "fretboard.beyond_last_fret": None,
        },
    )
    for string in string_lines(design):
        found = [distance_to_fret(string, fret) / string.length for fret in fret_lines(design)]
        assert found == pytest.approx([1 / 9, 1 / 5, 1 / 4, 1 / 3], abs=1e-9)
    assert board_plan(design).lines[3].slant == pytest.approx(0, abs=1e-12)


def test_fret_12_is_a_place_on_the_centre_line(kite):
    place = kite.place(kite.neck.stations[1].at)
    crossing = fret_lines(kite)[11].intersection(LineString([(0, 0), (600, 0)]))
    assert place == pytest.approx(crossing.x, abs=1e-9)


def test_a_neck_may_end_at_a_fret_though_the_fan_hangs_on_its_taper(kite):
    plan = board_plan(kite)
    assert kite.place(kite.neck.heel_end) == pytest.approx(plan.frets[21], abs=1e-9)
    assert plan.nut_half + plan.flare * plan.frets[21] == pytest.approx(32.0, abs=1e-9)


@given(st.floats(-0.06, 0.06), st.integers(0, FRETS), st.floats(40, 90), st.floats(-8, 8))
def test_whatever_fan_is_allowed_has_its_two_scales_and_its_square_fret(
    kite, apart, square, spread, offset
):
    try:
        design = with_values(
            kite,
            {
                "fretboard.treble_scale_length": BASS * (1 + apart),
                "fretboard.perpendicular_fret": square,
                "fretboard.beyond_last_fret": 40.0,
                "strings.bridge_spread": spread,
                "strings.bridge_offset": offset,
            },
        )
    except DesignError:
        return
    fan = design.fan
    if fan is None:
        return
    assert math.dist(fan.bass.nut, fan.bass.saddle) == pytest.approx(BASS, abs=1e-8)
    assert math.dist(fan.treble.nut, fan.treble.saddle) == pytest.approx(
        BASS * (1 + apart), abs=1e-8
    )
    assert abs(fan.line(1 - 2 ** (-square / 12)).slant) < 1e-10
    assert fan.nut.at == pytest.approx(0, abs=1e-9)


def test_scales_that_are_equal_make_the_board_they_always_made(kite):
    alike = {"fretboard.treble_scale_length": kite.scale_length}
    single = {"fretboard.treble_scale_length": None, "fretboard.perpendicular_fret": None}
    two, one = with_values(kite, alike), with_values(kite, single)
    assert two.fan is None
    for parts in zip(make(two, 0.05).parts, make(one, 0.05).parts, strict=True):
        meshes = [part.mesh for part in parts]
        assert np.array_equal(meshes[0].points, meshes[1].points)
        assert np.array_equal(meshes[0].triangles, meshes[1].triangles)


def test_two_scales_that_are_all_but_equal_are_all_but_one_scale(kite):
    """Along the outer strings is a few hundredths of a mm from along the centre line."""
    near = with_values(kite, {"fretboard.treble_scale_length": kite.scale_length - 0.001})
    single = with_values(
        kite, {"fretboard.treble_scale_length": None, "fretboard.perpendicular_fret": None}
    )
    assert board_plan(near).frets == pytest.approx(board_plan(single).frets, abs=0.1)
    assert near.saddle_line.at == pytest.approx(single.scale_length, abs=0.12)


def test_each_strings_action_is_over_its_own_place_of_the_12th_fret(kite):
    """From action.bass to action.treble, a tape along each string half way to its saddle."""
    heights, layout = string_heights(kite), layout_of(kite)
    half_way = (layout.starts + layout.ends) / 2
    assert heights.crossings[:, 11] == pytest.approx(half_way, abs=1e-9)
    assert heights.open[[0, -1], 11] == pytest.approx([2.0, 1.5], abs=1e-12)


def test_the_saddle_is_slanted_and_every_string_is_compensated_alike(kite):
    heights, layout = string_heights(kite), layout_of(kite)
    beyond = heights.saddle_places - layout.ends
    assert beyond == pytest.approx(np.full(7, 2.0), rel=0.02)
    assert heights.saddle_places[0] - heights.saddle_places[-1] > 20


def test_every_string_lies_in_the_nuts_height_over_the_board_at_its_own_nut_point(kite):
    heights = string_heights(kite)
    assert heights.nut_slots == pytest.approx(np.full(7, 1.7), abs=1e-9)


def test_the_table_has_both_sides_each_from_its_own_nut(kite):
    sheet = FRETBOARD.tables(kite, shape_of(FRETBOARD, kite))["frets"]
    column = {name: [row[i] for row in sheet.rows] for i, name in enumerate(sheet.head)}
    for name, scale in (("bass", BASS), ("treble", TREBLE)):
        laid = column[f"along the outer {name} string from its nut (mm)"]
        exact = column[f"exact along the outer {name} string from its nut (mm)"]
        assert laid[11] == f"{scale / 2:.2f}"
        assert float(exact[23]) == pytest.approx(scale * 0.75, abs=1e-5)
    assert len(sheet.rows) == FRETS


def test_the_string_table_says_each_strings_own_scale(kite):
    sheet = assembly_tables(kite)["strings"]
    own = [
        float(row[sheet.head.index("own scale length, along the string (mm)")])
        for row in sheet.rows
    ]
    assert own == pytest.approx([string.length for string in string_lines(kite)], abs=0.001)


def test_a_slanted_nut_is_marked_off_along_itself(kite):
    sheet, layout, plan = assembly_tables(kite)["strings"], layout_of(kite), board_plan(kite)
    column = sheet.head.index("nut, along it from the bass edge (mm)")
    y = plan.edges(plan.nut, finished=True)[0]
    corner = (plan.nut.x(y), y)
    asked = [math.dist(corner, at) for at in zip(layout.starts, layout.nut, strict=True)]
    assert [float(row[column]) for row in sheet.rows] == pytest.approx(asked, abs=0.001)
