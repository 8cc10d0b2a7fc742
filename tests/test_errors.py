"""A builder is told some of every kind of trouble, and how much more there is."""

import tomllib
from pathlib import Path

import pytest

from carve.design import parse, read_design
from carve.errors import DesignError

WREN = Path(__file__).parents[1] / "examples" / "wren.toml"


def test_two_hundred_wrong_entries_are_ten_sentences_and_a_count() -> None:
    wrong = {"neck": {**tomllib.loads(WREN.read_text(encoding="utf-8"))["neck"]}}
    wrong["neck"]["stations"] = [{"at": "nut", "thickness": 1, "shape": "C"}] * 200
    data = {**tomllib.loads(WREN.read_text(encoding="utf-8")), **wrong}
    with pytest.raises(DesignError) as caught:
        read_design(data)
    lines = str(caught.value).splitlines()
    assert len(lines) == 11
    assert lines[-1] == "and 190 more"
    assert lines[0].startswith("neck.stations[0].thickness: 1 mm is not allowed")


def test_many_of_one_kind_do_not_hide_another() -> None:
    problems = [f"neck.stations[{n}].at: wrong" for n in range(300)] + ["title: wrong"]
    lines = str(DesignError(problems)).splitlines()
    assert "title: wrong" in lines
    assert lines[-1] == f"and {301 - (len(lines) - 1)} more"
    assert lines[0] == problems[0]


def test_a_few_are_all_told_in_their_order() -> None:
    problems = [f"key{n}: wrong" for n in "abcdefghijkl"]
    assert str(DesignError(problems)).splitlines() == problems


def test_five_thousand_unknown_keys_take_no_time_to_tell() -> None:
    text = "\n".join(f"key{n} = 1" for n in range(50_000))
    with pytest.raises(DesignError) as caught:
        parse(text)
    assert len(str(caught.value).splitlines()) <= 13
    assert "more" in str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (".".join(["a"] * 400_000) + " = 1", "more than 32 steps"),
        ('"a".' * 100 + "b = 1", "more than 32 steps"),
        ("a = [" + "1," * 6000 + "]", "a: 6000 values are not allowed; at most 5000"),
        ("[[neck.stations]]\n" * 300, "neck.stations: 300 tables are not allowed; at most 200"),
        ("#" * 1_100_000, "more than 1 MB"),
        ("a = 1\na = 2\n", 'line 2, column 6, in "a = 2": this key is there a second time'),
        ("[a]\n[a]", "this table is there a second time"),
        ("a = 'b", "at its end, a quote is opened and not closed"),
        ("a = [1", "at its end, a bracket is opened and not closed"),
        ("a b", "there must be an equals sign and a value"),
    ],
)
def test_a_text_that_is_no_design_is_told_in_a_sentence_of_our_own(text: str, said: str) -> None:
    with pytest.raises(DesignError) as caught:
        parse(text)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_list_of_wrong_entries_is_not_called_too_short() -> None:
    data = tomllib.loads(WREN.read_text(encoding="utf-8"))
    data["neck"]["stations"] = [{"at": "nut", "thickness": 1, "shape": "C"}] * 3
    with pytest.raises(DesignError) as caught:
        read_design(data)
    assert not [line for line in caught.value.problems if "too few" in line]
