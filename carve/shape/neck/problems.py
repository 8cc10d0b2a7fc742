"""What can be wrong with a neck. Lengths and places in mm, places from the nut."""

from dataclasses import dataclass
from typing import Literal

from carve.errors import Problem

HeadPart = Literal["blend", "transition", "ramp", "volute"]
"""What of a headstock lies between the nut and where its back is flat."""

HeadSide = Literal["bass", "treble"]


@dataclass(frozen=True)
class HeelBeforeStation(Problem):
    """The heel begins to flow out of the shaft before the first station. Both: places."""

    heel: float
    station: float


@dataclass(frozen=True)
class CarvedHeelShallow(Problem):
    """A carved heel is not deeper than the shaft comes to it. shaft: its depth where it begins."""

    depth: float
    shaft: float


@dataclass(frozen=True)
class CarvedHeelSteep(Problem):
    """A carved heel's back would be too steep.

    blend, depth: of the heel. steepest: radians that it may be. shortest: blend that keeps to it.
    """

    blend: float
    depth: float
    steepest: float
    shortest: float


@dataclass(frozen=True)
class CapWidth(Problem):
    """A cap's width does not go with its length. least, most: widths that do."""

    width: float
    length: float
    least: float
    most: float
    too_wide: bool


@dataclass(frozen=True)
class TongueWide(Problem):
    """A tongue finds no room between the flanks. most: its width with a shoulder on each side."""

    width: float
    depth: float
    most: float
    shoulder: float


@dataclass(frozen=True)
class HeadRunsOut(Problem):
    """The back is not flat before the tip. part: what reaches furthest behind the nut.

    reaches: how far behind it. available: what there is before the tip.
    """

    part: HeadPart
    reaches: float
    available: float


@dataclass(frozen=True)
class HeadNarrow(Problem):
    """The headstock is too narrow before its back is flat.

    half: its least half width. least: that is needed, which is ``share`` of the half width at
    the nut. flat: mm behind the nut where the back is flat.
    """

    half: float
    least: float
    share: float
    flat: float


@dataclass(frozen=True)
class CornersTooRound(Problem):
    """The tip's corners are rounder than the tip is wide. tip: its width."""

    radius: float
    tip: float


@dataclass(frozen=True)
class CornerInBlend(Problem):
    """A round corner begins where the back is still in its blend.

    begins, flat: mm behind the nut where the corner begins and where the back is flat.
    """

    radius: float
    begins: float
    flat: float


@dataclass(frozen=True)
class CornerMisfit(Problem):
    """No arc of this radius touches a side and the tip's edge."""

    radius: float


@dataclass(frozen=True)
class HoleProblem(Problem):
    """Anything about a tuner's hole. row: its number. behind: mm behind the nut.

    one_by_one: whether the row gives the places of its holes, and not a first one and a step.
    """

    row: int
    behind: float
    one_by_one: bool


@dataclass(frozen=True)
class HoleInBlend(HoleProblem):
    """A hole reaches into the blend of the back. flat: mm behind the nut where that ends."""

    flat: float


@dataclass(frozen=True)
class HoleOut(HoleProblem):
    """A hole comes out of the headstock's side. aside: of its middle. out: by how much."""

    aside: float
    out: float


@dataclass(frozen=True)
class DrawnSideAcross(Problem):
    """Where the drawing takes over, a side runs across the neck more than along it.

    behind: mm behind the nut.
    """

    side: HeadSide
    behind: float


@dataclass(frozen=True)
class NoSingleDrawnSide(Problem):
    """A drawn headstock has no side, or several, at a place. behind: mm behind the nut."""

    side: HeadSide
    behind: float


@dataclass(frozen=True)
class DrawnCorner(Problem):
    """A drawn side has a corner where the back is still round. behind: mm behind the nut."""

    side: HeadSide
    behind: float


@dataclass(frozen=True)
class DrawnComesBack(Problem):
    """A drawn outline comes back to where the back is not flat. behind: mm behind the nut."""

    behind: float
