"""The command line: what it prints, where, and the status it ends with.

0 all good, 1 a finding failed, 2 the file or the command is wrong; as shells have it, 130
after Ctrl-C and 141 where the reader of the output went away.
"""

import json
import os
import re
import signal
import subprocess
import sys
import time
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from carve import __version__, cli
from carve.check.finding import Finding, show_limit, show_value
from carve.check.report import inspect
from carve.cli import main
from carve.design import load
from carve.parts.job import make

WREN = Path(__file__).parents[1] / "examples" / "wren.toml"
CARVE = [sys.executable, "-m", "carve"]

GOOD, FAILED, WRONG, STOPPED, UNREAD = 0, 1, 2, 130, 141

HEADINGS = ["verdict", "part", "check", "found", "limit", "where", "what to change"]


@pytest.fixture(scope="module")
def poor(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A design that fails on its blank, warns of thin wood, and has a pocket for the rod."""
    text = WREN.read_text(encoding="utf-8")
    text = text.replace("width = 70", "width = 56").replace("thickness = 21.0", "thickness = 20")
    pocket = '\n[neck.truss_rod.access]\nat = "heel"\nlength = 20\nwidth = 10\ndepth = 11\n'
    file = tmp_path_factory.mktemp("poor") / "poor.toml"
    file.write_text(text + "wood_beside_channel = 1\n" + pocket, encoding="utf-8")
    return file


def findings_of(file: Path) -> tuple[Finding, ...]:
    return inspect(make(load(file)))


def of_the_neck(lines: list[str]) -> list[str]:
    """The lines of a piped table that are about the neck."""
    return [line for line in lines if re.match(r"(FAILED|warning|good) +neck  ", line)]


@cache
def on_a_terminal(file: Path, columns: int, **environment: str) -> str:
    """What checking a file prints on a terminal of its own, so many columns wide."""
    return shown_by("check", str(file), columns=columns, **environment)


def shown_by(*arguments: str, columns: int, **environment: str) -> str:
    """What a command prints on a terminal of its own."""
    pty = pytest.importorskip("pty", reason="terminals as POSIX has them")
    mine, its = pty.openpty()
    env = {**os.environ, "COLUMNS": str(columns), "TERM": "xterm-256color", **environment}
    process = subprocess.Popen([*CARVE, *arguments], stdout=its, stderr=its, env=env)
    os.close(its)
    printed = b""
    while True:
        try:
            more = os.read(mine, 65536)
        except OSError:  # how Linux says that the other end is closed
            break
        if not more:
            break
        printed += more
    os.close(mine)
    process.wait()
    return printed.decode().replace("\r\n", "\n")


def without_colour(text: str) -> str:
    return re.sub(r"\x1b\[[\d;]*m", "", text)


def under_headings(lines: list[str]) -> dict[str, list[str]]:
    """What a screen shows, by the part whose name stands above it."""
    below: dict[str, list[str]] = {}
    for before, line in pairwise(["", *lines]):
        if not before and re.fullmatch(r"\w+", line):
            rows = below.setdefault(line, [])
        elif below:
            rows.append(line)
    return below


# Statuses


def test_a_good_design_ends_with_0(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(WREN)]) == GOOD
    out, err = capsys.readouterr()
    assert out.startswith("Wren: ")
    assert "none failed" in out.splitlines()[0]
    assert err == ""


def test_a_design_that_fails_a_finding_ends_with_1(
    poor: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(poor)]) == FAILED
    out, err = capsys.readouterr()
    count = len(findings_of(poor))
    assert count > 16  # those of the neck alone
    assert out.splitlines()[0] == f"Wren: 1 of {count} findings failed, 1 warning"
    assert err == ""


def test_a_file_that_is_not_there_ends_with_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(tmp_path / "none.toml")]) == WRONG
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["carve"],
        ["check"],
        ["export", str(WREN)],
        ["export", str(WREN), "--to", "x", "--units", "cm"],
    ],
)
def test_a_wrong_command_ends_with_2_and_says_how_it_goes(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == WRONG
    assert capsys.readouterr().err.startswith("usage: carve")


def test_the_version_is_the_one_of_the_package(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["--version"])
    assert caught.value.code == GOOD
    assert capsys.readouterr().out == f"carve {__version__}\n"


def test_keys_prints_the_reference(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["keys"]) == GOOD
    assert "`neck.stations[].thickness`" in capsys.readouterr().out


# JSON


def test_json_holds_every_finding_with_lengths_in_mm(
    poor: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(poor), "--json"]) == FAILED
    report = json.loads(capsys.readouterr().out, parse_constant=pytest.fail)  # no NaN, no Infinity
    assert report["verdict"] == "failed"
    assert report["title"] == "Wren"
    expected = findings_of(poor)
    assert len(report["findings"]) == len(expected)
    for entry, finding in zip(report["findings"], expected, strict=True):
        assert entry["check"] == finding.check
        assert entry["verdict"] == finding.verdict.value
        assert entry["value"] == pytest.approx(finding.value)
        assert entry["limit"] == pytest.approx(finding.limit)
        assert entry["place"] == finding.place
        assert entry["unit"] == {"length": "mm", "volume": "mm3", "count": ""}[finding.quantity]
    (width,) = (
        f for f in report["findings"] if (f["part"], f["check"]) == ("neck", "blank, width")
    )
    assert width["value"] == pytest.approx((56 - 55.5) / 2, abs=1e-3)  # mm, by hand


def test_json_of_a_file_in_inches_is_in_mm_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = WREN.read_text(encoding="utf-8")
    head, rest = text.split("[fretboard]")
    # every bare length gets its unit spelled, so that only the unit of the file changes
    rest = re.sub(r"^(?!frets)(\w+) = ([\d.]+)$", r'\1 = "\2 mm"', rest, flags=re.MULTILINE)
    file = tmp_path / "wren.toml"
    file.write_text(head.replace('"mm"', '"in"') + "[fretboard]" + rest, encoding="utf-8")
    assert main(["check", str(file), "--json"]) == GOOD
    in_inches = json.loads(capsys.readouterr().out)
    assert main(["check", str(WREN), "--json"]) == GOOD
    in_mm = json.loads(capsys.readouterr().out)
    figures = [
        [(f["value"], f["limit"], f["unit"]) for f in r["findings"]] for r in (in_inches, in_mm)
    ]
    assert figures[0] == figures[1]


# The table, piped: for grep


def test_piped_each_finding_is_one_line_with_all_there_is_to_say(
    poor: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["check", str(poor)])
    _, head, *lines = capsys.readouterr().out.splitlines()
    assert re.split("  +", head) == HEADINGS
    expected = findings_of(poor)
    assert len(lines) == len(expected)
    for line, finding in zip(lines, expected, strict=True):
        word = "FAILED" if finding.verdict == "failed" else finding.verdict.value
        assert line.startswith(word)
        for text in (
            finding.part,
            finding.check,
            show_value(finding, "mm"),
            show_limit(finding, "mm"),
            finding.place,
            finding.advice,
            finding.detail,
        ):
            assert text in line
        assert "\x1b" not in line


def test_piped_a_failing_line_begins_with_a_word_no_other_line_begins_with(
    poor: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["check", str(poor)])
    lines = capsys.readouterr().out.splitlines()
    (failing,) = (line for line in lines if re.match("FAILED", line))
    assert "blank, width" in failing
    assert "take a blank 1.5 mm larger in width, at least 57.5 mm" in failing
    assert len([line for line in lines if "FAILED" in line]) == 1


# The table, on a screen


@pytest.mark.parametrize("columns", [60, 80, 100, 120])
def test_on_a_screen_nothing_runs_over_the_edge(poor: Path, columns: int) -> None:
    printed = without_colour(on_a_terminal(poor, columns))
    assert max(map(len, printed.splitlines())) <= columns


@pytest.mark.parametrize("columns", [80, 100, 120])
def test_on_a_screen_each_finding_is_one_line_and_advice_stands_below(
    poor: Path, columns: int
) -> None:
    lines = without_colour(on_a_terminal(poor, columns)).splitlines()
    expected = findings_of(poor)
    below = under_headings(lines)
    assert list(below) == ["neck", "fretboard", "assembly"]
    for finding in expected:
        (line,) = (line for line in below[finding.part] if f" {finding.check} " in line)
        assert show_value(finding, "mm") in line
        assert show_limit(finding, "mm") in line
    rows = [line for line in lines if re.match(r"(X FAILED|! warning|  good) ", line)]
    assert len(rows) == len(expected)
    joined = " ".join(" ".join(line.split()) for line in lines)
    for finding in expected:
        if finding.verdict != "good":
            assert finding.advice in joined
            assert finding.place in joined


def test_on_a_screen_the_failing_line_is_found_without_colour(poor: Path) -> None:
    printed = on_a_terminal(poor, 80, NO_COLOR="1")
    (failing,) = (line for line in without_colour(printed).splitlines() if line.startswith("X "))
    assert failing.startswith("X FAILED  blank, width")
    (warned,) = (line for line in without_colour(printed).splitlines() if line.startswith("! "))
    assert warned.startswith("! warning wood under the truss-rod channel")


def test_on_a_screen_the_findings_stand_below_the_name_of_their_part(poor: Path) -> None:
    lines = without_colour(on_a_terminal(poor, 80)).splitlines()
    expected = findings_of(poor)
    assert [line.strip() for line in lines[:3]] == [
        f"Wren: 1 of {len(expected)} findings failed, 1 warning",
        "",
        "neck",
    ]
    for part in ("neck", "fretboard", "assembly"):
        assert lines.count(part) == 1  # once, with all that is about it below
        below = under_headings(lines)[part]
        rows = [line for line in below if re.match(r"(X FAILED|! warning|  good) ", line)]
        assert len(rows) == len([finding for finding in expected if finding.part == part])


def test_a_title_in_brackets_is_printed_as_it_is(tmp_path: Path) -> None:
    # the library that prints takes [words] and [/words] for commands unless told otherwise
    file = tmp_path / "odd.toml"
    text = WREN.read_text(encoding="utf-8").replace('"Wren"', '"[red]Wren[/blue] :smile:"')
    file.write_text(text, encoding="utf-8")
    printed = on_a_terminal(file, 80)
    count = len(findings_of(file))
    assert without_colour(printed).startswith(f"[red]Wren[/blue] :smile:: {count} findings, none")


# Chord error


@pytest.mark.parametrize(
    ("written", "mm"), [("0.05", "0.050 mm"), ("0.05 mm", "0.050 mm"), ("0.002 in", "0.051 mm")]
)
def test_a_chord_error_is_taken_in_mm_or_inches(
    written: str, mm: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(WREN), "--chord-error", written]) == GOOD
    lines = of_the_neck(capsys.readouterr().out.splitlines())
    (line,) = (line for line in lines if "chord error" in line)
    assert f"at most {mm}" in line


@pytest.mark.parametrize("command", ["check", "export"])
@pytest.mark.parametrize("written", ["0", "-0.02 mm", "2 mm", "1 in", "nan", "fine", "0.02 ft"])
def test_a_chord_error_out_of_range_is_refused_in_one_sentence(
    command: str, written: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    more = ["--to", str(tmp_path / "cut")] if command == "export" else []
    assert main([command, str(WREN), "--chord-error", written, *more]) == WRONG
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f'--chord-error: "{written}"')
    assert err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


# How far it has come


def test_an_export_says_on_a_terminal_what_it_is_doing_and_clears_that_away(
    tmp_path: Path,
) -> None:
    printed = shown_by("export", str(WREN), "--to", str(tmp_path / "cut"), columns=100)
    doing = re.findall(r"\r\x1b\[K([^\r\n\x1b]*)", printed)  # CSI K erases a line (ECMA-48)
    assert doing[:2] == ["making the parts", "checking them"]
    assert "writing neck, 1 of 2 parts" in doing
    lines = [line.rpartition("\x1b[K")[2] for line in printed.split("\n")]
    assert not [line for line in lines if line.startswith(("making", "checking", "writing"))]


# Outputs that end early


def piped_into_head(arguments: list[str]) -> tuple[int, str]:
    """The status and the errors of a command whose output is read for one line only."""
    # the shell's way, without a shell: a pipe that is closed after the first line
    process = subprocess.Popen([*CARVE, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    errors = process.stderr.read().decode()
    process.stderr.close()
    return process.wait(), errors


@pytest.mark.skipif(os.name != "posix", reason="pipes as POSIX has them")
def test_a_reader_that_goes_away_is_no_trouble(poor: Path, tmp_path: Path) -> None:
    for arguments in (
        ["check", str(poor)],
        ["keys"],
        ["export", str(poor), "--to", str(tmp_path / "cut")],
    ):
        status, errors = piped_into_head(arguments)
        assert "Traceback" not in errors, arguments
        assert "BrokenPipe" not in errors, arguments
        assert status == UNREAD, arguments


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_an_output_that_cannot_be_written_is_said() -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [*CARVE, "check", str(WREN)], stdout=full, stderr=subprocess.PIPE, text=True
        )
    assert done.returncode == WRONG
    assert done.stderr == "the output cannot be written: no space left on device\n"


def test_an_output_that_knows_few_signs_shows_the_rest(poor: Path) -> None:
    env = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run([*CARVE, "check", str(poor)], capture_output=True, text=True, env=env)
    assert done.returncode == FAILED
    assert done.stderr == ""
    assert "23 mm ? 0.1 mm" in done.stdout


SLOW = """
import sys, time
import carve.check.report
from carve import cli

def slow(job):
    print("checking", file=sys.stderr, flush=True)
    time.sleep(60)

carve.check.report.inspect = slow
sys.exit(cli.main(sys.argv[1:]))
"""


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
def test_ctrl_c_ends_it_with_one_word_and_status_130(tmp_path: Path) -> None:
    arguments = ["export", str(WREN), "--to", str(tmp_path / "cut")]
    process = subprocess.Popen(
        [sys.executable, "-c", SLOW, *arguments], stderr=subprocess.PIPE, text=True
    )
    assert process.stderr is not None
    assert process.stderr.readline() == "checking\n"
    started = time.monotonic()
    process.send_signal(signal.SIGINT)
    assert process.stderr.read() == "stopped\n"
    process.stderr.close()
    assert process.wait() == STOPPED
    assert time.monotonic() - started < 10
    assert list(tmp_path.iterdir()) == []


def test_ctrl_c_while_files_are_written_leaves_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stop(descriptor: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stop)
    assert main(["export", str(WREN), "--to", str(tmp_path / "cut")]) == STOPPED
    out, err = capsys.readouterr()
    assert err == "stopped\n"
    assert "wrote" not in out
    assert list(tmp_path.iterdir()) == []


LAB = {"jupyterlab", "pyvista", "vtkmodules", "matplotlib", "ipywidgets", "trame", "carve.lab"}
WRITERS = {"carve.export", "reportlab", "ezdxf", "stl", "tomlkit"}
MATHEMATICS = {"numpy", "scipy", "shapely", "manifold3d", "contourpy", "carve.shape"}

OF_A_BODY = {
    "carve.check.body",
    "carve.check.cover",
    "carve.check.plate",
    "carve.parts.body",
    "carve.parts.cover",
    "carve.shape.body",
    "carve.shape.cover",
    "carve.shape.outlines",
    "carve.shape.plate",
    "carve.solid.body",
    "carve.solid.cover",
}


@cache
def loaded_by(*arguments: str) -> frozenset[str]:
    """The modules that a command has loaded when it has answered, its output piped."""
    code = (
        "import sys\n"
        "from carve.cli import main\n"
        "status = main(sys.argv[1:])\n"
        "print(*sys.modules, file=sys.stderr)\n"
        "sys.exit(status)\n"
    )
    done = subprocess.run([sys.executable, "-c", code, *arguments], capture_output=True, text=True)
    assert done.returncode == GOOD, done.stderr
    return frozenset(done.stderr.split())


def test_the_keys_wait_for_no_mathematics() -> None:
    assert loaded_by("keys") >= {"pydantic"}  # what it cannot do without, so the list is true
    assert (
        loaded_by("keys") & (MATHEMATICS | WRITERS | LAB | {"rich", "carve.design.drawing.dxf"})
        == set()
    )


def test_checking_a_neck_and_its_board_waits_for_nothing_that_draws_writes_or_carves() -> None:
    loaded = loaded_by("check", str(WREN))
    assert loaded >= {"numpy", "manifold3d"}
    assert loaded & (WRITERS | LAB | {"rich", "contourpy", "scipy", "svgelements"}) == set()
    assert loaded & OF_A_BODY == set()
    assert {name for name in loaded if name.startswith("carve.shape.views")} == set()


def test_checking_a_body_loads_what_belongs_to_one() -> None:
    linnet = WREN.with_name("linnet.toml")
    assert loaded_by("check", str(linnet)) >= OF_A_BODY  # so the list is true


def test_the_statuses_here_are_those_of_the_program() -> None:
    statuses = (cli.GOOD, cli.FAILED, cli.WRONG, cli.STOPPED, cli.UNREAD)
    assert statuses == (GOOD, FAILED, WRONG, STOPPED, UNREAD)
