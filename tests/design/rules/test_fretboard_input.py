"""The fretboard's keys: what may be written, and one clear sentence where it may not."""

import math
import tomllib
from pathlib import Path

import pytest
import tomlkit

from carve.design import load, parse, read_design, read_text, rewrite, value_at, with_values
from carve.design.io.dials import dials
from carve.errors import DesignError

IN = 25.4
EXAMPLES = Path(__file__).parents[3] / "examples"


def read_with(example, changes):
    data = tomllib.loads(example.read_text(encoding="utf-8"))
    for key, value in changes.items():
        table = data["fretboard"]
        *way, last = key.split(".")
        for step in way:
            table = table.setdefault(step, {})
        if value is None:
            table.pop(last, None)
        else:
            table[last] = value
    return read_design(data)


@pytest.mark.parametrize(
    ("written", "nut", "end"),
    [
        ("12 in", 12 * IN, None),
        (305, 305.0, None),
        ({"nut": "7 1/4 in", "end": 400}, 7.25 * IN, 400.0),
        ({"nut": 184}, 184.0, None),
    ],
)
def test_a_radius_is_a_length_or_a_table(example, written, nut, end):
    radius = read_with(example, {"radius": written}).fretboard.radius
    assert (radius.nut, radius.end) == (pytest.approx(nut), end and pytest.approx(end))


@pytest.mark.parametrize("written", ["flat", "Flat", None])
def test_flat_is_a_word_or_nothing(example, written):
    assert read_with(example, {"radius": written}).fretboard.radius is None


def test_ratios_are_decimals_or_fractions(example):
    five = {"frets": 3, "markers": None, "temperament": ["9/8", 1.25, "3 / 2"]}
    assert read_with(example, five).fretboard.temperament == (1.125, 1.25, 1.5)
    assert read_with(example, {"temperament": "equal"}).fretboard.temperament is None


SLOT = {"width": 3.0, "depth": 3.0}

