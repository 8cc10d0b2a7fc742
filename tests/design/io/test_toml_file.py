"""A design written back into its file: the builder's own text, with other values in it."""

import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carve.design import Design, load, parse, read_text, rewrite, value_at, with_values
from carve.design.io.toml_file import changed_keys
from carve.design.values.profile import Dials, Profile
from carve.design.values.units import Place
from carve.errors import CarveError, DesignError

WREN = Path(__file__).parents[3] / "examples" / "wren.toml"
TEXT = WREN.read_text(encoding="utf-8")

# A file as a builder might keep it: own order, odd spacing, both units, notes everywhere.
NOTED = """\
# my second one,   for the shop wall
units  =  "in"    # all of it in inches
scale_length = 24.75
title = 'Wren, "short"'

[limits]   # before the rest, why not
wood_under_channel_good = 0.16

[fretboard]
thickness = "6 mm"  # bought planed

[neck]
heel_width = 2.1875
nut_width = "1 11/16"   # no unit: the file's
heel_end = '16 1/2"' # from the nut
stations = [
    { at = "fret 1", thickness = 0.82, shape = "C" },  # as the old one
    { at = 10, thickness = '0.875"', shape = { bass = "C", treble = "D" } },
]
truss_rod.start = "nut"
truss_rod.end = "15 in"
truss_rod.width = "6.0 mm"   # snug
truss_rod.depth = "3/8 in"

[neck.blank]
length = 28  # cut long
width = 2.75
thickness = 1
"""


def lines_that_differ(before: str, after: str) -> list[tuple[str, str]]:
    old, new = before.splitlines(keepends=True), after.splitlines(keepends=True)
    assert len(old) == len(new)
    return [(a, b) for a, b in zip(old, new, strict=True) if a != b]


@pytest.mark.parametrize("text", [TEXT, NOTED, TEXT.replace("\n", "\r\n"), "\ufeff" + TEXT])
def test_a_design_that_has_not_changed_leaves_the_file_as_it_is(text: str) -> None:
    assert rewrite(text, parse(text)) == text


def test_line_ends_and_marks_of_the_file_survive_reading_and_writing(tmp_path: Path) -> None:
    file = tmp_path / "wren.toml"
    file.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    text = read_text(file)
    assert text.encode() == file.read_bytes()
    assert parse(text) == load(WREN)
    written = rewrite(text, with_values(parse(text), {"neck.heel_width": 56.0}))
    assert lines_that_differ(text, written) == [("heel_width = 55.5\r\n", "heel_width = 56.0\r\n")]


@pytest.mark.parametrize(
    ("key", "value", "before", "after"),
    [
        ("neck.stations[1].thickness", 22.35, "thickness = 22.2", "thickness = 22.35"),
        ("neck.nut_width", 42.0, '"1 11/16 in"', '"1.65354 in"'),
        ("neck.nut_width", 44.45, '"1 11/16 in"', '"1.75 in"'),
        ("scale_length", 647.7, '"24 3/4 in"', '"25.5 in"'),
        ("neck.stations[0].shape", Profile(Dials(0.85, 0.1), Dials(0.85, 0.1)), '"C"', '"D"'),
        (
            "neck.stations[1].shape",
            Profile(Dials(0.6, 0.3), Dials(0.6, 0.3)),
            "{ shoulder = 0.6, keel = 0.25 }",
            "{shoulder = 0.6, keel = 0.3}",
        ),
        ("neck.stations[2].at", Place(fret=13), '"fret 12"', '"fret 13"'),
        ("neck.truss_rod.start", Place(length=3.5), '"nut"', '"3.5 mm"'),
        ("title", "Robin", '"Wren"', '"Robin"'),
    ],
)
def test_one_changed_value_changes_its_line_and_no_other(
    key: str, value: Any, before: str, after: str
) -> None:
    design = with_values(parse(TEXT), {key: value})
    ((old, new),) = lines_that_differ(TEXT, rewrite(TEXT, design))
    assert old.replace(before, after) == new != old


@pytest.mark.parametrize(
    ("key", "value", "line"),
    [
        ("neck.heel_width", 55.88, "heel_width = 2.2\n"),
        ("neck.nut_width", 44.45, 'nut_width = "1.75 in"   # no unit: the file\'s\n'),
        ("neck.heel_end", Place(length=406.4), 'heel_end = "16 in" # from the nut\n'),
        ("neck.truss_rod.width", 6.35, 'truss_rod.width = "6.35 mm"   # snug\n'),
        ("neck.truss_rod.depth", 9.0, 'truss_rod.depth = "0.35433 in"\n'),
        ("fretboard.thickness", 5.5, 'thickness = "5.5 mm"  # bought planed\n'),
        ("neck.blank.length", 762.0, "length = 30.0  # cut long\n"),
        ("limits.wood_under_channel_good", 5.08, "wood_under_channel_good = 0.2\n"),
        (
            "neck.stations[0].thickness",
            21.59,
            '    { at = "fret 1", thickness = 0.85, shape = "C" },  # as the old one\n',
        ),
        (
            "neck.stations[1].at",
            Place(length=228.6),
            '    { at = 9.0, thickness = \'0.875"\', shape = { bass = "C", treble = "D" } },\n',
        ),
    ],
)
def test_a_length_keeps_the_unit_and_the_comment_it_was_written_with(
    key: str, value: Any, line: str
) -> None:
    design = with_values(parse(NOTED), {key: value})
    ((_, new),) = lines_that_differ(NOTED, rewrite(NOTED, design))
    assert new == line


