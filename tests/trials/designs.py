"""Any design at all: refused in a sentence, or made and judged without a fault of the program."""

import math
import traceback
from collections import Counter
from collections.abc import Iterator

from random_designs import random_design

from carve.check.finding import Finding, show_limit, show_value
from carve.check.report import inspect
from carve.design.io.parse import read_design
from carve.errors import DesignError
from carve.parts.job import EXPORT_CHORD, make, preview_chord
from trials.trial import Outcome, Trial

IN_FILES = 7  # every so many designs are made as finely as for files
FAULT = "fault of the program"


def once(number: int) -> Outcome:
    """Make and judge a random design."""
    try:
        design = read_design(random_design(number), "mm")
        chord = preview_chord(design) if number % IN_FILES else EXPORT_CHORD
        job = make(design, chord)
        findings = inspect(job)
    except DesignError as error:
        return Outcome("refused", error.problems[0])
    except Exception as error:
        where = traceback.extract_tb(error.__traceback__)[-1]
        name = type(error).__name__
        return Outcome("wrong", f"{name}: {error} ({where.filename}:{where.lineno})")
    wrong = list(faults(findings))
    return Outcome("wrong", "; ".join(wrong)) if wrong else Outcome("held")


def faults(findings: tuple[Finding, ...]) -> Iterator[str]:
    """What is wrong with findings, whatever they are about."""
    for name, times in Counter(finding.id for finding in findings).items():
        if times > 1:
            yield f"{times} findings are {name}"
    for finding in findings:
        shown = f"{finding.id}: {show_value(finding, 'mm')}, {show_limit(finding, 'mm')}"
        if FAULT in finding.advice:
            yield f"{shown}: {finding.advice} ({finding.detail})"
        figures = (finding.value, finding.limit, finding.target, *(finding.point or ()))
        if not all(math.isfinite(figure) for figure in figures):
            yield f"{shown}: a figure that is none"


TRIAL = Trial(
    name="designs",
    claim="Whatever a design asks for: refused in a sentence, or made and judged without a fault "
    "of the program",
    count=5000,
    once=once,
)
