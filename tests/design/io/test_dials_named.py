"""Which dials a sentence is about. The sentences are those of designs that are really wrong."""

import doctest
from pathlib import Path

import pytest

from carve.design import load, read_text, with_values
from carve.design.io import dials as module
from carve.design.io.dials import dials, dials_named
from carve.design.io.toml_file import rounding_of
from carve.errors import DesignError
from carve.parts.job import make

EXAMPLES = Path(__file__).parents[3] / "examples"


def said(design, changes):
    """What is wrong with a design after changes, and the keys of its dials."""
    with pytest.raises(DesignError) as caught:
        make(with_values(design, changes), 0.2)
    return caught.value.problems, [spec.key for spec in dials(design)]


@pytest.mark.parametrize(
    ("name", "changes", "named"),
    [
        # out of its own range
        ("wren", {"fretboard.thickness": 99.0}, {"fretboard.thickness"}),
        # both sides of a contradiction, the second in brackets
        (
            "wren",
            {"neck.stations[1].thickness": 10.0, "fretboard.thickness": 10.0},
            {"neck.stations[1].thickness", "fretboard.thickness"},
        ),
        # a blank is no dial
        ("wren", {"neck.heel_width": 70.5}, {"neck.heel_width"}),
        # a dial in a table
        ("wren", {"fretboard.radius.nut": 21.0}, {"fretboard.radius.nut"}),
        # a shape
        ("sanderling", {"body.outline.bouts.waist_at": 60.0}, {"body.outline.bouts.waist_at"}),
        # no dial at all: a place on the neck
        ("wren", {"neck.heel_end": "fret 11"}, set()),
    ],
)
def test_a_sentence_names_its_dials(name, changes, named):
    problems, keys = said(load(EXAMPLES / f"{name}.toml"), changes)
    assert set(dials_named(problems[0], keys)) == named


def test_a_table_that_a_sentence_begins_with_names_its_dials_and_one_within_it_does_not():
    keys = ["fretboard.radius.nut", "fretboard.radius.end", "fretboard.thickness"]
    assert dials_named("fretboard.radius: too small", keys) == tuple(keys[:2])
    assert dials_named("neck.nut_width: as fretboard.radius says", keys) == ()
    assert dials_named("fretboard.radius.nut.x: wrong", keys) == ("fretboard.radius.nut",)
    assert dials_named("fretboard.thick: wrong (fretboard.thickness.)", keys) == (keys[2],)


def test_numbers_are_not_mixed_up():
    keys = [f"neck.stations[{n}].thickness" for n in (0, 1, 10)]
    assert dials_named("neck.stations[1].thickness: 5 mm", keys) == (keys[1],)
    assert dials_named("neck.stations[10].thickness: 5 mm", keys) == (keys[2],)
    assert dials_named("no key at all", keys) == ()


def test_its_example_is_true():
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize(
    ("name", "key", "asked", "kept"),
    [
        ("wren", "neck.stations[0].thickness", 21.374149, 21.3741),  # mm: four decimals
        ("wren", "scale_length", 629.3, 24.77559 * 25.4),  # spelled in inches: five
        ("wren", "fretboard.radius.end", 407.0, 16.02362 * 25.4),  # in a table on one line
        ("plover", "neck.stations[0].thickness", 21.374149, 21.3741),  # mm in a file of inches
        ("plover", "neck.nut_width", 42.0, 1.65354 * 25.4),
        ("plover", "joint.angle", 2.123456, 2.1235),  # degrees are no length
    ],
)
def test_a_number_is_rounded_as_its_own_key_is_spelled(name, key, asked, kept):
    file = EXAMPLES / f"{name}.toml"
    rounded = rounding_of(read_text(file), load(file))
    assert rounded(key, asked) == pytest.approx(kept, abs=1e-12)


def test_what_is_no_number_stays():
    file = EXAMPLES / "wren.toml"
    rounded = rounding_of(read_text(file), load(file))
    assert rounded("title", "Other") == "Other"
    assert rounded("neck.stations[0].thickness", float("inf")) == float("inf")
