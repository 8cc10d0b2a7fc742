"""One result of one check, as a value that a table, a screen or a file can show."""

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np

from carve.arrays import Array
from carve.check.figures import Quantity, Sense, missing, show_figures
from carve.design.schema.design import Design
from carve.design.values.units import Unit, show_length

Point = tuple[float, float, float]
"""x, y and z in mm."""

OUR_FAULT = "please report this design as a fault of the program"
"""Advice where no change of the design should be needed."""

FINER = "export with a smaller chord error"
"""Advice where the mesh is too coarse for what is measured on it."""


class Verdict(StrEnum):
    """How a check came out."""

    GOOD = "good"
    WARNING = "warning"
    FAILED = "failed"


@dataclass(frozen=True, eq=False)
class FindingCurve:
    """A figure along the part.

    label: what it is, in words. x: (n,) mm from the nut. values: (n,) mm.
    """

    label: str
    x: Array
    values: Array


@dataclass(frozen=True, eq=False)
class Finding:
    """What was checked, where, how much, against which limit, and what to change.

    part: name of the part it is about, or "assembly". name: of this finding among those of its
    part, such as "thickness:stations[1]"; it holds no figure, so it stays while dials turn. check:
    what was checked, in words. verdict: how it came out. value, limit: mm, mm^3, degrees or a
    count, by ``quantity``. sense: how the value must stand to the limit; "within" means that it is
    ``target``, give or take the limit. tolerance: by how much the limit may be missed and still
    counts as kept, for what measuring alone may do (``carve/check/tolerances.py``). place: where,
    in words. source: which key sets the limit, and where its default comes from. advice: what to
    change; empty where all is good. detail: more figures, in words. point: (x, y, z) mm in the
    frame of the meshes beside it, which is the instrument's, or the body's where the body is
    spoken of, or None. curve: the value all along the part, or None.
    """

    part: str
    name: str
    check: str
    verdict: Verdict
    value: float
    limit: float
    sense: Sense
    place: str
    source: str
    advice: str = ""
    quantity: Quantity = "length"
    target: float = 0.0
    tolerance: float = 0.0
    detail: str = ""
    point: Point | None = None
    curve: FindingCurve | None = None

    @property
    def id(self) -> str:
        """Its part and its name: "neck.thickness:stations[1]". No two of a job share one."""
        return f"{self.part}.{self.name}"

    def mirrored(self) -> "Finding":
        """The same finding about the part with its sides exchanged."""
        if self.point is None:
            return self
        x, y, z = self.point
        return replace(self, point=(x, -y + 0.0, z))


def show_value(finding: Finding, unit: Unit) -> str:
    """What was found, in as many digits as it takes to see how it stands to its limit."""
    return _figures(finding, unit)[0]


def show_limit(finding: Finding, unit: Unit) -> str:
    """What it is held against: ``at least 3 mm``, ``23 mm ± 0.1 mm``.

    Where it is kept by a tolerance alone that is told too: ``..., give or take 0.005 mm``.
    """
    return _figures(finding, unit)[1]


def _figures(finding: Finding, unit: Unit) -> tuple[str, str]:
    short = missing(finding.value, finding.limit, finding.sense, finding.target)
    # a warning may be about something else than the limit: what was found says what is shown
    kept = finding.verdict is Verdict.GOOD or (
        finding.verdict is Verdict.WARNING and short <= finding.tolerance
    )
    return show_figures(
        finding.value,
        finding.limit,
        finding.sense,
        finding.quantity,
        unit,
        missed=not kept,
        target=finding.target,
        tolerance=finding.tolerance,
    )


def as_plain(finding: Finding) -> dict[str, Any]:
    """A finding for machines: lengths in mm, volumes in mm^3, angles in degrees."""
    plain: dict[str, Any] = {
        "id": finding.id,
        "part": finding.part,
        "check": finding.check,
        "verdict": finding.verdict.value,
        "value": _finite(finding.value),
        "limit": finding.limit,
        "sense": finding.sense,
        "tolerance": finding.tolerance,
        "unit": {"length": "mm", "volume": "mm3", "angle": "deg", "count": ""}[finding.quantity],
        "place": finding.place,
        "point": None if finding.point is None else [round(c, 4) for c in finding.point],
        "source": finding.source,
        "advice": finding.advice,
        "detail": finding.detail,
    }
    if finding.sense == "within":
        plain["target"] = finding.target
    if finding.curve is not None:
        plain["curve"] = {
            "label": finding.curve.label,
            "x": np.round(finding.curve.x, 3).tolist(),
            "values": np.round(finding.curve.values, 4).tolist(),
        }
    return plain


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


AT_THE_NUT = 0.05  # mm; nearer to it a place is said to be there


def show_place(design: Design, x: float) -> str:
    """A place along the neck in words: ``112.4 mm from the nut, near fret 3``."""
    if abs(x) < AT_THE_NUT:
        return "at the nut"
    away = show_length(abs(x), design.units)
    if x < 0:
        return f"{away} behind the nut"
    share = x / design.saddle_line.at
    if share >= 1:
        return f"{away} from the nut"
    fret = round(-12 * math.log2(1 - share))
    there = fret and (not design.fretboard.frets or fret <= design.fretboard.frets)
    return f"{away} from the nut" + (f", near fret {fret}" if there else "")
