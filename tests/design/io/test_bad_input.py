"""What a builder is told when a design is wrong.

Every problem is one sentence on one line. It begins with the key, says the value that
stands there, what is allowed, and in which unit. All problems come at once.
"""

import copy
import datetime
import math
import os
import subprocess
import sys
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carve.cli import main
from carve.design import load, parse, read_design, with_values
from carve.design.io.parse import read_key
from carve.design.values.regular_file import shown_path
from carve.errors import DesignError

WREN = Path(__file__).parents[3] / "examples" / "wren.toml"
LONGEST_LINE = 300  # characters; what fits on a few lines of a screen

LEFT_OUT = ...  # no key has this value, and it reads the same in each worker


def example_with(changes: Mapping[str, Any]) -> dict[str, Any]:
    """The example's tables with other values at some keys, or with keys left out."""
    data = copy.deepcopy(tomllib.loads(WREN.read_text(encoding="utf-8")))
    for key, value in changes.items():
        *way, last = read_key(key)
        table: Any = data
        for step in way:
            table = table[step] if isinstance(step, int) else table.setdefault(step, {})
        if value is LEFT_OUT:
            del table[last]
        else:
            table[last] = value
    return data


def problems_with(changes: Mapping[str, Any]) -> tuple[str, ...]:
    with pytest.raises(DesignError) as caught:
        read_design(example_with(changes))
    return caught.value.problems


THICKNESS = "neck.stations[0].thickness"
SHAPE = "neck.stations[0].shape"
FLOOR_TO_CROWN = {"shoulder": 0.5, "keel": 0.3}

