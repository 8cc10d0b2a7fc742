"""Lengths and places as builders write them.

Outside values: an inch is 25.4 mm exactly (international inch, 1959; SVG and CSS fix the
same, 1 in = 25.4 mm = 96 px). Frets: equal temperament, any text on musical acoustics.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carve.design.values.units import (
    MM_PER_INCH,
    Place,
    fret_distance,
    read_length,
    read_length_argument,
    read_place,
    show_length,
    show_no_less,
    spelled_unit,
)
from carve.errors import DesignError

LENGTHS = st.floats(0, 2000)


def test_an_inch_is_25_4_mm_exactly() -> None:
    # international inch, 1959; CSS Values and Units, absolute lengths
    assert read_length("1 in", "mm") == 25.4
    assert MM_PER_INCH == 25.4


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        (648, 648.0),
        (628.65, 628.65),
        ("648", 648.0),
        ("648 mm", 648.0),
        ("648mm", 648.0),
        ("  648  mm  ", 648.0),
        ("648 MM", 648.0),
        ("648 millimetres", 648.0),
        (".5 mm", 0.5),
        ("5. mm", 5.0),
        ("25.5 in", 647.7),
        ("25.5 inches", 647.7),
        ('25.5"', 647.7),
        ("25.5″", 647.7),  # U+2033, the double prime that typesetting programs put in
        ("25 1/2 in", 647.7),
        ("25-1/2 in", 647.7),
        ("25 - 1/2 in", 647.7),
        ('25 1/2"', 647.7),
        ("25 1/2″", 647.7),
        ("1 11/16 in", 42.8625),
        ("1-11/16 in", 42.8625),
        ("11/16 in", 17.4625),
        ("11 / 16 in", 17.4625),
        ("3/4 mm", 0.75),
        ("+3 mm", 3.0),
        ("-3 mm", -3.0),
        ("−3 mm", -3.0),  # U+2212, a true minus sign
        ("-1/2 in", -12.7),
        ("-1 1/2 in", -38.1),
    ],
)
def test_a_length_reads_as_a_builder_means_it(written: object, mm: float) -> None:
    # the mm column by hand, with 1 in = 25.4 mm
    assert read_length(written, "mm") == pytest.approx(mm, rel=1e-15)


def test_a_bare_number_is_in_the_unit_of_the_file() -> None:
    assert read_length(25.5, "in") == pytest.approx(647.7, rel=1e-15)
    assert read_length("25 1/2", "in") == pytest.approx(647.7, rel=1e-15)
    assert read_length("25.5 mm", "in") == 25.5


def test_a_hyphen_inside_a_fraction_is_no_minus() -> None:
    assert read_length("1-11/16 in", "mm") == read_length("1 11/16 in", "mm") > 0


@pytest.mark.parametrize(
    ("written", "complaint"),
    [
        ("21 ft", 'has the unit "ft"; only mm and in'),
        ("21 cm", 'has the unit "cm"; only mm and in'),
        ("21 mm mm", 'has the unit "mm mm"; only mm and in'),
        ("21,5 mm", "is not a length; write a number"),
        ("1 11/16/2 in", "is not a length"),
        ("mm", "is not a length"),
        ("", "is not a length"),
        ("nan", "is not a length"),
        ("inf mm", "is not a length"),
        ("1/0 in", "divides by zero"),
        ("3 1/0 in", "divides by zero"),
        ("1 " + "9" * 400 + "/2 in", "is not a length"),
        ("9" * 400 + " mm", "is not a finite length"),
        (10**400, "is not a finite length"),
        (math.nan, "nan is not a finite length"),
        (math.inf, "inf is not a finite length"),
        (-math.inf, "-inf is not a finite length"),
        (True, "true is not a length"),
        (False, "false is not a length"),
        (None, "is not a length"),
        ([21], "[21] is not a length"),
        ({"mm": 21}, "{ mm = 21 } is not a length"),
    ],
)
def test_what_is_no_length_is_said_in_one_sentence(written: object, complaint: str) -> None:
    with pytest.raises(ValueError, match=r"length|unit|zero") as caught:
        read_length(written, "mm")
    assert complaint in str(caught.value)
    assert "\n" not in str(caught.value)


@given(LENGTHS, st.sampled_from(["mm", "in"]))
def test_a_length_shown_reads_back_as_far_as_it_was_rounded(mm: float, unit: str) -> None:
    shown = show_length(mm, unit)  # type: ignore[arg-type]
    half_digit = 0.005 if unit == "mm" else 0.0005 * 25.4
    assert read_length(shown, "mm") == pytest.approx(mm, abs=half_digit * (1 + 1e-9))


@given(LENGTHS, st.sampled_from(["mm", "in"]))
def test_a_length_that_must_be_reached_is_never_told_shorter(mm: float, unit: str) -> None:
    told = read_length(show_no_less(mm, unit), "mm")  # type: ignore[arg-type]
    whole_digit = 0.01 if unit == "mm" else 0.001 * 25.4
    assert mm - 1e-4 * whole_digit <= told <= mm + whole_digit * (1 + 1e-9)


@given(st.integers(1, 64 * 60))
def test_whole_64ths_of_an_inch_show_as_a_fraction_in_lowest_terms(count: int) -> None:
    shown = show_length(count * 25.4 / 64, "in")
    assert "." not in shown
    assert read_length(shown, "mm") == pytest.approx(count * 25.4 / 64, rel=1e-12)
    if "/" in shown:
        above, below = shown.removesuffix(" in").split()[-1].split("/")
        assert math.gcd(int(above), int(below)) == 1


@pytest.mark.parametrize(
    ("mm", "unit", "shown"),
    [
        (42.8625, "in", "1 11/16 in"),  # the trade's usual nut width; 1 11/16 x 25.4
        (25.4, "in", "1 in"),
        (12.7, "in", "1/2 in"),
        (-12.7, "in", "-1/2 in"),
        (20.5, "in", "0.807 in"),
        (0.0, "in", "0 in"),
        (42.8625, "mm", "42.86 mm"),
        (21.0, "mm", "21 mm"),
        (0.0125, "mm", "0.0125 mm"),
        (-0.00001, "mm", "0 mm"),
        (math.inf, "mm", "none"),
    ],
)
def test_a_length_shows_as_a_builder_reads_it_off(mm: float, unit: str, shown: str) -> None:
    assert show_length(mm, unit) == shown  # type: ignore[arg-type]


def test_a_text_tells_which_unit_it_was_written_in() -> None:
    assert spelled_unit('1 11/16"') == "in"
    assert spelled_unit("12 mm") == "mm"
    assert spelled_unit("12") is None
    assert spelled_unit("fret 12") is None


# Frets


@pytest.mark.parametrize(("fret", "mm"), [(1, 36.4817), (5, 163.0502), (12, 325.0), (22, 467.5999)])
def test_frets_of_a_650_mm_scale_stand_where_the_formula_puts_them(fret: int, mm: float) -> None:
    # L (1 - 2^(-n/12)), equal temperament; derived: worked out by hand to four decimals
    assert fret_distance(fret, 650) == pytest.approx(mm, abs=0.00005)


@pytest.mark.parametrize(("fret", "inches"), [(1, 1.431), (2, 2.782)])
def test_frets_of_a_25_1_2_in_scale_match_a_published_table(fret: int, inches: float) -> None:
    # published fret table for 25.5 in, three decimals
    scale = read_length("25 1/2 in", "mm")
    assert fret_distance(fret, scale) / 25.4 == pytest.approx(inches, abs=0.0005)


@given(st.floats(200, 1300))
def test_octaves_halve_the_string(scale: float) -> None:
    # physics of the string: an octave is half the length; two octaves leave a quarter
    assert fret_distance(0, scale) == 0
    assert fret_distance(12, scale) == pytest.approx(scale / 2, rel=1e-14)
    assert fret_distance(24, scale) == pytest.approx(3 * scale / 4, rel=1e-14)


@given(st.floats(200, 1300), st.floats(0, 36))
def test_each_fret_takes_the_same_share_of_what_is_left(scale: float, fret: float) -> None:
    # equal temperament: what is left to the bridge shrinks by 2^(1/12); L/17.817153745 a step
    left = scale - fret_distance(fret, scale)
    step = fret_distance(fret + 1, scale) - fret_distance(fret, scale)
    assert step == pytest.approx(left / 17.817153745, rel=1e-9)


def test_the_rule_of_18_does_not_pass_as_equal_temperament() -> None:
    # the old rule takes 1/18 of what is left each time; it puts the 12th at 0.496364 L
    by_rule_of_18 = 650 * (1 - (17 / 18) ** 12)
    assert by_rule_of_18 == pytest.approx(0.496364 * 650, abs=0.001)
    assert abs(fret_distance(12, 650) - by_rule_of_18) > 2  # mm: anyone hears that
    assert fret_distance(12, 650) != pytest.approx(by_rule_of_18, rel=1e-3)


# Places


@pytest.mark.parametrize(
    ("written", "place"),
    [
        ("fret 12", Place(fret=12)),
        ("Fret 12", Place(fret=12)),
        ("  fret   12 ", Place(fret=12)),
        ("fret 7.5", Place(fret=7.5)),
        ("fret 0", Place(fret=0)),
        ("nut", Place(fret=0)),
        ("NUT", Place(fret=0)),
        (240, Place(length=240)),
        ("240 mm", Place(length=240)),
        ("-3 mm", Place(length=-3)),  # read here, refused by whatever key it stands at
    ],
)
def test_a_place_is_a_fret_the_nut_or_a_length(written: object, place: Place) -> None:
    assert read_place(written, "mm") == place


def test_a_bare_place_is_in_the_unit_of_the_file() -> None:
    assert read_place(10, "in") == Place(length=254)


@pytest.mark.parametrize(
    ("written", "complaint"),
    [
        ("fret", "is not a fret"),
        ("fret -1", "is not a fret"),
        ("fret twelve", "is not a fret"),
        ("fret 12 mm", "is not a fret"),
        ("bridge", "is not a place"),
        ("12 ft", "unit"),
        (True, "true is not a place"),
        (math.nan, "nan is not a finite"),
        ([12], "[12] is not a place"),
    ],
)
def test_what_is_no_place_is_said_with_how_to_write_one(written: object, complaint: str) -> None:
    with pytest.raises(ValueError, match="fret 12") as caught:
        read_place(written, "mm")
    assert complaint in str(caught.value)


@given(st.one_of(st.floats(0, 48).map(lambda n: Place(fret=round(n, 2))), st.just(Place(fret=0))))
def test_a_fret_shown_reads_back_as_the_same_fret(place: Place) -> None:
    assert read_place(place.show("mm"), "mm") == place


# Lengths on the command line


def test_an_argument_is_a_length_in_mm_unless_it_says_otherwise() -> None:
    assert read_length_argument("--chord-error", "0.02") == 0.02
    assert read_length_argument("--chord-error", "0.001 in") == pytest.approx(0.0254)


@pytest.mark.parametrize("text", ["0", "-0.02", "2 mm", "1 in", "nan", "inf", "fine", "", "1 ft"])
def test_an_argument_out_of_range_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(DesignError) as caught:
        read_length_argument("--chord-error", text)
    (sentence,) = caught.value.problems
    assert sentence.startswith("--chord-error: ")
    assert f'"{text}"' in sentence


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("mm", [0.005, 0.01, 0.02, 0.09])
def test_what_a_check_can_find_missing_is_never_told_as_nothing(mm, unit):
    shown = float(show_length(mm, unit).split(" ")[0])
    assert shown * (25.4 if unit == "in" else 1.0) == pytest.approx(mm, rel=0.3)