def test_a_key_that_the_file_left_to_its_default_is_added() -> None:
    design = with_values(parse(TEXT), {"limits.profile": 0.05, "neck.truss_rod.depth_middle": 10.0})
    written = rewrite(TEXT, design)
    assert parse(written) == design
    kept = [line for line in TEXT.splitlines() if line not in written.splitlines()]
    assert kept == []


def test_a_table_that_the_file_left_out_is_added() -> None:
    without = TEXT[: TEXT.index("[limits]")]
    design = with_values(parse(without), {"limits.wood_beside_channel": 4.5})
    written = rewrite(without, design)
    assert written.startswith(without)
    assert parse(written) == design


def test_a_key_that_the_design_no_longer_has_is_taken_out() -> None:
    pocket = "\n[neck.truss_rod.access]\nat = 'heel'\nlength = 20\nwidth = 10\ndepth = 11\n"
    written = rewrite(TEXT + pocket, parse(TEXT))
    assert parse(written) == parse(TEXT)
    assert "# Wren: a small" in written


def test_tables_out_of_their_order_are_written_where_they_stand() -> None:
    blank = TEXT[TEXT.index("[neck.blank]") : TEXT.index("[limits]")]
    odd = TEXT.replace(blank, "") + "\n" + blank
    design = with_values(parse(odd), {"neck.blank.width": 72.0, "neck.heel_width": 57.0})
    changed = lines_that_differ(odd, rewrite(odd, design))
    assert [new for _, new in changed] == ["heel_width = 57.0\n", "width = 72.0\n"]


def test_a_file_with_other_stations_by_now_is_not_written_over() -> None:
    more = TEXT.replace(
        "[neck.truss_rod]",
        '[[neck.stations]]\nat = "fret 15"\nthickness = 24\nshape = "D"\n\n[neck.truss_rod]',
    )
    with pytest.raises(DesignError, match=r"^neck\.stations: the file now has 4"):
        rewrite(more, parse(TEXT))


def test_a_file_that_is_broken_by_now_is_not_written_over() -> None:
    with pytest.raises(CarveError, match="is not TOML"):
        rewrite(TEXT + "\n[neck", parse(TEXT))


# Any design, any of the two files

SIDES = st.builds(
    lambda shoulder, keel: Dials(round(shoulder, 4), round(keel, 4)),
    st.floats(0, 1),
    st.floats(0, 1),
)
CHANGES: dict[str, st.SearchStrategy[Any]] = {
    "title": st.text("Wren 'é#\"\\=[]", min_size=1, max_size=20),
    "scale_length": st.floats(550, 1300),
    "fretboard.thickness": st.floats(3, 8),  # its slots are 2.8 mm deep
    "neck.nut_width": st.floats(30, 60),
    "neck.heel_width": st.floats(40, 65),
    "neck.stations[0].thickness": st.floats(28, 60),
    "neck.stations[1].thickness": st.floats(28, 60),
    "neck.stations[0].shape": st.builds(Profile, SIDES, SIDES),
    "neck.stations[1].shape": st.builds(Profile, SIDES, SIDES),
    "neck.truss_rod.width": st.floats(1, 14),
    "neck.truss_rod.depth": st.floats(1, 12),
    "neck.truss_rod.depth_heel": st.floats(1, 12),
    "neck.truss_rod.start": st.floats(0, 90).map(lambda x: Place(length=x)),
    "neck.blank.length": st.floats(50, 2000),
    "neck.blank.allowance": st.floats(0, 50),
    "limits.profile": st.floats(0.001, 5),
    "limits.wood_beside_channel": st.floats(0, 60),
}
WRITTEN = 0.0002  # mm; lengths are written to 0.0001 mm or 0.00001 in


@given(st.sampled_from([TEXT, NOTED]), st.fixed_dictionaries({}, optional=CHANGES))
def test_what_is_written_reads_back_as_the_design_it_came_from(
    text: str, changes: dict[str, Any]
) -> None:
    design = with_values(parse(text), changes)
    written = rewrite(text, design)
    again = parse(written)
    for key in changes:
        value, read = value_at(design, key), value_at(again, key)
        if isinstance(value, Place):
            value, read = value.mm(design.scale_length), read.mm(design.scale_length)
        assert read == (pytest.approx(value, abs=WRITTEN) if isinstance(value, float) else value)
    assert_untouched(text, written, changed_keys(parse(text), again))
    assert rewrite(written, again) == written


def assert_untouched(text: str, written: str, changed: list[str]) -> None:
    names = {key.split(".")[-1] for key in changed}
    old = [line for line in text.splitlines() if not any(name in line for name in names)]
    lines = written.splitlines()
    assert [line for line in old if line not in lines] == []
    assert text.count("#") == written.count("#") or "title" in names


def test_a_frozen_design_is_not_changed_by_turning_a_dial() -> None:
    design: Design = parse(TEXT)
    with_values(design, {"neck.heel_width": 57.0})
    assert design == parse(TEXT)


def test_a_dial_that_is_not_there_cannot_be_turned() -> None:
    for key in ("neck.stations[7].thickness", "neck.truss_rod.access.depth", "title.size"):
        with pytest.raises(KeyError, match=re.escape(key)):
            with_values(parse(TEXT), {key: 21.0})
