"""The command line: ``carve check``, ``carve export``, ``carve lab``, ``carve keys``."""

import argparse
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console
from rich.table import Table
from rich.text import Text

from carve import __version__
from carve.check.finding import Finding, Verdict, as_plain, show_limit, show_value
from carve.check.report import inspect, summary, worst
from carve.design import Unit, parse, read_length_argument, read_text
from carve.design.reference import reference
from carve.errors import CarveError, FindingFailed
from carve.export import export
from carve.shop.cautions import CAUTIONS
from carve.solid.parts import EXPORT_CHORD, make

GOOD, FAILED, WRONG = 0, 1, 2

_MARKS = {
    Verdict.GOOD: ("good", "green"),
    Verdict.WARNING: ("warning", "yellow"),
    Verdict.FAILED: ("FAILED", "bold red"),
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command. Returns the exit status: 0 good, 1 a finding failed, 2 wrong input."""
    options = _parser().parse_args(arguments)
    try:
        status: int = options.run(options)
        sys.stdout.flush()
    except CarveError as error:
        sys.stdout.flush()
        for line in str(error).splitlines():
            print(line, file=sys.stderr)
        return FAILED if isinstance(error, FindingFailed) else WRONG
    except KeyboardInterrupt:
        print("stopped; nothing was written", file=sys.stderr)
        return 130
    except BrokenPipeError:  # the reader, `head` for one, has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return GOOD
    return status


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
    design = parse(read_text(options.file), str(options.file))
    findings = inspect(make(design, read_length_argument("--chord-error", options.chord_error)))
    if options.json:
        report = {
            "file": str(options.file),
            "title": design.title,
            "verdict": worst(findings).value,
            "findings": [as_plain(finding) for finding in findings],
        }
        print(json.dumps(report, indent=2, ensure_ascii=False))
    else:
        _print_findings(design.title, findings, design.units)
    return FAILED if worst(findings) is Verdict.FAILED else GOOD


def _export(options: argparse.Namespace) -> int:
    text = read_text(options.file)
    design = parse(text, str(options.file))
    job = make(design, read_length_argument("--chord-error", options.chord_error))
    findings = inspect(job)
    _print_findings(design.title, findings, design.units)
    done = export(
        job,
        options.to,
        (options.file.name, text),
        findings=findings,
        unit=options.units,
        overwrite=options.overwrite,
        even_so=options.even_so,
    )
    for path in done.paths:
        print(f"wrote {path}")
    if done.despite:
        print("exported although a finding failed; the manifest says so")
    print()
    for caution in CAUTIONS:
        print(f"! {caution}")
    return FAILED if done.despite else GOOD


def _lab(options: argparse.Namespace) -> int:
    # imported here: JupyterLab need not load to check a file
    from carve.lab.launch import launch

    parse(read_text(options.file), str(options.file))  # a wrong file is said here, not in a browser
    return launch(options.file, browser=not options.no_browser, port=options.port)


def _keys(options: argparse.Namespace) -> int:
    print(reference(), end="")
    return GOOD


def _print_findings(title: str, findings: Sequence[Finding], unit: Unit) -> None:
    table = Table(title=f"{title}: {summary(findings)}", title_justify="left")
    for name in ("verdict", "part", "check", "found", "limit", "where", "what to change"):
        table.add_column(name, overflow="fold")
    for finding in findings:
        word, style = _MARKS[finding.verdict]
        advice = Text(finding.advice)
        if finding.detail:
            advice.append(("; " if finding.advice else "") + finding.detail, style="dim")
        table.add_row(
            Text(word, style=style),
            finding.part,
            finding.check,
            show_value(finding, unit),
            show_limit(finding, unit),
            finding.place,
            advice,
        )
    # a pipe has no width of its own: keep each finding on one line for grep
    width = None if sys.stdout.isatty() else 200
    Console(width=width).print(table)


if __name__ == "__main__":
    sys.exit(main())
