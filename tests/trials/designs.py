"""Any design at all: refused in a sentence, or made and judged without a fault of the program."""

import math
import traceback
from collections import Counter
from collections.abc import Iterator

from figures_by_hand import figures_contradict
from random_designs import random_design

from carve.check.finding import Finding, show_limit, show_value
from carve.check.report import inspect
from carve.design.io.parse import read_design
from carve.errors import CarveError
from carve.parts.cache import forget_all
from carve.parts.job import EXPORT_CHORD, make, preview_chord
from trials.trial import Outcome, Trial

IN_FILES = 7  # every so many designs are made as finely as for files
FAULT = "fault of the program"
UNITS = ("mm", "in")


def once(number: int) -> Outcome:
    """Make and judge a random design."""
    forget_all()  # each by itself, whatever was tried before
    try:
        design = read_design(random_design(number), "mm")
        job = make(design, preview_chord(design) if number % IN_FILES else EXPORT_CHORD)
        findings = inspect(job)
    except CarveError as error:
        said = str(error).partition("\n")[0]
        return Outcome("refused", f"{type(error).__name__}: {said}")
    except Exception as error:
        where = traceback.extract_tb(error.__traceback__)[-1]
        said = f"{type(error).__name__}: {error} ({where.filename}:{where.lineno})"
        return Outcome("wrong", said)
    wrong = list(faults(findings))
    return Outcome("wrong", "; ".join(wrong)) if wrong else Outcome("held")


def faults(findings: tuple[Finding, ...]) -> Iterator[str]:
    """What is wrong with findings, whatever they are about."""
    for name, times in Counter(finding.id for finding in findings).items():
        if times > 1:
            yield f"{times} findings are {name}"
    for finding in findings:
        said = f"{finding.id}: {show_value(finding, 'mm')}, {show_limit(finding, 'mm')}"
        figures = (finding.value, finding.limit, finding.target, *(finding.point or ()))
        if not all(math.isfinite(figure) for figure in figures):
            yield f"{said}: a figure that is none"
        elif any(figures_contradict(finding, unit) for unit in UNITS):
            yield f"{said} and yet {finding.verdict.value}"
        if FAULT in finding.advice:
            yield f"{said}: {finding.advice} ({finding.detail})"


TRIAL = Trial(
    name="designs",
    claim="Whatever a design asks for: refused in a sentence, or made and judged without a fault "
    "of the program",
    count=5000,
    once=once,
)
