"""What a builder is told when strings, action, bridge, joint or finish are wrong."""

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest

from carve.design import load, parse, read_design, rewrite, with_values
from carve.design.io.dials import dials
from carve.design.io.parse import read_key
from carve.errors import DesignError

EXAMPLES = Path(__file__).parents[3] / "examples"
HERON = EXAMPLES / "heron.toml"
OUT = ...  # no key has this value, and it reads the same in each worker


def heron_with(changes: dict[str, Any]) -> dict[str, Any]:
    data = copy.deepcopy(tomllib.loads(HERON.read_text(encoding="utf-8")))
    for key, value in changes.items():
        *way, last = read_key(key)
        table: Any = data
        for step in way:
            table = table[step]
        if value is OUT:
            del table[last]
        else:
            table[last] = value
    return data


GAUGES = ["0.052 in", "0.042 in", "0.030 in", "0.022 in", "0.015 in"]

LOW_BRIDGE = {
    "neck.heel_end": 600.0,
    "neck.stations[1].at": 500.0,
    "fretboard.beyond_last_fret": 170.0,
    "joint.at": 585.0,
    "joint.height": 60.0,
    "bridge.height_lowest": 0.0,
    "bridge.height_highest": 0.5,
    "bridge.top_height": 0.0,
}

ONE_SENTENCE: list[tuple[dict[str, Any], str, list[str]]] = [
    ({"strings.number": 3}, "strings.number", ["3 is not allowed", "from 4 to 12"]),
    ({"strings.number": 6.5}, "strings.number", ["6.5 is not a whole number", "4 to 12"]),
    ({"strings.number": "six"}, "strings.number", ['"six" is not a whole number']),
    ({"strings.gauges": GAUGES}, "strings.gauges", ["5 diameters for 6 strings", "give 6"]),
    ({"strings.gauges": 0.5}, "strings.gauges", ["0.5 is not a list", "from bass to treble"]),
    (
        {"strings.gauges": [*GAUGES, "0.01 ft"]},
        "strings.gauges[5]",
        ['"0.01 ft"', "only mm and in"],
    ),
    ({"strings.gauges": [*GAUGES, 52]}, "strings.gauges[5]", ["52 mm", "0.1 mm to 5 mm"]),
    ({"strings.gauges": OUT}, "strings.nut_spacing", ['"even gaps" needs', "strings.gauges"]),
    ({"strings.nut_spacing": "even"}, "strings.nut_spacing", ['"even"', '"even centres"', "gaps"]),
    ({"strings.nut_edge_bass": -1}, "strings.nut_edge_bass", ["-1 mm", "0.5 mm to 20 mm"]),
    (
        {"strings.nut_edge_bass": 20, "strings.nut_edge_treble": 20},
        "strings.nut_edge_bass",
        ["leaves 2.86 mm for 6 strings", "more than 3.57 mm"],
    ),
    (
        {"strings.number": 12, "strings.gauges": [3.0] * 12, "strings.bridge_spread": 30},
        "strings.bridge_spread",
        ["30 mm", "12 strings of these diameters", "33 mm"],
    ),
    ({"strings.bridge_spread": OUT}, "strings.bridge_spread", ["missing", "10 mm to 200 mm"]),
    ({"action.bass": 0}, "action.bass", ["0 mm", "0.2 mm to 12 mm"]),
    ({"action.relief": "1/0 in"}, "action.relief", ["divides by zero"]),
    ({"action.nut_over": "fret"}, "action.nut_over", ['"fret"', '"1st fret"']),
    ({"bridge.height_highest": 20}, "bridge.height_highest", ["less than bridge.height_lowest"]),
    ({"bridge.height": 31}, "bridge.height", ["31 mm", "21 mm to 29 mm"]),
    ({"bridge.height_lowest": OUT}, "bridge.height_lowest", ["missing", "0 mm to 80 mm"]),
    ({"joint.at": "fret 17"}, "joint.at", ["397.14 mm", "before the heel end at 380 mm"]),
    ({"joint.at": "nut"}, "joint.at", ["0 mm from the nut", "quarter of the scale"]),
    (
        # 637.5 - 585 mm from edge to saddle; 0 - 60 mm from glue face to the bridge's lowest
        LOW_BRIDGE,
        "joint.height",
        ["60 mm below the neck's glue face", "52.5 mm", "no neck angle reaches that"],
    ),
    (
        {"joint": OUT, "neck.heel_end": 150.0, "neck.stations[1].at": 140.0, "neck.truss_rod": OUT},
        "action.relief",
        ["0.2 mm", "150 mm", "a quarter of the scale, 158.75 mm"],
    ),
    ({"joint.height": OUT}, "joint", ["neither angle nor height"]),
    ({"joint.angle": 45}, "joint.angle", ["45 is not allowed", "-10 to 20"]),
    ({"action": OUT}, "joint", ["needs the table [action]"]),
    ({"bridge": OUT}, "joint", ["needs the table [bridge]"]),
    ({"finish.films[0].coats": OUT}, "finish.films[0]", ["only wet, solids given", "coats"]),
    ({"finish.films[0].coats": 2.5}, "finish.films[0].coats", ["2.5 is not a whole number"]),
    ({"finish.films[0].thickness": 0.1}, "finish.films[0].thickness", ["together with coats"]),
    ({"finish.films[0].solids": 30}, "finish.films[0].solids", ["30 is not allowed", "0.01 to 1"]),
    ({"finish.films[0].dry": 0.02}, "finish.films[0]", ["only coats, dry, wet, solids given"]),
    (
        {"finish.films[0].on": ["neck back", "pocket walls"]},
        "finish.films[0].on",
        ['"pocket walls" is masked', "one of the two"],
    ),
    ({"finish.films[0].on": ["back"]}, "finish.films[0].on[0]", ['"back"', '"neck back"']),
    ({"finish.masked": "all"}, "finish.masked", ['"all" is not a list']),
    ({"finish.colour": "red"}, "finish.colour", ["unknown key", "films, masked"]),
    ({"finish.films": 0.1}, "finish.films", ["0.1 is not a list of tables", "[[finish.films]]"]),
]


