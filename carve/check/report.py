"""All checks, run in turn. A check is a module of this room with ``ORDER`` and ``check``."""

import importlib
import pkgutil
from collections.abc import Callable, Iterator, Sequence
from functools import cache

import carve.check
from carve.check.finding import Finding, Verdict
from carve.shape.handed import leaving
from carve.solid.parts import Job

Check = Callable[[Job], Iterator[Finding]]


@cache
def checks() -> tuple[Check, ...]:
    """Every check, in the order in which people want to read them."""
    found = []
    for module in pkgutil.iter_modules(carve.check.__path__):
        loaded = importlib.import_module(f"carve.check.{module.name}")
        if hasattr(loaded, "ORDER"):
            found.append((loaded.ORDER, module.name, loaded.check))
    return tuple(check for _, _, check in sorted(found, key=lambda entry: entry[:2]))


def inspect(job: Job) -> tuple[Finding, ...]:
    """Every finding about a job: part by part, then how the parts meet.

    Their points are those of the meshes as they leave, mirrored for the left hand.
    """
    parts = [part.name for part in job.parts]
    findings = [leaving(job.design, found) for check in checks() for found in check(job)]
    ranks = {name: rank for rank, name in enumerate(parts)}
    return tuple(sorted(findings, key=lambda finding: ranks.get(finding.part, len(parts))))


def worst(findings: Sequence[Finding]) -> Verdict:
    """The worst verdict among findings, good where there are none."""
    ranks = list(Verdict)
    return max((finding.verdict for finding in findings), key=ranks.index, default=Verdict.GOOD)


def summary(findings: Sequence[Finding]) -> str:
    """One line: ``1 of 12 findings failed, 2 warnings``."""
    failed = sum(finding.verdict is Verdict.FAILED for finding in findings)
    warned = sum(finding.verdict is Verdict.WARNING for finding in findings)
    text = (
        f"{failed} of {len(findings)} findings failed"
        if failed
        else (f"{len(findings)} findings, none failed")
    )
    return text + (f", {warned} warning{'s' if warned > 1 else ''}" if warned else "")
