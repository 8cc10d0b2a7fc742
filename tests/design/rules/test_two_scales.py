"""Two scale lengths in the design file: one clear sentence for each thing that cannot be."""

import tomllib

import pytest

from carve.design import load, parse, read_design, rewrite, with_values
from carve.errors import DesignError

ONE_SENTENCE = [
    (
        {"fretboard.perpendicular_fret": None},
        "fretboard.perpendicular_fret: missing",
        "from 0 (the nut) to 24",
    ),
    (
        {"fretboard.treble_scale_length": None},
        "fretboard.perpendicular_fret: 8 is not allowed without fretboard.treble_scale_length",
        "leave it out",
    ),
    (
        {"fretboard.perpendicular_fret": 25},
        "fretboard.perpendicular_fret: fret 25 is not on the board",
        "which has 24",
    ),
    (
        {"fretboard.perpendicular_fret": 7.5},
        "fretboard.perpendicular_fret: 7.5 is not a whole number",
        "0 to 48",
    ),
    (
        {"fretboard.treble_scale_length": "22 in"},
        "fretboard.treble_scale_length: 558.8 mm is too far from scale_length, 679.45 mm",
        "at most 38.7 are allowed",
    ),
    (
        {"fretboard.treble_scale_length": "5 in"},
        'fretboard.treble_scale_length: "5 in" (127 mm) is not allowed',
        "from 200 mm to 1300 mm",
    ),
    (
        {"strings": None, "fretboard.radius": "14 in", "action": None, "joint": None},
        "fretboard.treble_scale_length: 641.35 mm is measured along the outer treble string",
        "add [strings]",
    ),
    (
        {"fretboard.beyond_last_fret": 5},
        "fretboard.beyond_last_fret: the board ends 500.36 mm from the nut too soon for fret 24",
        "or beyond",
    ),
    (
        {"fretboard.slots.width": 2.4, "fretboard.frets": 48, "fretboard.markers": None,
         "fretboard.beyond_last_fret": 16},
        "fretboard.slots.width: 2.4 mm leaves no wood between fret 47 and fret 48",
        "at most",
    ),
    (
        {"fretboard.markers.diameter": 12.0, "fretboard.markers.double": []},
        "fretboard.markers.diameter: 12 mm does not fit in the space before fret 17",
        "which has room for",
    ),
]  # fmt: skip


def read_with(path, changes):
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    for key, value in changes.items():
        table = data
        *way, last = key.split(".")
        for step in way:
            table = table[step]
        if value is None:
            table.pop(last, None)
        else:
            table[last] = value
    return read_design(data)


@pytest.fixture(scope="session")
def path(request):
    return request.config.rootpath / "examples" / "kite.toml"


@pytest.mark.parametrize(("changes", "says", "and_what_to_do"), ONE_SENTENCE)
def test_what_cannot_be_is_said_in_one_sentence(path, changes, says, and_what_to_do):
    with pytest.raises(DesignError) as caught:
        read_with(path, changes)
    (sentence,) = caught.value.problems
    assert sentence.startswith(says)
    assert and_what_to_do in sentence
    assert "\n" not in sentence


def test_the_end_that_the_sentence_asks_for_is_allowed(path):
    with pytest.raises(DesignError) as caught:
        read_with(path, {"fretboard.beyond_last_fret": 5})
    (sentence,) = caught.value.problems
    wanted = float(sentence.split("let it end at ")[1].split(" mm")[0])
    read_with(path, {"fretboard.beyond_last_fret": 5 + wanted - 500.36 + 0.02})


def test_both_keys_are_written_and_read_back(path):
    other = with_values(
        load(path),
        {"fretboard.treble_scale_length": 25.375 * 25.4, "fretboard.perpendicular_fret": 9},
    )
    again = parse(rewrite(path.read_text(encoding="utf-8"), other), "kite")
    assert again.fretboard.treble_scale_length == pytest.approx(25.375 * 25.4, abs=1e-9)
    assert again.fretboard.perpendicular_fret == 9


@pytest.mark.parametrize(("end", "refused"), [(166.5, False), (163.5, True)])
def test_the_least_length_to_bow_over_is_a_quarter_of_the_scale_on_the_centre_line(
    kite, end, refused
):
    # by hand: nut to saddle on the centre line is less than the bass scale, 679.45 mm, whose
    # quarter is 169.9 mm: a neck of 166.5 mm is long enough, one of 163.5 mm is not
    quarter = kite.saddle_line.at / 4
    assert 163.5 < quarter < 166.5
    changes = {
        "joint": None,
        "neck.heel_end": f"{end} mm",
        "neck.stations[1].at": "fret 3",
        "neck.truss_rod.end": "fret 3",
    }
    if refused:
        with pytest.raises(DesignError, match=r"action\.relief: .*a quarter of the scale"):
            with_values(kite, changes)
    else:
        assert with_values(kite, changes).action.relief > 0