@pytest.mark.parametrize(
    ("changes", "key", "words"), ONE_SENTENCE, ids=[f"{c}"[:60] for c, _, _ in ONE_SENTENCE]
)
def test_a_wrong_value_is_one_sentence_that_begins_with_its_key(
    changes: dict[str, Any], key: str, words: list[str]
) -> None:
    with pytest.raises(DesignError) as caught:
        read_design(heron_with(changes))
    (problem,) = caught.value.problems
    assert problem.startswith(f"{key}: ")
    for word in words:
        assert word in problem
    assert "\n" not in problem


def test_a_face_has_one_film() -> None:
    films = [{"on": ["neck back"], "thickness": 0.1}, {"on": ["neck back"], "thickness": 0.2}]
    with pytest.raises(DesignError) as caught:
        read_design(heron_with({"finish": {"films": films}}))
    assert caught.value.problems == (
        'finish.films[1].on: "neck back" has its film from finish.films[0]; a face has one film',
    )


def test_two_films_for_all_the_rest_contradict() -> None:
    with pytest.raises(DesignError) as caught:
        read_design(heron_with({"finish": {"films": [{"thickness": 0.1}, {"thickness": 0.2}]}}))
    assert "every other face has its film from finish.films[0]" in str(caught.value)


def test_a_finish_that_leaves_no_wood_under_the_channel_is_said() -> None:
    # board 6, channel 9: at 15.2 mm the wood is 0.2 mm, and 0.3 mm of film takes more
    thin = {"neck.stations[0].thickness": 15.2, "finish": {"films": [{"thickness": 0.3}]}}
    with pytest.raises(DesignError) as caught:
        read_design(heron_with(thin))
    (problem,) = caught.value.problems
    assert problem.startswith("neck.stations[0].thickness: 15.2 mm")
    assert "6 mm + 9 mm + 0.6 mm" in problem


def test_a_bridge_out_of_the_neck_angles_reach_is_said() -> None:
    wild = {"joint.height": -40, "bridge.height_highest": 80, "bridge.top_height": 80}
    far = {"scale_length": 470.0, "bridge.height_lowest": 79}
    with pytest.raises(DesignError) as caught:
        read_design(heron_with({**wild, **far, "joint.at": 375.0, "fretboard.frets": 16}))
    assert any("no neck angle reaches that" in p for p in caught.value.problems)


def test_frets_are_needed_to_measure_over_the_first() -> None:
    none = {
        "fretboard": {"thickness": 6.0},
        "action.nut_over": "1st fret",
    }
    with pytest.raises(DesignError) as caught:
        read_design(heron_with(none))
    said = caught.value.problems
    assert any(problem.startswith('action.nut_over: "1st fret" needs frets') for problem in said)


def test_fretless_boards_have_no_frets_to_stand_over_them() -> None:
    with pytest.raises(DesignError) as caught:
        read_design(heron_with({"fretboard": {"thickness": 6.0}}))
    (problem,) = caught.value.problems
    assert problem.startswith("action.fret_height: 1.1 mm")
    assert "fretboard.frets" in problem


def test_a_file_without_any_of_it_stays_as_it_was() -> None:
    wren = load(EXAMPLES / "wren.toml")
    assert (wren.action, wren.bridge, wren.joint, wren.finish) == (None,) * 4


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("action.bass", 2.5),
        ("joint.height", 11.0),
        ("finish.films[0].coats", 6),
        ("bridge.height", 27.0),
        ("strings.gauges", tuple(inch * 25.4 for inch in (0.05, 0.04, 0.03, 0.02, 0.015, 0.01))),
        ("finish.masked", ("fretboard top",)),
    ],
)
def test_a_changed_value_is_saved_and_read_back(key: str, value: Any) -> None:
    text = HERON.read_text(encoding="utf-8")
    changed = with_values(parse(text), {key: value})
    written = rewrite(text, changed)
    assert parse(written) == changed
    assert "# Lacquer on everything but the fretboard" in written
    kept = set(text.splitlines()) & set(written.splitlines())
    assert len(kept) >= len(set(text.splitlines())) - 1  # but for the line of that key


def test_what_a_builder_turns_while_looking_are_dials() -> None:
    keys = {dial.key for dial in dials(load(HERON))}
    assert {
        "strings.nut_edge_bass",
        "strings.bridge_spread",
        "action.bass",
        "action.relief",
        "bridge.compensation",
        "bridge.top_height",
        "joint.height",
    } <= keys
    groups = {dial.group for dial in dials(load(EXAMPLES / "plover.toml"))}
    assert "finish film 1" in groups
