"""A measured value against its limit: every verdict is reached here.

Judge first, then say what was judged::

    judged = at_least(wood, limits.wood_under_channel)
    yield judged.finding(part="neck", name="wood-under-channel", ...)
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from carve.arrays import Array
from carve.check.figures import Quantity, Sense, missing
from carve.check.finding import Finding, FindingCurve, Verdict


@dataclass(frozen=True)
class Judged:
    """A value and how it stands to its limit. All in the value's own unit.

    verdict: how it came out. value: what was measured. limit: what it is held against. sense: how
    it must stand to the limit. missing: by how much the limit is missed, 0 or less where it is
    kept. target: the middle of what is allowed, where the sense is "within". tolerance: by how
    much the limit may be missed and counts as kept.
    """

    verdict: Verdict
    value: float
    limit: float
    sense: Sense
    missing: float
    target: float = 0.0
    tolerance: float = 0.0

    @property
    def good(self) -> bool:
        """Whether there is nothing to say against it."""
        return self.verdict is Verdict.GOOD

    def rounded(self, digits: int) -> "Judged":
        """The same, its value told to so many digits after the point. The verdict stays."""
        return replace(self, value=round(self.value, digits))

    def finding(
        self,
        *,
        part: str,
        name: str,
        check: str,
        place: str,
        source: str,
        advice: str = "",
        quantity: Quantity = "length",
        detail: str = "",
        point: Sequence[float] | Array | None = None,
        curve: FindingCurve | None = None,
    ) -> Finding:
        """The finding; all else is as ``Finding`` has it. advice: left out where all is good."""
        if point is not None:
            x, y, z = point
            point = float(x), float(y), float(z)
        return Finding(
            part=part,
            name=name,
            check=check,
            verdict=self.verdict,
            value=self.value,
            limit=self.limit,
            sense=self.sense,
            place=place,
            source=source,
            advice="" if self.good else advice,
            quantity=quantity,
            target=self.target,
            tolerance=self.tolerance,
            detail=detail,
            point=point,
            curve=curve,
        )


def at_least(
    value: float,
    limit: float,
    *,
    warning: float | None = None,
    tolerance: float = 0.0,
    missed: Verdict = Verdict.FAILED,
) -> Judged:
    """A value that may not be less than its limit.

    warning: a higher limit; a value below that one alone is warned of. tolerance: by how much a
    limit may be missed and counts as kept. missed: the verdict below the limit.
    """
    if warning is not None and limit - value <= tolerance:
        warned = at_least(value, warning, tolerance=tolerance, missed=Verdict.WARNING)
        if not warned.good:
            return warned
    return _judged(value, limit, "at least", tolerance, missed)


def at_most(
    value: float,
    limit: float,
    *,
    warning: float | None = None,
    tolerance: float = 0.0,
    missed: Verdict = Verdict.FAILED,
) -> Judged:
    """A value that may not be more than its limit.

    warning: a lower limit; a value above that one alone is warned of. tolerance, missed: as in
    ``at_least``.
    """
    if warning is not None and value - limit <= tolerance:
        warned = at_most(value, warning, tolerance=tolerance, missed=Verdict.WARNING)
        if not warned.good:
            return warned
    return _judged(value, limit, "at most", tolerance, missed)


def within(
    value: float,
    target: float,
    limit: float,
    *,
    tolerance: float = 0.0,
    missed: Verdict = Verdict.FAILED,
) -> Judged:
    """A value that may be no further from its target than the limit, to either side.

    tolerance, missed: as in ``at_least``.
    """
    return _judged(value, limit, "within", tolerance, missed, target)


def first_missed(*judged: Judged) -> Judged:
    """The first that is not good, or the first of all where all are."""
    return next((one for one in judged if not one.good), judged[0])


def _judged(
    value: float,
    limit: float,
    sense: Sense,
    tolerance: float,
    missed: Verdict,
    target: float = 0.0,
) -> Judged:
    short = missing(value, limit, sense, target)
    verdict = Verdict.GOOD if short <= tolerance else missed
    return Judged(verdict, value, limit, sense, short, target, tolerance)
