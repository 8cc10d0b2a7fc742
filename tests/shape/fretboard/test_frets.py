"""Fret places and the table a builder marks by; published tables stand in tests/validation."""

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