ONE_SENTENCE: list[tuple[str, Any, list[str]]] = [
    # a single value out of its range: key, value, what the sentence holds
    (THICKNESS, -3, ["-3 mm", "8 mm to 60 mm"]),
    (THICKNESS, 0, ["0 mm", "8 mm to 60 mm"]),
    (THICKNESS, 7.9, ["7.9 mm", "8 mm to 60 mm"]),
    (THICKNESS, 7.9996, ["7.9996 mm", "8 mm to 60 mm"]),
    (THICKNESS, 1e300, ["1e+300 mm", "8 mm to 60 mm"]),
    (THICKNESS, "2 1/2 in", ['"2 1/2 in" (63.5 mm)', "8 mm to 60 mm"]),
    (THICKNESS, '2 1/2"', ["'2 1/2\"' (63.5 mm)", "8 mm to 60 mm"]),
    (THICKNESS, math.nan, ["nan is not a finite length", "648 mm"]),
    (THICKNESS, math.inf, ["inf is not a finite length", "648 mm"]),
    (THICKNESS, 10**5000, ["is not a finite length"]),
    (THICKNESS, "21 ft", ['"21 ft"', "only mm and in"]),
    (THICKNESS, "thick", ['"thick" is not a length', '"648 mm"', '"1 11/16 in"']),
    (THICKNESS, "1/0 in", ['"1/0 in" divides by zero']),
    (THICKNESS, "thick\nand\nthin", [r'"thick\nand\nthin"']),
    (THICKNESS, "x" * 5000, ['"xxx', "..."]),
    (THICKNESS, True, ["true is not a length"]),
    (THICKNESS, [21], ["[21] is not a length"]),
    (THICKNESS, {"mm": 21}, ["{ mm = 21 } is not a length"]),
    (THICKNESS, datetime.date(2024, 1, 31), ["2024-01-31 is not a length"]),
    ("scale_length", 150, ["150 mm", "200 mm to 1300 mm"]),
    ("scale_length", "26 ft", ['"26 ft"', "only mm and in"]),
    ("fretboard.thickness", 0, ["0 mm", "1 mm to 15 mm"]),
    ("neck.blank.allowance", -1, ["-1 mm", "0 mm to 50 mm"]),
    ("limits.profile", 0, ["0 mm", "0.001 mm to 5 mm"]),
    ("title", "", ['""', "1 to 80 characters"]),
    ("title", "x" * 81, ["1 to 80 characters"]),
    ("title", "two\nlines", [r'"two\nlines"', "a line of"]),
    ("title", 5, ["5 is not text"]),
    ("units", "cm", ['"cm" is not allowed', "mm or in"]),
    # places
    ("neck.heel_end", "fret x", ['"fret x" is not a fret', '"fret 12"']),
    ("neck.heel_end", "bridge", ['"bridge" is not a place', '"fret 12", "nut"']),
    ("neck.heel_end", "fret 400", ['"fret 400"', "fret 0 to fret 48"]),
    ("neck.heel_end", -1, ["-1 mm", "0 mm to 1300 mm from the nut"]),
    ("neck.heel_end", True, ["true is not a place"]),
    ("neck.heel_end", math.nan, ["nan is not a finite length"]),
    ("neck.stations[1].at", 1e9, ["1000000000 mm", "0 mm to 1300 mm from the nut"]),
    # profiles
    (SHAPE, "X", ['"X" is not a profile', '"V", "soft V", "C", "D", "U"']),
    (SHAPE, 5, ["5 is not a profile", '"V", "soft V", "C", "D", "U"']),
    (SHAPE, True, ["true is not a profile"]),
    (SHAPE, {"shoulder": 1.1, "keel": 0}, ["shoulder 1.1 is not allowed", "from 0 to 1"]),
    (SHAPE, {"shoulder": 1, "keel": -0.1}, ["keel -0.1 is not allowed", "from 0 to 1"]),
    (SHAPE, {"shoulder": math.nan, "keel": 0}, ["shoulder nan is not allowed", "from 0 to 1"]),
    (SHAPE, {"shoulder": 10**400, "keel": 0}, ["shoulder a number of more", "from 0 to 1"]),
    (SHAPE, {"shoulder": "full", "keel": 0}, ['shoulder "full" is not a number', "from 0 to 1"]),
    (SHAPE, {"shoulder": True, "keel": 0}, ["shoulder true is not a number", "from 0 to 1"]),
    (SHAPE, {"shoulder": 0.5}, ["{ shoulder = 0.5 }", "{shoulder = 0 to 1, keel = 0 to 1}"]),
    (SHAPE, {"bass": "C"}, ['{ bass = "C" }', "{bass = ..., treble = ...}"]),
    (SHAPE, {"treble": FLOOR_TO_CROWN}, ["{ treble = ", "{bass = ..., treble = ...}"]),
    (SHAPE, {"bass": "C", "treble": "D", "side": 1}, ["side = 1", "{bass = ..., treble = ...}"]),
    (SHAPE, {**FLOOR_TO_CROWN, "depth": 1}, ["depth = 1", "{shoulder = 0 to 1, keel = 0 to 1}"]),
    (SHAPE, {"bass": "C", "treble": "Q"}, ['"Q" is not a profile']),
    (SHAPE, {"bass": {"shoulder": 2, "keel": 0}, "treble": "C"}, ["shoulder 2 is not allowed"]),
    # tables
    ("neck", 5, ["5 is not a table", "[neck]"]),
    ("limits", True, ["true is not a table", "[limits]"]),
    ("neck.blank", "maple", ['"maple" is not a table', "[neck.blank]"]),
    ("neck.stations", 5, ["5 is not a list of tables", "[[neck.stations]]"]),
    ("neck.stations", {"at": "nut"}, ['{ at = "nut" } is not a list', "[[neck.stations]]"]),
    ("neck.stations[1]", 5, ["5 is not a table", "[[neck.stations]]"]),
    ("neck.stations", [], ["too few", "at least two"]),
    ("neck", LEFT_OUT, ["missing", "nut_width", "stations"]),
    ("neck.blank", LEFT_OUT, ["missing", "length, width, thickness"]),
    ("neck.stations", LEFT_OUT, ["missing", "at least two", "at, thickness, shape"]),
    # keys
    ("scale_length", LEFT_OUT, ["missing", "nut to bridge", "200 mm to 1300 mm"]),
    ("neck.stations[0].at", LEFT_OUT, ["missing", '"fret 12", "nut"']),
    (SHAPE, LEFT_OUT, ["missing", "profile letter"]),
    ("neck.nut_widht", 43, ["unknown key", "did you mean nut_width?"]),
    ("neck.colour", "red", ["unknown key", "known: nut_width, heel_width"]),
    ("neck.stations[0].thikness", 21, ["unknown key", "did you mean thickness?"]),
    ("tailpiece", {"height": 10}, ["unknown key", "known: title, units, scale_length"]),
    ("limits.colour", "red", ["unknown key", "`carve keys` lists those there are"]),
    ("limits.wood_beside", 4, ["unknown key", "did you mean wood_beside_channel?"]),
    ("limit", {"profile": 1}, ["unknown key", "did you mean limits?"]),
]


