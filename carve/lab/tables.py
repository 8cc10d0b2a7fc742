"""Findings and tables of figures as HTML; a verdict has a mark that needs no colour."""

from collections.abc import Sequence
from html import escape

from carve.check.finding import Finding, Verdict, show_limit, show_value
from carve.check.report import summary
from carve.design.values.units import Unit
from carve.shape.views.kit.table import DataTable

_MARKS = {
    Verdict.GOOD: ("&#10003;", "good", "#2e7d32"),
    Verdict.WARNING: ("!", "warning", "#9a6700"),
    Verdict.FAILED: ("&#10007;", "failed", "#b12520"),
}

_STYLE = "border-collapse:collapse;font:13px/1.35 sans-serif;width:100%;color:#222;background:#fff"


_CELL = "text-align:right;padding:1px 8px;max-width:11em"


def findings_table(findings: Sequence[Finding], unit: Unit) -> str:
    """The findings with their verdicts, figures, limits, places and advice, the worst first."""
    order = list(Verdict)
    worst_first = sorted(findings, key=lambda finding: -order.index(finding.verdict))
    head = "".join(
        f'<th style="text-align:left;padding:3px 8px;border-bottom:1px solid #bbb">{name}</th>'
        for name in ("", "check", "found", "limit", "where", "what to change")
    )
    rows = "".join(_row(finding, unit) for finding in worst_first)
    return (
        f'<div class="carve-findings"><b>{escape(summary(findings))}</b>'
        f'<table style="{_STYLE}"><tr>{head}</tr>{rows}</table></div>'
    )


def _row(finding: Finding, unit: Unit) -> str:
    mark, word, ink = _MARKS[finding.verdict]
    advice = escape(finding.advice)
    if finding.detail:
        advice += (
            f'{"; " if advice else ""}<span style="color:#666">{escape(finding.detail)}</span>'
        )
    cells = (
        f'<span style="color:{ink};font-weight:bold">{mark} {word}</span>',
        escape(f"{finding.part}: {finding.check}"),
        escape(show_value(finding, unit)),
        escape(show_limit(finding, unit)),
        escape(finding.place),
        advice,
    )
    whole = (True, False, True, True, False, False)  # a figure and its unit stay on one line
    inner = "".join(
        f'<td style="padding:2px 8px;vertical-align:top{";white-space:nowrap" if kept else ""}">'
        f"{cell}</td>"
        for cell, kept in zip(cells, whole, strict=True)
    )
    return f'<tr data-check="{escape(finding.check, quote=True)}">{inner}</tr>'


def message(text: str, kind: Verdict) -> str:
    """A message to the builder, line by line; nothing where there is no text."""
    if not text:
        return ""
    mark, _, ink = _MARKS[kind]
    lines = "".join(f"<div>{mark} {escape(line)}</div>" for line in text.splitlines())
    return f'<div style="color:{ink};font:13px/1.4 sans-serif">{lines}</div>'


def table_html(table: DataTable) -> str:
    """A table of figures, folded under its title."""
    head = "".join(
        f'<th style="{_CELL};border-bottom:1px solid #bbb">{escape(h)}</th>' for h in table.head
    )
    rows = "".join(
        "<tr>" + "".join(f'<td style="{_CELL}">{escape(cell)}</td>' for cell in row) + "</tr>"
        for row in table.rows
    )
    return (
        f'<details class="carve-sheet"><summary>{escape(table.title)}</summary>'
        f'<table style="{_STYLE};width:auto"><tr>{head}</tr>{rows}</table></details>'
    )
