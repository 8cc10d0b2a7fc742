"""A finding's figures as somebody compares them who has nothing but what is shown."""

import re
from fractions import Fraction

from carve.check.finding import Finding, show_limit, show_value
from carve.design import Unit

FIGURE = re.compile(
    r"(-?)(?:(\d+) )?(?:(\d+)/(\d+)|(\d+(?:\.\d+)?))(?: (?:mm|in|cm³|in³)|°)?",
)


def number(text: str) -> Fraction:
    """A figure as anyone reads it: whole, decimal, or with a fraction of an inch."""
    match = FIGURE.fullmatch(text)
    assert match is not None, text
    sign, whole, above, below, decimal = match.groups()
    size = Fraction(decimal) if decimal else int(whole or 0) + Fraction(int(above), int(below))
    return -size if sign else size


def kept_by_hand(finding: Finding, unit: Unit) -> bool:
    """Whether the limit is kept by what is shown, and by nothing else."""
    value, limit = number(show_value(finding, unit)), show_limit(finding, unit)
    limit, _, allowed = limit.partition(", give or take ")
    tolerance = number(allowed) if allowed else 0
    if finding.sense == "within":
        target, _, limit = limit.partition(" ± ")
        return abs(value - number(target)) <= number(limit) + tolerance
    assert limit.startswith(finding.sense)
    most = number(limit.removeprefix(f"{finding.sense} "))
    return value >= most - tolerance if finding.sense == "at least" else value <= most + tolerance


def figures_contradict(finding: Finding, unit: Unit) -> bool:
    """Whether what is shown says something else than the verdict.

    A warning may be about something else than its limit: a gap in a drawing that was closed.
    """
    kept = kept_by_hand(finding, unit)
    return kept != (finding.verdict.value == "good") and finding.verdict.value != "warning"