@pytest.mark.parametrize(
    ("key", "value", "held"),
    ONE_SENTENCE,
    ids=[f"{key}, {held[0]}" for key, _, held in ONE_SENTENCE],
)
def test_a_wrong_value_is_one_sentence_that_begins_with_its_key(
    key: str, value: Any, held: list[str]
) -> None:
    problems = problems_with({key: value})
    assert len(problems) == 1, problems
    assert problems[0].startswith(f"{key}: ")
    for words in held:
        assert words in problems[0]
    assert "\n" not in problems[0]
    assert len(problems[0]) <= LONGEST_LINE


ACCESS = {"at": "heel", "length": 40, "width": 10, "depth": 11}

CONTRADICTIONS: list[tuple[str, dict[str, Any], list[str]]] = [
    # the key that the sentence begins with, what is changed, what the sentence holds
    (THICKNESS, {THICKNESS: 15.5}, ["15.5 mm", "6 mm + 9.5 mm", "cut through the back"]),
    (THICKNESS, {THICKNESS: 15}, ["15 mm", "6 mm + 9.5 mm", "thicker or the channel"]),
    (
        THICKNESS,
        {THICKNESS: 9, "fretboard.thickness": 10},
        ["9 mm", "fretboard.thickness, 10 mm", "make it thicker"],
    ),
    (
        "neck.stations[2].thickness",  # the floor of a curved channel is deepest in the middle
        {
            "neck.truss_rod.depth_middle": 17,
            "neck.stations[1].thickness": 24,
            "neck.stations[2].thickness": 20,
        },
        ["20 mm", "6 mm + 14.3", "cut through the back"],
    ),
    (
        "neck.stations[2].at",
        {"neck.stations[2].at": "fret 20"},
        ["fret 20", "beyond the heel end", "neck.heel_end"],
    ),
    ("neck.stations[2].at", {"neck.stations[2].at": 500}, ["500 mm from the nut", "81.14 mm"]),
    (
        "neck.stations[2].at",
        {"neck.stations[2].at": "fret 7"},
        ["neck.stations[1]", "0 mm away", "at least 1 mm apart"],
    ),
    (
        "neck.stations[1].at",
        {"neck.stations[1].at": "36 mm", "neck.stations[0].at": "36.5 mm"},
        ["neck.stations[0]", "0.5 mm away", "at least 1 mm apart"],
    ),
    (
        "neck.nut_width",
        {"neck.nut_width": 71},
        ["71 mm", "wider than the blank", "neck.blank.width, 70 mm"],
    ),
    ("neck.heel_width", {"neck.heel_width": 70.5}, ["70.5 mm", "neck.blank.width, 70 mm"]),
    ("neck.truss_rod.width", {"neck.truss_rod.width": 25, "neck.nut_width": 24}, ["25 mm"]),
    (
        "neck.truss_rod.end",
        {"neck.truss_rod.end": "fret 20"},
        ["430.64 mm", "11.77 mm beyond the heel end"],
    ),
    (
        "neck.truss_rod.end",
        {"neck.truss_rod.start": "fret 17", "neck.truss_rod.end": "nut"},
        ["0 mm from the nut", "starts at 393.17 mm", "at least 10 mm long"],
    ),
    (
        "neck.truss_rod.end",
        {"neck.truss_rod.start": "fret 17", "neck.truss_rod.end": "fret 17"},
        ["393.17 mm", "at least 10 mm long"],
    ),
    (
        "neck.truss_rod.access.length",
        {
            "neck.truss_rod.access": {**ACCESS, "length": 150},
            "neck.truss_rod.start": 200,
            "neck.truss_rod.end": 340,
        },
        ["150 mm", "shorter than the channel, 140 mm"],
    ),
    (
        "neck.truss_rod.access.width",
        {"neck.truss_rod.access": {**ACCESS, "width": 30}, "neck.nut_width": 29},
        ["30 mm", "narrower than the neck"],
    ),
    (
        "neck.truss_rod.depth_middle",
        {
            "neck.truss_rod.depth": 15,
            "neck.truss_rod.depth_heel": 1,
            "neck.truss_rod.depth_middle": 1,
            "neck.stations[1].at": "fret 3",
            "neck.stations[2].at": "fret 4",
        },
        ["above the glue face"],
    ),
    (
        "neck.heel_end",
        {"neck.heel_end": 640},
        ["640 mm", "less than the scale length, 628.65 mm"],
    ),
    ("neck.heel_end", {"neck.heel_end": "628.65 mm"}, ["less than the scale length, 628.65 mm"]),
    (
        "limits.wood_under_channel_good",
        {"limits.wood_under_channel": 4, "limits.wood_under_channel_good": 3.5},
        ["3.5 mm", "less than limits.wood_under_channel, 4 mm"],
    ),
]