ONE_SENTENCE = [
    # what is written under [fretboard]; the key; what the sentence holds
    ({"frets": 22.5}, "frets", ["22.5 is not a whole number", "0 to 48"]),
    ({"frets": 49}, "frets", ["49", "0 to 48"]),
    ({"frets": True}, "frets", ["true is not a whole number"]),
    ({"frets": "22"}, "frets", ['"22" is not a whole number']),
    ({"frets": math.nan}, "frets", ["nan is not a whole number"]),
    ({"frets": math.inf}, "frets", ["inf is not a whole number"]),
    ({"frets": 10**400}, "frets", ["0 to 48"]),
    ({"radius": "round"}, "radius", ['"round" is not a length']),
    ({"radius": "1 in"}, "radius", ['"1 in" (25.4 mm)', "50 mm to 3000 mm"]),
    ({"radius": [254]}, "radius", ["[254] is not a radius", '"flat"', "follow"]),
    ({"radius": True}, "radius", ["true is not a radius"]),
    ({"radius": {"nut": 254, "far": 300}}, "radius.far", ["unknown key", "nut, end, follow"]),
    ({"radius": {"end": 300}}, "radius.nut", ["missing", "radius at the nut"]),
    ({"radius": {"nut": 254, "follow": "frets"}}, "radius.follow", ['"frets"', '"strings"']),
    ({"radius": {"nut": 254, "follow": "strings", "end": 300}}, "radius.follow", ["not both"]),
    ({"temperament": "just"}, "temperament", ['"just" is not a temperament', '"equal"', "9/8"]),
    ({"temperament": []}, "temperament", ["[] is not a temperament"]),
    ({"temperament": ["3:2"]}, "temperament", ['"3:2" is not a ratio', "9/8"]),
    ({"temperament": ["3/0"]}, "temperament", ['"3/0" is not a ratio']),
    ({"temperament": [1.0]}, "temperament", ["fret 1's ratio, 1.0", "the first than 1"]),
    ({"temperament": [1.2, 1.1]}, "temperament", ["fret 2's ratio, 1.1", "greater than the one"]),
    ({"temperament": [math.nan]}, "temperament", ["fret 1's ratio, nan"]),
    ({"temperament": [1.1, 99]}, "temperament", ["fret 2's ratio, 99", "greater than 16"]),
    ({"temperament": [1.1] * 50}, "temperament", ["50 ratios", "at most 48"]),
    ({"temperament": ["9/8", "5/4"]}, "temperament", ["2 ratios", "22 frets"]),
    ({"nut": "bone"}, "nut", ['"bone"', '"ledge"', '"slot"', '"zero fret"']),
    ({"nut": "slot", "behind": 8}, "nut_slot", ["missing", "width", "depth"]),
    ({"nut_slot": SLOT}, "nut_slot", ['"ledge"', "leave it out"]),
    ({"behind": 5}, "behind", ["5 mm", '"ledge"', "leave it out"]),
    ({"nut": "slot", "nut_slot": SLOT, "behind": 3}, "behind", ["3 mm", "at least 4 mm"]),
    ({"nut": "zero fret"}, "behind", ["0 mm", "at least 1.29 mm", "fret"]),
    ({"nut": "slot", "behind": 9, "nut_slot": {"width": 3, "depth": 6}}, "nut_slot.depth", ["two"]),
    ({"slots.depth": 6.5}, "slots.depth", ["6.5 mm", "in two", "6 mm"]),
    ({"slots.floor": "round"}, "slots.floor", ['"round"', '"radius"', '"flat"']),
    ({"slots.blind": 20}, "slots.blind", ["20 mm", "leaves no slot", "at most 19.43 mm"]),
    ({"slots.widht": 1}, "slots.widht", ["unknown key", "did you mean width?"]),
    ({"slots.wide": 1}, "slots.wide", ["unknown key", "known: "]),
    (
        {"frets": 0, "markers": None, "beyond_last_fret": None},
        "slots",
        ["no frets", "leave it out"],
    ),
    ({"beyond_last_fret": 1.0}, "beyond_last_fret", ["too soon for fret 22", "453.53 mm"]),
    ({"beyond_last_fret": 300}, "beyond_last_fret", ["752.24 mm", "before the bridge"]),
    ({"markers.frets": [3, 24]}, "markers.frets", ["fret 24", "has 22"]),
    ({"markers.frets": [5, 3]}, "markers.frets", ["[5, 3] is not in rising order"]),
    ({"markers.frets": [0]}, "markers.frets", ["0 is not a fret", "1 to 48"]),
    ({"markers.frets": 12}, "markers.frets", ["12 is not a list"]),
    ({"markers.frets": None}, "markers.frets", ["missing", "marker"]),
    ({"markers.depth": 6}, "markers.depth", ["6 mm", "cuts through"]),
    ({"markers.diameter": 9.5}, "markers.diameter", ["9.5 mm", "before fret 21", "8.53 mm"]),
    ({"markers.spacing": 6}, "markers.spacing", ["6 mm", "at least 7 mm"]),
    ({"markers.spacing": 50}, "markers.spacing", ["fret 12", "28 mm"]),
    ({"binding": {"thickness": 9}}, "binding.thickness", ["9 mm", "0.3 mm to 6 mm"]),
    ({"binding": {"thickness": 2, "around": "all"}}, "binding.around", ['"all"', '"sides"']),
    ({"thickness": 1.05, "slots": None, "markers": None}, "radius", ["falls", "1.05 mm thick"]),
    ({"radius": {"nut": 500, "end": 60}}, "radius", ["at the board's end", "falls", "flatter"]),
]


@pytest.mark.parametrize(("changes", "key", "held"), ONE_SENTENCE)
def test_a_wrong_key_gets_one_sentence(example, changes, key, held):
    with pytest.raises(DesignError) as caught:
        read_with(example, changes)
    (problem,) = caught.value.problems
    assert problem.startswith(f"fretboard.{key}: ")
    for words in held:
        assert words in problem
    assert "\n" not in problem
    assert len(problem) < 300


