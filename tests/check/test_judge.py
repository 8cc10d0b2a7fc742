"""How a value stands to its limit, by what the senses of a limit mean."""

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from carve.check.finding import Finding, Verdict
from carve.check.judge import Judged, at_least, at_most, first_missed, within
from carve.check.tolerances import ROUNDING

FIGURES = st.floats(-1e4, 1e4)
GOOD, WARNING, FAILED = Verdict


def said(judged: Judged, advice: str = "make it thicker") -> Finding:
    return judged.finding(
        part="neck", name="wood", check="wood", place="here", source="ours", advice=advice
    )


@given(FIGURES, FIGURES)
def test_a_value_is_good_where_it_stands_to_its_limit_as_the_sense_says(value, limit):
    assert at_least(value, limit).good == (value >= limit)
    assert at_most(value, limit).good == (value <= limit)
    assert within(value, 0.0, abs(limit)).good == (abs(value) <= abs(limit))


@given(FIGURES, FIGURES, st.floats(0, 100))
def test_a_value_between_two_limits_is_warned_of_and_told_the_one_it_missed(value, limit, more):
    judged = at_least(value, limit, warning=limit + more)
    verdict = FAILED if limit - value > 0 else WARNING if limit + more - value > 0 else GOOD
    assert judged.verdict is verdict
    assert judged.limit == (limit + more if verdict is WARNING else limit)
    assert judged.missing == judged.limit - value
    assert at_most(-value, -limit, warning=-limit - more).verdict is verdict  # its mirror


@given(FIGURES, FIGURES, FIGURES)
def test_what_is_missing_mends_the_value(value, limit, target):
    for judged in (at_least(value, limit), at_most(value, limit), within(value, target, limit)):
        assert (judged.missing > 0) == (not judged.good)
    assert at_least(value + at_least(value, limit).missing, limit, tolerance=1e-8).good
    assert at_most(value - at_most(value, limit).missing, limit, tolerance=1e-8).good


def test_lengths_that_are_the_same_but_for_rounding_keep_the_limit():
    assert not at_least(0.1 + 0.2 - 1e-15, 0.3 + 1e-10).good
    assert at_least(0.3 - 1e-10, 0.3, tolerance=ROUNDING).good
    assert not at_least(0.3 - 1e-8, 0.3, tolerance=ROUNDING).good
    assert at_most(0.3 + 1e-10, 0.3, tolerance=ROUNDING).good
    assert within(1.3 + 1e-10, 1.0, 0.3, tolerance=ROUNDING).good


@pytest.mark.parametrize("judge", [at_least, at_most])
def test_no_number_keeps_no_limit(judge):
    assert judge(math.nan, 1.0).verdict is FAILED
    assert judge(math.nan, 1.0, missed=WARNING).verdict is WARNING
    assert within(math.nan, 0.0, 1.0).verdict is FAILED


def test_what_is_told_rounded_is_judged_as_it_is():
    judged = at_most(0.05 + 4e-10, 0.05).rounded(9)
    assert judged.verdict is FAILED
    assert judged.value == 0.05


def test_the_first_that_is_missed_is_told_or_the_first_of_all():
    for low, high in product((0.5, 1.5), (2.0, 3.0)):
        judged = [at_least(1.0, low), at_most(2.5, high)]
        missed = [one for one in judged if not one.good]
        assert first_missed(*judged) is (missed or judged)[0]


def test_advice_is_left_out_where_all_is_good():
    assert said(at_least(2.0, 1.0)).advice == ""
    assert said(at_least(1.0, 2.0)).advice == "make it thicker"
    assert said(at_least(1.0, 2.0, missed=WARNING)).advice == "make it thicker"


def test_a_finding_says_what_was_judged():
    judged = within(3.0, 2.5, 0.25)
    finding = judged.finding(
        part="neck",
        name="thickness:stations[1]",
        check="thickness",
        place="",
        source="",
        point=np.float32([1, 2, 3]),
    )
    assert (finding.verdict, finding.value, finding.target, finding.limit, finding.sense) == (
        FAILED,
        3.0,
        2.5,
        0.25,
        "within",
    )
    assert finding.id == "neck.thickness:stations[1]"
    assert finding.point == (1.0, 2.0, 3.0)
    assert all(type(one) is float for one in finding.point)