@pytest.mark.parametrize(
    ("key", "changes", "held"),
    CONTRADICTIONS,
    ids=[f"{number}-{key}" for number, (key, _, _) in enumerate(CONTRADICTIONS)],
)
def test_two_keys_that_disagree_are_one_sentence_with_both_figures(
    key: str, changes: dict[str, Any], held: list[str]
) -> None:
    problems = problems_with(changes)
    assert len(problems) == 1, problems
    assert problems[0].startswith(f"{key}: ")
    for words in held:
        assert words in problems[0]
    assert "\n" not in problems[0]
    assert len(problems[0]) <= LONGEST_LINE


@pytest.mark.parametrize(
    "changes",
    [
        {THICKNESS: 15.6},
        {"neck.stations[2].at": "fret 19"},
        {"neck.nut_width": 70},
        {"neck.heel_width": 70},
        {"neck.truss_rod.end": "fret 19"},
        {"neck.truss_rod.access": ACCESS},
        {"limits.wood_under_channel": 4},
        {"neck.truss_rod": LEFT_OUT},
        {"limits": LEFT_OUT},
        {"title": LEFT_OUT},
    ],
)
def test_just_within_what_is_allowed_is_allowed(changes: dict[str, Any]) -> None:
    read_design(example_with(changes))


def test_one_station_is_too_few() -> None:
    one = example_with({})["neck"]["stations"][:1]
    (problem,) = problems_with({"neck.stations": one})
    assert problem.startswith("neck.stations: too few; at least two")


def test_all_problems_are_said_at_once_one_on_each_line() -> None:
    problems = problems_with(
        {
            "scale_length": -1,
            THICKNESS: math.nan,
            SHAPE: "X",
            "neck.nut_widht": 43,
            "neck.blank.length": LEFT_OUT,
            "tailpiece": {},
        }
    )
    keys = sorted(problem.split(": ")[0] for problem in problems)
    assert keys == sorted(
        ["scale_length", THICKNESS, SHAPE, "neck.nut_widht", "neck.blank.length", "tailpiece"]
    )


def test_all_contradictions_are_said_at_once() -> None:
    problems = problems_with(
        {THICKNESS: 15, "neck.nut_width": 71, "limits.wood_under_channel_good": 1}
    )
    keys = [problem.split(": ")[0] for problem in problems]
    assert keys == [THICKNESS, "neck.nut_width", "limits.wood_under_channel_good"]


