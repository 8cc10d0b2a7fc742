"""What can be wrong with how neck, strings and body stand together. Lengths in mm, radians."""

from dataclasses import dataclass

from carve.design.derived.bridge_reach import OutOfReach
from carve.errors import Problem


@dataclass(frozen=True)
class BridgeOutOfReach(Problem):
    """No neck angle brings the strings to the bridge on a carved top."""

    bridge: OutOfReach


@dataclass(frozen=True)
class AngleUnsettled(Problem):
    """Neck angle and carved top, each of which hangs on the other, don't come to agree."""


@dataclass(frozen=True)
class CarvedHeelLeansForward(Problem):
    """A carved heel's neck leans forward, so its face would reach under the body. angle: its."""

    angle: float


@dataclass(frozen=True)
class BodyAboveGlueFace(Problem):
    """On a through-neck the body's top stands above the glue face. above: by how much."""

    above: float
