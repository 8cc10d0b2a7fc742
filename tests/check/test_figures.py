"""What a builder reads off a finding and compares by hand is what its verdict says."""

import pytest
from figures_by_hand import kept_by_hand
from hypothesis import example, given, settings
from hypothesis import strategies as st

from carve.check.finding import Finding, Verdict, show_limit, show_value
from carve.check.judge import Judged, at_least, at_most, within
from carve.check.tolerances import MEASURED, ROUNDING, WOOD

ROUND = st.integers(-4000, 4000).map(lambda hundredths: hundredths / 100)  # as people write them
FIGURES = st.one_of(st.floats(-500, 500), ROUND, ROUND.map(lambda inches: 25.4 * inches))
LIMITS = FIGURES.map(abs)
# no check has less: tests/check/test_tolerances.py
TOLERANCES = st.one_of(st.sampled_from([ROUNDING, MEASURED, WOOD]), st.floats(ROUNDING, 0.02))
STEPS = st.sampled_from([0.0, 1.0, -1.0, 1 + 1e-9, 1 - 1e-9, 2.0, 1e-3])
NEAR = st.one_of(
    st.sampled_from([0.0, 1e-15, 1e-12, 1e-9, 1e-6, 1e-4, 5e-4, 0.004, 0.005, 0.05]),
    st.floats(0, 0.02),
)
UNITS = st.sampled_from(["mm", "in"])
QUANTITIES = st.sampled_from(["length", "angle", "volume"])


def said(judged: Judged, quantity="length") -> Finding:
    return judged.finding(
        part="neck", name="x", check="x", place="", source="", quantity=quantity, advice="x"
    )


def agrees(judged: Judged, unit, quantity="length") -> None:
    for_builder = said(judged, quantity)
    assert kept_by_hand(for_builder, unit) == judged.good, (
        show_value(for_builder, unit),
        show_limit(for_builder, unit),
    )


@settings(max_examples=1500)
@given(LIMITS, TOLERANCES, STEPS, NEAR, UNITS, QUANTITIES, FIGURES)
@example(1.5, ROUNDING, 1.0, 1e-4, "mm", "length", 0.0)  # 1.4999 mm, at least 1.5 mm
@example(0.05, ROUNDING, 1.0, 1e-3, "mm", "length", 0.0)  # 0.049 mm against 0.05 mm
@example(3.0, WOOD, 1.0, 0.0, "mm", "length", 0.0)  # just kept by its tolerance
def test_figures_that_nearly_touch_say_what_the_verdict_says(
    limit, tolerance, steps, near, unit, quantity, target
):
    off = steps * (near or tolerance)
    agrees(at_least(limit - off, limit, tolerance=tolerance), unit, quantity)
    agrees(at_most(limit + off, limit, tolerance=tolerance), unit, quantity)
    agrees(within(target + limit + off, target, limit, tolerance=tolerance), unit, quantity)
    agrees(within(target - limit - off, target, limit, tolerance=tolerance), unit, quantity)


@settings(max_examples=500)
@given(FIGURES, FIGURES, TOLERANCES, UNITS, QUANTITIES, FIGURES)
def test_any_figures_say_what_the_verdict_says(value, limit, tolerance, unit, quantity, target):
    agrees(at_least(value, limit, tolerance=tolerance), unit, quantity)
    agrees(at_most(value, limit, tolerance=tolerance), unit, quantity)
    agrees(within(value, target, abs(limit), tolerance=tolerance), unit, quantity)


@given(st.integers(0, 99), st.integers(0, 99), UNITS)
def test_counts_are_told_whole(value, limit, unit):
    judged = at_most(value, limit)
    agrees(judged, unit, "count")
    assert show_value(said(judged, "count"), unit) == str(value)


@settings(max_examples=300)
@given(LIMITS, st.floats(0, 5), st.floats(-1, 6), UNITS)
def test_a_warning_shows_the_limit_that_is_missed(limit, more, over, unit):
    judged = at_least(limit + over, limit, warning=limit + more, tolerance=WOOD)
    agrees(judged, unit)
    warned = at_most(limit + over, limit, missed=Verdict.WARNING, tolerance=WOOD)
    agrees(warned, unit)


@pytest.mark.parametrize(
    ("judged", "unit", "value", "limit"),
    [
        (at_least(3.25, 3.0), "mm", "3.25 mm", "at least 3 mm"),
        (at_least(1.4999, 1.5), "mm", "1.4999 mm", "at least 1.5 mm"),
        (at_least(2.994, 3.0, tolerance=0.005), "mm", "2.99 mm", "at least 3 mm"),
        (at_least(2.996, 3.0, tolerance=0.005), "mm", "3 mm", "at least 3 mm"),
        (
            at_least(2.9949, 3.0, tolerance=0.0052),
            "mm",
            "2.9949 mm",
            "at least 3 mm, give or take 0.0052 mm",
        ),
        (at_most(0.0502, 0.05), "mm", "0.0502 mm", "at most 0.05 mm"),
        (within(23.1001, 23.0, 0.1), "mm", "23.1001 mm", "23 mm ± 0.1 mm"),
        (at_least(25.39, 25.4), "in", "0.9996 in", "at least 1 in"),
        (at_least(38.1, 38.1), "in", "1 1/2 in", "at least 1 1/2 in"),
    ],
)
def test_no_more_digits_than_it_takes(judged, unit, value, limit):
    finding = said(judged)
    assert (show_value(finding, unit), show_limit(finding, unit)) == (value, limit)