def test_an_unknown_unit_is_said_alone_and_not_once_for_every_number() -> None:
    # 24.75 is no length in mm, but who knows what it is meant in
    changes = {"units": "inches", "scale_length": 24.75, "neck.heel_end": 2000}
    (problem,) = problems_with(changes)
    assert problem.startswith('units: "inches" is not allowed')


def test_an_unknown_unit_hides_no_other_problem() -> None:
    problems = problems_with({"units": "cm", SHAPE: "X", "tailpiece": 1, THICKNESS: "1 mm"})
    keys = sorted(problem.split(": ")[0] for problem in problems)
    assert keys == [THICKNESS.replace("thickness", "shape"), THICKNESS, "tailpiece", "units"]


# In inches

IN_INCHES: dict[str, Any] = {
    "units": "in",
    "fretboard.beyond_last_fret": 0.4,
    "fretboard.slots": {"width": 0.023, "depth": 0.11, "tang": 0.087},
    "fretboard.markers": {"frets": [3, 5, 7, 9, 12], "diameter": 0.236, "depth": 0.08},
    "fretboard.blank": {"length": 20.0, "width": 2.6, "thickness": 0.35, "allowance": 0.04},
    "fretboard.thickness": 0.25,
    "neck.heel_width": 2.1875,
    "neck.stations[0].thickness": 0.82,
    "neck.stations[1].thickness": 0.87,
    "neck.stations[2].thickness": 0.9,
    "neck.truss_rod.width": 0.25,
    "neck.truss_rod.depth": 0.375,
    "neck.blank.length": 28,
    "neck.blank.width": 2.75,
    "neck.blank.thickness": 1,
    "neck.blank.allowance": 0.05,
    "limits.wood_under_channel": 0.125,
    "limits.wood_under_channel_good": 0.16,
}


@pytest.mark.parametrize(
    ("key", "value", "held"),
    [
        (THICKNESS, 3, ["3 in is not allowed", "0.315 in to 2.362 in"]),
        (THICKNESS, 0.3, ["0.3 in is not allowed", "0.315 in to 2.362 in"]),
        (THICKNESS, "70 mm", ['"70 mm" (2.75591 in)', "0.315 in to 2.362 in"]),
        (THICKNESS, 0.609375, ["39/64 in", "1/4 in + 3/8 in", "cut through the back"]),
        ("neck.nut_width", 2.8, ["2.8 in", "neck.blank.width, 2 3/4 in"]),
        ("neck.stations[2].at", 17, ["17 in from the nut", "0.509 in beyond"]),
        ("neck.heel_end", 60, ["60 in is not allowed", "0 in to 51.181 in from the nut"]),
        ("neck.blank.width", LEFT_OUT, ["missing", "0.394 in to 39.37 in"]),
        ("limits.wood_under_channel_good", 0.1, ["0.1 in", "1/8 in"]),
    ],
)
def test_a_file_in_inches_is_answered_in_inches(key: str, value: Any, held: list[str]) -> None:
    read_design(example_with(IN_INCHES))
    (problem,) = problems_with({**IN_INCHES, key: value})
    assert problem.startswith(f"{key}: ")
    for words in held:
        assert words in problem
    assert value == "70 mm" or " mm" not in problem


@pytest.mark.parametrize(
    ("key", "shown"),
    [
        (THICKNESS, 2.362),
        ("neck.truss_rod.width", 0.04),
        ("neck.truss_rod.width", 1.181),
        ("neck.blank.length", 78.74),
        ("limits.profile", 0.001),
    ],
)
def test_the_ends_of_a_range_as_shown_in_inches_are_within_it(key: str, shown: float) -> None:
    read_design(example_with({**IN_INCHES, key: shown}))
    (problem,) = problems_with({**IN_INCHES, key: -1})
    assert f"{shown} in" in problem


