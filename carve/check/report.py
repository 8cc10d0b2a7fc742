"""All checks, run in turn, and what they say together."""

from collections.abc import Sequence

from carve.check.finding import Finding, Verdict
from carve.check.order import CHECKS
from carve.parts.job import Job
from carve.parts.mirror import for_hand


def inspect(job: Job) -> tuple[Finding, ...]:
    """Every finding about a job: part by part, then how the parts meet.

    Their points are those of the meshes as they leave, mirrored for the left hand.
    """
    parts = [part.name for part in job.parts]
    findings = [for_hand(job.design, found) for check in CHECKS for found in check(job)]
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
