"""All checks, run in turn, and what they say together."""

from collections.abc import Sequence

from carve.check.declare import Check, Look
from carve.check.finding import Finding, Verdict
from carve.check.order import checks_for
from carve.parts.cache import kept_each
from carve.parts.job import Job
from carve.parts.kind import Instance
from carve.parts.mirror import for_hand

TURNS = 8  # of a dial back, that findings are kept for


def inspect(job: Job) -> tuple[Finding, ...]:
    """Every finding about a job: part by part, then how the parts meet.

    Only what has changed since an earlier turn is computed again. Points are those of the meshes
    as they leave, mirrored for the left hand.
    """
    found = [
        for_hand(job.design, finding)
        for check in checks_for(job.design)
        for look in check.looks(job)
        for finding in _findings((look.check, tuple(part.instance for part in look.parts)), look)
    ]
    ranks = {part.name: rank for rank, part in enumerate(job.parts)}
    return tuple(sorted(found, key=lambda finding: ranks.get(finding.part, len(ranks))))


@kept_each(TURNS)
def _findings(which: tuple[Check, tuple[Instance, ...]], look: Look) -> tuple[Finding, ...]:
    """What a look finds. which: the check, and the parts it looks at."""
    return look.findings()


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