def test_there_must_be_strings_to_follow(design):
    alone = {"strings": None, "action": None, "bridge": None, "joint": None}
    changes = {**alone, "fretboard.radius": {"nut": 254.0, "follow": "strings"}}
    with pytest.raises(DesignError, match=r"fretboard.radius.follow: .*\[strings\]"):
        with_values(design, changes)


def test_a_sentence_speaks_in_the_files_unit(example):
    data = tomllib.loads(example.read_text(encoding="utf-8"))
    data = {**data, "units": "in", "scale_length": 24.75}
    data["fretboard"] = {"thickness": 0.25, "radius": 1.0}
    with pytest.raises(DesignError) as caught:
        read_design(data)
    (problem,) = [p for p in caught.value.problems if p.startswith("fretboard.radius")]
    assert "1 in is not allowed" in problem
    assert "mm" not in problem


def test_a_board_of_nothing_but_a_thickness_is_a_flat_fretless_one(design):
    board = {"thickness": 6.0}
    plain = with_values(design, {"fretboard": board, "strings": None, "action": None})
    assert plain.fretboard.frets == 0
    assert plain.fretboard.radius is None


def test_a_turned_dial_goes_into_the_file_as_it_was_spelled(example):
    text = example.read_text(encoding="utf-8")
    changed = with_values(load(example), {"fretboard.radius.nut": 9.5 * IN})
    written = rewrite(text, changed)
    assert 'radius = { nut = "9.5 in", end = "16 in" }' in written
    assert parse(written) == changed


@pytest.mark.parametrize("was", ['"12 in"', "305", '"flat"'])
def test_a_radius_written_as_one_value_becomes_a_table_when_it_must(example, was):
    text = example.read_text(encoding="utf-8")
    text = text.replace('radius = { nut = "10 in", end = "16 in" }', f"radius = {was}")
    before = parse(text)
    for changes in ({"nut": 254.0}, {"nut": 254.0, "end": 300.0}):
        after = with_values(before, {"fretboard.radius": changes})
        written = rewrite(text, after)
        assert parse(written) == after
        assert set(tomlkit.parse(written)["fretboard"]["radius"]) == set(changes)


def test_the_radius_can_go_back_to_flat(example):
    text = example.read_text(encoding="utf-8")
    flat = with_values(load(example), {"fretboard.radius": None})
    assert parse(rewrite(text, flat)).fretboard.radius is None


def test_lists_go_into_the_file_too(example):
    text = example.read_text(encoding="utf-8")
    changes = {"fretboard.markers.frets": [5, 12], "fretboard.frets": 21}
    after = with_values(load(example), changes)
    assert parse(rewrite(text, after)) == after


def test_every_dial_of_the_board_can_be_turned_to_both_ends_and_answers(design):
    specs = [spec for spec in dials(design) if spec.key.startswith("fretboard.")]
    keys = {spec.key for spec in specs}
    assert {"fretboard.thickness", "fretboard.radius.nut", "fretboard.radius.end"} <= keys
    assert {"fretboard.slots.depth", "fretboard.markers.diameter"} <= keys
    for spec in specs:
        for value in (spec.lowest, spec.highest):
            try:
                changed = with_values(design, {spec.key: value})
            except DesignError:
                continue  # said in a sentence; the lab shows it in place of a picture
            assert value_at(changed, spec.key) == pytest.approx(value)


def test_a_bare_radius_is_in_the_files_unit_like_any_other_length():
    text = read_text(EXAMPLES / "lapwing.toml")
    assert "radius = 12\n" in text
    assert load(EXAMPLES / "lapwing.toml").fretboard.radius.nut == pytest.approx(12 * 25.4)
    assert parse(text.replace("radius = 12\n", 'radius = "10 in"\n'), folder=EXAMPLES) != parse(
        text, folder=EXAMPLES
    )
