"""The command line: ``carve check``, ``carve export``, ``carve lab``, ``carve keys``."""

from __future__ import annotations

import argparse
import io
import json
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from carve import __version__
from carve.design.values.paper import PAPERS
from carve.design.values.regular_file import shown_path
from carve.design.values.tolerances import EXPORT_CHORD
from carve.errors import CarveError, FileInTheWay, FindingFailed, because
from carve.stop import CLEAR_LINE

if TYPE_CHECKING:
    from rich.console import Console

    from carve.check.finding import Finding
    from carve.design import Unit

# Nothing heavy is imported up here: each command imports what it needs when it runs, so that
# `carve keys` waits for no mathematics and `carve check` for no writer of files.

GOOD, FAILED, WRONG, STOPPED, UNREAD = 0, 1, 2, 130, 141

CHECK = 2  # the column of the check's name, which gives way where the screen is narrow
NARROWEST = 16  # characters of it that stay


class _Mark(NamedTuple):
    """How a verdict looks. The mark and the word do without colour."""

    mark: str
    word: str
    style: str


_MARKS = {  # by a verdict's value
    "good": _Mark(" ", "good", "green"),
    "warning": _Mark("!", "warning", "yellow"),
    "failed": _Mark("X", "FAILED", "bold red"),
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. Returns the exit status: 0 good, 1 a finding failed, 2 wrong input.

    Also 130 after Ctrl-C and 141 where the reader of the output went away, as shells have it.
    """
    options = _parser().parse_args(arguments)
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # "?" for a sign the terminal doesn't know
    try:
        status = _run(options)
        sys.stdout.flush()
    except KeyboardInterrupt:
        _progress("")
        print("stopped", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:  # the reader, `head` for one, has seen enough
        _drop_output()
        return UNREAD
    except OSError as error:
        _drop_output()
        # what is printed has no name; a file that nobody expected trouble from has
        if error.filename is None:
            print(f"the output cannot be written: {because(error)}", file=sys.stderr)
        else:
            name = shown_path(Path(str(error.filename)))
            print(f"the file {name} cannot be used: {because(error)}", file=sys.stderr)
        return WRONG
    return status


def _run(options: argparse.Namespace) -> int:
    try:
        status: int = options.run(options)
    except CarveError as error:
        _progress("")
        sys.stdout.flush()
        for line in f"{error}{_way_on(error)}".splitlines():
            print(line, file=sys.stderr)
        return FAILED if isinstance(error, FindingFailed) else WRONG
    return status


def _way_on(error: CarveError) -> str:
    """With which option what was refused is done all the same, as an end of the sentence."""
    if isinstance(error, FindingFailed):
        return " (to export all the same, say --even-so)"
    return " (--overwrite replaces)" if isinstance(error, FileInTheWay) else ""


def _progress(doing: str) -> None:
    """Say on a terminal what is being done, where it said so before; with "" clear that line."""
    if sys.stderr.isatty():
        print(f"{CLEAR_LINE}{doing}", end="", file=sys.stderr, flush=True)


def _drop_output() -> None:
    """Let what is still to be written go nowhere, or Python complains when it ends."""
    with suppress(io.UnsupportedOperation):  # no file stands behind it, so nothing complains either
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="carve",
        description="From an instrument's design file to proven meshes for a three-axis router.",
        epilog="Exit status: 0 all good, 1 a finding failed, 2 the file or the command is wrong.",
    )
    parser.add_argument("--version", action="version", version=f"carve {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    check = commands.add_parser("check", help="prove a design before the first cut")
    check.add_argument("--json", action="store_true", help="findings as JSON, lengths in mm")
    check.set_defaults(run=_check)

    exporting = commands.add_parser("export", help="write meshes for CAM, with a manifest")
    exporting.add_argument("--to", type=Path, required=True, metavar="DIR", help="where to")
    exporting.add_argument(
        "--units", choices=("mm", "in"), default="mm", help="unit of the STL (default mm)"
    )
    exporting.add_argument(
        "--paper",
        choices=tuple(PAPERS),
        help="paper that drawings are printed on (default A4 with millimetres, Letter with inches)",
    )
    exporting.add_argument("--even-so", action="store_true", help="export although a finding fails")
    exporting.add_argument("--overwrite", action="store_true", help="replace existing files")
    exporting.set_defaults(run=_export)

    lab = commands.add_parser("lab", help="shape a design live in JupyterLab")
    lab.add_argument("--no-browser", action="store_true", help="print the address only")
    lab.add_argument("--port", type=int, help="port of the server")
    lab.set_defaults(run=_lab)

    for command in (check, exporting, lab):
        command.add_argument("file", type=Path, metavar="FILE", help="design file (TOML)")
    for command in (check, exporting):
        command.add_argument(
            "--chord-error",
            metavar="LENGTH",
            default=f"{EXPORT_CHORD} mm",
            help="how far the mesh may be from the shape (default %(default)s)",
        )

    keys = commands.add_parser("keys", help="every key of a design file, with range and meaning")
    keys.set_defaults(run=_keys)
    return parser


def _check(options: argparse.Namespace) -> int:
    from carve.check.finding import Verdict, as_plain
    from carve.check.report import inspect, worst
    from carve.design import load, read_length_argument
    from carve.parts.job import make

    design = load(options.file)
    findings = inspect(make(design, read_length_argument("--chord-error", options.chord_error)))
    if options.json:
        report = {
            "file": str(options.file),
            "title": design.title,
            "handed": design.handed,
            "verdict": worst(findings).value,
            "findings": [as_plain(finding) for finding in findings],
        }
        print(json.dumps(report, indent=2, ensure_ascii=False))
    else:
        _print_findings(design.title, findings, design.units)
    return FAILED if worst(findings) is Verdict.FAILED else GOOD


def _export(options: argparse.Namespace) -> int:
    from carve.check.report import inspect
    from carve.design import parse, read_length_argument, read_text
    from carve.export.bundle import export
    from carve.parts.job import make
    from carve.shop.cautions import CAUTIONS

    text = read_text(options.file)
    design = parse(text, f"the design file {shown_path(options.file)}", options.file.parent)
    chord = read_length_argument("--chord-error", options.chord_error)
    _progress("making the parts")
    job = make(design, chord)
    _progress("checking them")
    findings = inspect(job)
    _progress("")
    _print_findings(design.title, findings, design.units)
    written = export(
        job,
        options.to,
        (options.file.name, text),
        findings=findings,
        unit=options.units,
        paper=PAPERS.get(options.paper),
        overwrite=options.overwrite,
        allow_failed=options.even_so,
        progress=_progress,
    )
    _progress("")
    for line in written.done + written.warnings:
        print(line)
    print()
    for caution in CAUTIONS:
        print(f"! {caution}")
    return FAILED if written.had_failures else GOOD


def _lab(options: argparse.Namespace) -> int:
    from carve.design import load
    from carve.lab.launch import launch

    load(options.file)  # a wrong file is said here, not in a browser
    return launch(options.file, browser=not options.no_browser, port=options.port)


def _keys(options: argparse.Namespace) -> int:
    from carve.design.io.reference import reference

    print(reference(), end="")
    return GOOD


def _print_findings(title: str, findings: Sequence[Finding], unit: Unit) -> None:
    from carve.check.report import summary

    heading = f"{title}: {summary(findings)}"
    if sys.stdout.isatty():
        from rich.console import Console  # for a screen alone: a pipe needs no colours

        _print_for_reading(Console(highlight=False), heading, findings, unit)
    else:
        _print_for_grep(heading, findings, unit)


def _print_for_grep(heading: str, findings: Sequence[Finding], unit: Unit) -> None:
    """Each finding on one line, however long: a pipe has no width."""
    rows = [("verdict", "part", "check", "found", "limit", "where", "what to change")]
    for finding in findings:
        said = "; ".join(text for text in (finding.advice, finding.detail) if text)
        rows.append((_word(finding), finding.part, *_figures(finding, unit), finding.place, said))
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    print(heading)
    for row in rows:
        print("  ".join(f"{cell:{wide}}" for cell, wide in zip(row, widths, strict=True)).rstrip())


def _print_for_reading(
    console: Console, heading: str, findings: Sequence[Finding], unit: Unit
) -> None:
    """Part by part, each under its name and in columns of its own."""
    from rich.text import Text

    console.print(Text(heading, style="bold"))
    for part, members in groupby(findings, key=lambda finding: finding.part):
        console.print(Text(f"\n{part}", style="bold"))
        _print_part(console, list(members), unit)


def _print_part(console: Console, findings: Sequence[Finding], unit: Unit) -> None:
    """One line a finding in the width there is, and below it what to do where it isn't good."""
    from rich.padding import Padding
    from rich.table import Table
    from rich.text import Text

    rows = [(_MARKS[f.verdict].mark, _word(f), *_figures(f, unit), f.place) for f in findings]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    where_fits = sum(widths) + len(widths) <= console.width
    if not where_fits:
        widths.pop()
    over = sum(widths) + len(widths) - console.width
    widths[CHECK] = max(widths[CHECK] - max(over, 0), NARROWEST)
    indent = sum(widths[:CHECK]) + CHECK
    for finding, row in zip(findings, rows, strict=True):
        line = Table.grid(padding=(0, 1, 0, 0))
        for width in widths:
            line.add_column(width=width, overflow="fold")
        style = _MARKS[finding.verdict].style
        cells = [Text(cell, style=style if n < CHECK else "") for n, cell in enumerate(row)]
        line.add_row(*cells[: len(widths)])
        console.print(line)
        if finding.verdict != "good":
            notes = [finding.advice, finding.detail]
            if not where_fits:
                notes.insert(0, finding.place)
            for note in filter(None, notes):
                console.print(Padding(Text(note), (0, 0, 0, indent)))


def _word(finding: Finding) -> str:
    return _MARKS[finding.verdict].word


def _figures(finding: Finding, unit: Unit) -> tuple[str, str, str]:
    from carve.check.finding import show_limit, show_value

    return finding.check, show_value(finding, unit), show_limit(finding, unit)


if __name__ == "__main__":
    sys.exit(main())
