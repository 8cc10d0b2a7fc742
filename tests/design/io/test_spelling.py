"""A key is suggested for a misspelt one only where it is near."""

import difflib
import random
import string

import pytest

from carve.design import read_design
from carve.design.io.reference import keys
from carve.design.io.spelling import nearest_word, slips
from carve.design.schema.design import Design
from carve.errors import DesignError

KNOWN = sorted({key.replace("[]", "").split(".")[-1] for key, _ in keys(Design)})


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [  # the first two are the textbooks' own example of the distance, the third is Damerau's slip
        ("kitten", "sitting", 3),
        ("saturday", "sunday", 3),
        ("widht", "width", 1),
        ("ca", "abc", 3),
        ("", "abc", 3),
        ("abc", "abc", 0),
    ],
)
def test_slips_are_counted_as_the_textbooks_count_them(one: str, other: str, apart: int) -> None:
    assert slips(one, other) == apart
    assert slips(other, one) == apart


def test_one_slip_in_a_key_finds_it_again() -> None:
    dice = random.Random(7)
    for key in KNOWN:
        if len(key) < 6:
            continue
        at = dice.randrange(1, len(key) - 1)
        turned = key[: at - 1] + key[at] + key[at - 1] + key[at + 1 :]
        for slip in (key[:at] + key[at + 1 :], f"{key[:at]}q{key[at:]}", turned):
            if slip not in KNOWN:
                found = nearest_word(slip, KNOWN)
                assert found is not None, slip
                assert slips(slip, found) <= 1


def test_made_up_words_find_nothing_that_is_far() -> None:
    """What is near is judged by another measure than ours: difflib's share of letters in common."""
    dice = random.Random(11)
    syllables = [
        "ba",
        "ko",
        "ri",
        "sel",
        "tun",
        "mar",
        "ne",
        "wid",
        "the",
        "fin",
        "ish",
        "bo",
        "dy",
    ]
    asked = ["".join(dice.choices(syllables, k=dice.randint(1, 4))) for _ in range(3000)]
    asked += [
        "".join(dice.choices(string.ascii_lowercase, k=dice.randint(1, 12))) for _ in range(3000)
    ]
    for word in asked:
        found = nearest_word(word, KNOWN)
        if found is not None and not found.startswith(f"{word}_"):
            assert difflib.SequenceMatcher(None, word, found).ratio() > 0.6, (word, found)
            assert slips(word, found) * 3 < len(word)


@pytest.mark.parametrize(
    "word", ["tailpiece", "colour", "wide", "tuner", "a", "at", "x", "inlay", "board"]
)
def test_a_word_of_the_trade_that_is_no_key_brings_no_suggestion(word: str) -> None:
    with pytest.raises(DesignError) as caught:
        read_design({word: 1, "limits": {word: 1}, "neck": {word: 1}, "joint": {word: 1}})
    assert not [line for line in caught.value.problems if "did you mean" in line]
