"""Fret places against published tables and the law of strings, and the table a builder marks by."""

import csv
import io

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from carve.design import with_values
from carve.design.derived.board_plan import board_plan
from carve.export.formats.csv import csv_table
from carve.shape.fretboard.frets import between_frets, fret_places, marks
from carve.shape.views.tables.fret_table import fret_table

EQUAL = 2 ** (np.arange(1, 25) / 12)

# Distances from the bridge in inches on a 25 in scale, as printed: stuphi.co.uk, "Guitar bits
# 'n' bobs", table of fret spacing (read).
TO_BRIDGE_25_IN = (
    *(23.597, 22.272, 21.022, 19.843, 18.729, 17.678, 16.685),
    *(15.749, 14.865, 14.031),
)
# Share of the scale from nut to fret, as printed to six decimals: noah.org wiki, "fret
# positioning" (read; its last digit is not always rounded). Its 4th, 0.206291, is a misprint
# for 0.206299 (the cube root of 2 is 1.259921, so it must be 1 - 0.793701) and is left out.
SHARES = (
    *(0.056126, 0.109101, 0.159104, np.nan, 0.250847, 0.292893, 0.33258, 0.370039),
    *(0.405396, 0.438769, 0.470268, 0.5, 0.528063, 0.554551, 0.579552, 0.60315, 0.625423),
    *(0.646447, 0.66629, 0.68502, 0.702698, 0.719385, 0.735134, 0.75),
)


def test_a_published_table_to_its_rounding():
    to_bridge = 25 - fret_places(EQUAL[:10], 25.0)
    assert np.abs(to_bridge - TO_BRIDGE_25_IN).max() <= 0.00051


def test_published_shares_of_the_scale_to_their_rounding():
    assert np.nanmax(np.abs(fret_places(EQUAL, 1.0) - SHARES)) <= 0.000001


def test_the_first_two_frets_of_25_and_a_half_inches():
    # published table: 1.431 and 2.782 in (REFERENCES.md, read)
    sheet = fret_table(fret_places(EQUAL, 25.5 * 25.4), 0.001 * 25.4, "in")
    assert [row[1] for row in sheet.rows[:2]] == ["1.431", "2.782"]


def test_dividing_by_the_constant_of_equal_temperament_step_by_step_gives_the_same():
    # 17.817153745 (REFERENCES.md, read): each fret takes that share of what is left
    left, stepped = 650.0, []
    for _ in range(24):
        left -= left / 17.817153745
        stepped.append(650.0 - left)
    assert fret_places(EQUAL, 650.0) == pytest.approx(stepped, abs=1e-6)


def test_the_12th_fret_halves_and_the_24th_quarters_the_string():
    places = fret_places(EQUAL, 648.0)
    assert places[11] == pytest.approx(324.0, abs=1e-12)
    assert places[23] == pytest.approx(486.0, abs=1e-12)


def test_the_rule_of_18_is_not_equal_temperament():
    # its 12th fret lies at 0.496364 L (REFERENCES.md): 2.4 mm from where it belongs on 650 mm
    eighteen = fret_places((18 / 17) ** np.arange(1, 25), 1.0)
    assert eighteen[11] == pytest.approx(0.496364, abs=1e-6)
    assert np.nanmin(np.abs(eighteen - SHARES)) > 100 * 0.000001  # not even one fret passes
    assert np.abs(25 - 25 * eighteen[:10] - TO_BRIDGE_25_IN).min() > 0.01


def test_just_ratios_lie_where_the_string_is_divided_by_them(design):
    # a string stopped at 8/9, 4/5, 3/4, 2/3 of its length (Pythagoras's division; any text)
    changed = with_values(
        design,
        {
            "fretboard.frets": 5,
            "fretboard.temperament": ["9/8", "5/4", "4/3", "3/2", 2.0],
            "fretboard.markers": None,
        },
    )
    shares = np.array([1 / 9, 1 / 5, 1 / 4, 1 / 3, 1 / 2])
    assert np.array(board_plan(changed).frets) == pytest.approx(design.scale_length * shares)


def test_places_are_those_of_the_plan_that_is_cut(design):
    plan = board_plan(design)
    assert np.array(plan.frets) == pytest.approx(fret_places(EQUAL[:22], design.scale_length))


@given(st.floats(200, 1300), st.floats(0.0001, 2), st.integers(1, 48))
def test_no_mark_is_further_off_than_half_a_step_and_gaps_add_up(scale, step, count):
    marked = marks(fret_places(2 ** (np.arange(1, count + 1) / 12), scale), step)
    assert np.abs(marked.residual).max() <= step / 2 * (1 + 1e-9)
    assert np.cumsum(marked.from_previous) == pytest.approx(marked.from_nut, abs=1e-9)
    assert marked.from_nut - marked.residual == pytest.approx(marked.exact, abs=1e-9)
    steps = marked.from_nut / step
    assert steps == pytest.approx(np.rint(steps), abs=1e-6)


def test_the_table_read_back_adds_up():
    sheet = fret_table(fret_places(EQUAL, 628.65), 0.01, "mm")
    head, *rows = csv.reader(io.StringIO(csv_table(sheet).decode()))
    assert head[1] == "from nut (mm)"
    number, from_nut, gap, exact, residual = np.array(rows, dtype=float).T
    assert list(number) == list(range(1, 25))
    assert np.cumsum(gap) == pytest.approx(from_nut, abs=1e-9)
    assert from_nut - exact == pytest.approx(residual, abs=1e-9)
    assert np.abs(residual).max() <= 0.00501


def test_a_table_in_64ths_of_an_inch_shows_every_digit_of_them():
    sheet = fret_table(fret_places(EQUAL[:1], 25.4 * 25.5), 25.4 / 64, "in")
    # by hand: 1.431219 in is 91.6 sixty-fourths; 92 / 64 = 1.4375
    assert sheet.rows[0][1] == "1.437500"


def test_a_marker_stands_half_way_between_two_frets():
    assert between_frets(np.array([36.0, 70.0, 102.0])) == pytest.approx([18.0, 53.0, 86.0])
