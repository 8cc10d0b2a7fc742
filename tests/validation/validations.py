"""What is held against a source outside the project, and the page that says so.

A test calls ``validated(what, source, theirs, ours, tolerance)``, which holds ours against theirs
and records both. ``docs/validation.md`` is made of the records; each of them is also held against
its line on that page, so that no figure there is older than the program.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "validation.md"

HEAD = """\
# Held against sources outside the project

Each line is made by a test in `tests/validation`, which fails where the difference is larger than
allowed. Renew this page with `.venv/bin/python -m pytest tests/validation --write-page`.
*From memory* says that the source could not be looked up when the test was written. *By hand* is
a worked example whose steps stand in the test. Where several values are compared, the line shows
the one that differs most, or the last one where all differ by little more than rounding.

"""


class Line(NamedTuple):
    """One line of the page. theirs, ours, tolerance: in ``unit``."""

    what: str
    source: str
    theirs: float
    ours: float
    tolerance: float
    unit: str
    subject: str

    @property
    def decimals(self) -> int:
        """Digits after the point to show: one more than what is allowed to differ."""
        return max(0, 1 - math.floor(math.log10(self.tolerance) + 1e-9))

    def shown(self) -> str:
        """The line as Markdown."""
        unit = f" {self.unit}" if self.unit else ""
        theirs, ours = (f"{value:.{self.decimals}f}" for value in (self.theirs, self.ours))
        apart = f"{abs(self.ours - self.theirs):.1e}"
        return (
            f"| {self.what} | {self.source} | {theirs}{unit} | {ours}{unit} | "
            f"{apart} | {self.tolerance:.1e} |"
        )


@dataclass
class Registry:
    """The lines of one run, in the order in which tests made them."""

    lines: list[Line] = field(default_factory=list)

    def validated(
        self,
        what: str,
        source: str,
        theirs: ArrayLike,
        ours: ArrayLike,
        tolerance: float,
        unit: str = "",
        *,
        subject: str,
    ) -> Line:
        """Hold ours against theirs, and keep the value that differs most.

        Where they differ by less than a twentieth of what is allowed, keep the last one.
        """
        one, other = np.atleast_1d(theirs).astype(float), np.atleast_1d(ours).astype(float)
        assert one.shape == other.shape, what
        apart = np.abs(one - other)
        # the last one where all that differs is rounding, which no two machines share
        worst = int(np.argmax(apart)) if apart.max() > tolerance / 20 else len(one) - 1
        line = Line(what, source, float(one[worst]), float(other[worst]), tolerance, unit, subject)
        self.lines.append(line)
        assert abs(line.ours - line.theirs) <= tolerance, f"{what}: {line}"
        return line

    def page(self) -> str:
        """The whole page."""
        text = HEAD
        for subject in dict.fromkeys(line.subject for line in self.lines):
            text += f"## {subject}\n\n"
            text += "| what | source | theirs | ours | difference | allowed |\n"
            text += "| --- | --- | --- | --- | --- | --- |\n"
            text += (
                "".join(f"{one.shown()}\n" for one in self.lines if one.subject == subject) + "\n"
            )
        return text.rstrip("\n") + "\n"


def lines_of(page: str) -> dict[str, Sequence[str]]:
    """The lines of a page by what they are about: source, theirs, ours, difference, allowed."""
    cells = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in page.splitlines()
        if line.startswith("| ") and not line.startswith(("| what |", "| --- |"))
    ]
    return {what: rest for what, *rest in cells}


def stale(line: Line, page: str) -> str:
    """What is out of date about a line of the page, up to its last digit; empty where nothing."""
    shown = lines_of(page).get(line.what)
    if shown is None:
        return "it has no line there"
    if shown[0] != line.source:
        return f"its source is now {line.source}"
    for name, value, cell in (("theirs", line.theirs, shown[1]), ("ours", line.ours, shown[2])):
        number = float(re.match(r"-?[\d.]+", cell)[0])  # type: ignore[index]
        if abs(number - value) > 1.1 * 10**-line.decimals:
            return f"{name} is now {value:.{line.decimals}f}"
    return ""