def test_the_lab_is_answered_in_the_unit_of_the_file_too() -> None:
    # the lab hands over mm whatever the file's unit is
    design = read_design(example_with(IN_INCHES))
    with pytest.raises(DesignError) as caught:
        with_values(design, {THICKNESS: 5.0})
    (problem,) = caught.value.problems
    assert problem == f"{THICKNESS}: 5 mm (0.19685 in) is not allowed; from 0.315 in to 2.362 in"


# The file itself, by the command line


def run(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    status = main(arguments)
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.mark.parametrize("command", ["check", "export", "lab"])
def test_a_wrong_design_ends_with_status_2_and_writes_nothing(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = WREN.read_text(encoding="utf-8")
    file = tmp_path / "bad.toml"
    file.write_text(text.replace("thickness = 21.0", "thickness = 15"), encoding="utf-8")
    more = ["--to", str(tmp_path / "cut")] if command == "export" else []
    status, out, err = run([command, str(file), *more], capsys)
    assert status == 2
    assert out == ""
    assert err.startswith(f"{THICKNESS}: 15 mm ")
    assert err.count("\n") == 1
    assert "Traceback" not in err
    assert [path.name for path in tmp_path.iterdir()] == ["bad.toml"]


FILES: dict[str, tuple[bytes, list[str]]] = {
    "a line that is no TOML": (b'title = "Wren"\nscale_length 648\n', ["is not TOML", "line 2"]),
    "the same key twice": (b"scale_length = 648\nscale_length = 648\n", ["is not TOML", "line 2"]),
    "a quote left open": (b'title = "Wren\n', ["is not TOML", "line 1"]),
    "bytes that are no text": (b'title = "\xff\xfe"\n', ["is not TOML", "not UTF-8 text"]),
    "UTF-16": ('title = "Wren"\n'.encode("utf-16"), ["is not TOML", "not UTF-8 text"]),
    "a number of 5000 digits": (b"scale_length = " + b"9" * 5000, ["is not TOML", "too long"]),
    "lists in lists in lists": (b"title = " + b"[" * 9999, ["is not TOML", "nested too deeply"]),
    "a picture": (b"\x89PNG\r\n\x1a\n\x00\x00", ["is not TOML"]),
}


@pytest.mark.parametrize("kind", FILES)
def test_what_is_not_toml_is_one_sentence_with_the_name_of_the_file(
    kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    content, held = FILES[kind]
    file = tmp_path / "design.toml"
    file.write_bytes(content)
    status, out, err = run(["check", str(file)], capsys)
    assert status == 2
    assert out == ""
    assert err.startswith(f"the design file {shown_path(file)} is not TOML: ")
    assert err.count("\n") == 1
    for words in held:
        assert words in err


def test_an_empty_file_is_told_what_is_missing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "empty.toml"
    file.touch()
    status, _, err = run(["check", str(file)], capsys)
    assert status == 2
    lines = err.splitlines()
    assert [line.split(": ")[0] for line in lines] == ["scale_length", "fretboard", "neck"]
    assert all("missing" in line for line in lines)


def test_a_file_that_is_not_there_is_said_with_its_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, _, err = run(["check", str(tmp_path / "none.toml")], capsys)
    assert status == 2
    file = shown_path(tmp_path / "none.toml")
    assert err == f"the design file {file} cannot be read: no such file or directory\n"


def test_a_folder_is_no_design_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, _, err = run(["check", str(tmp_path)], capsys)
    assert status == 2
    assert err == f"the design file {shown_path(tmp_path)} cannot be read: it is a folder\n"


@pytest.mark.skipif(not Path("/proc/self/mem").exists(), reason="needs Linux's /proc")
def test_a_file_that_fails_while_read_is_said_with_its_name(
    capsys: pytest.CaptureFixture[str],
) -> None:
    # address 0 of a process is never mapped: reading it is an I/O error, for root too
    status, _, err = run(["check", "/proc/self/mem"], capsys)
    assert status == 2
    assert err == "the design file /proc/self/mem cannot be read: input/output error\n"


@pytest.mark.skipif(os.name != "posix", reason="permissions as POSIX has them")
def test_a_file_one_may_not_read_is_said_with_its_name(tmp_path: Path) -> None:
    file = tmp_path / "locked.toml"
    file.write_text("", encoding="utf-8")
    file.chmod(0)
    # root may read anything, so in its place the test drops to the user nobody (65534)
    code = (
        # all that a check imports, while the folder it lies in may be read
        "import os, sys, carve.check.report, carve.cli, carve.design, carve.parts.job\n"
        "import locale, shutil\n"  # which argparse asks for when it says something
        "os.getuid() or os.setuid(65534)\n"
        f"sys.exit(carve.cli.main(['check', {str(file)!r}]))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 2
    said = f"the design file {shown_path(file)} cannot be read: permission denied\n"
    assert done.stderr == said


# Anything at all

ODD_NUMBERS = st.one_of(
    st.floats(),
    st.floats(-5, 1500),
    # bounded: Python refuses to print a number of more than 4300 digits, and so a failing case
    st.integers(-(10**40), 10**40),
    st.integers(300, 400).map(lambda digits: -(10**digits)),
)
ODD_TEXT = st.one_of(
    st.text(),
    st.text(alphabet="0123456789/-. \"'minfretu½″−", max_size=20),
    st.text(min_size=200, max_size=2000),
    st.builds("fret {}".format, ODD_NUMBERS),
    st.builds("{}/{} in".format, st.integers(0, 10**30), st.integers(0, 10**30)),
)
ODD_VALUES = st.recursive(
    st.one_of(
        ODD_NUMBERS,
        ODD_TEXT,
        st.booleans(),
        st.none(),
        st.dates(),
        st.datetimes(),
        st.times(),
        st.binary(max_size=20),
        st.sampled_from(["C", "nut", "fret 12", "in", "mm", "heel", "soft V"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.one_of(
                st.text(max_size=80),
                st.sampled_from(["shoulder", "keel", "bass", "treble", "at", "length", "width"]),
            ),
            inner,
            max_size=3,
        ),
    ),
    max_leaves=8,
)


def every_key(value: Any, key: str = "") -> list[str]:
    if isinstance(value, dict):
        inner = [found for name in value for found in every_key(value[name], f"{key}.{name}")]
    elif isinstance(value, list):
        inner = [found for n, item in enumerate(value) for found in every_key(item, f"{key}[{n}]")]
    else:
        inner = []
    return [key.lstrip("."), *inner] if key else inner


KEYS = [
    *every_key(example_with({"neck.truss_rod.access": ACCESS})),
    "neck.truss_rod.depth_middle",
    "neck.truss_rod.depth_heel",
    "neck.truss_rod.access",
    "bridge",
    "neck.a key nobody knows",
]


@given(st.dictionaries(st.sampled_from(KEYS), ODD_VALUES, min_size=1, max_size=3))
def test_whatever_stands_in_a_file_the_answer_is_sentences(changes: dict[str, Any]) -> None:
    data = example_with({})
    for key, value in changes.items():
        *way, last = read_key(key)
        table: Any = data
        with suppress(KeyError, IndexError, TypeError):  # an earlier change took the table away
            for step in way:
                table = table[step]
            table[last] = value
    try:
        read_design(data)
    except DesignError as error:
        problems = error.problems
    else:
        return
    assert problems
    for problem in problems:
        assert ": " in problem
        assert problem.isprintable()  # so it is one line on any screen
        assert len(problem) <= LONGEST_LINE


@given(st.text(max_size=200))
def test_whatever_text_is_in_a_file_the_answer_is_sentences(text: str) -> None:
    with pytest.raises(DesignError) as caught:
        parse(text)
    for problem in caught.value.problems:
        assert len(problem.splitlines()) == 1


def test_the_example_itself_is_right() -> None:
    assert load(WREN).title == "Wren"
