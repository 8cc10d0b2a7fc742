"""What can be wrong with a cover. Lengths and places in mm; ``where`` is a label of its recess."""

from dataclasses import dataclass

from carve.errors import Problem


@dataclass(frozen=True)
class CoverProblem(Problem):
    """Anything about one cover."""

    where: str


@dataclass(frozen=True)
class CoverParted(CoverProblem):
    """Inside of the gap nothing is left of the cover, or more than one piece. gap: asked for."""

    gap: float
    pieces: int


@dataclass(frozen=True)
class PointBesideCover(CoverProblem):
    """A screw's place lies beside the cover. number: of the point, from 1. x, y: as asked for."""

    number: int
    x: float
    y: float


@dataclass(frozen=True)
class ScrewLineTooFar(CoverProblem):
    """No line of screws fits so far inside of the cover's edge. inside: asked for."""

    inside: float


@dataclass(frozen=True)
class ScrewProblem(CoverProblem):
    """Anything about the screws' places. by_points: whether the builder gave them himself.

    wood: what is left of the cover. least: what is needed.
    """

    by_points: bool
    wood: float
    least: float


@dataclass(frozen=True)
class ScrewAtEdge(ScrewProblem):
    """A screw's hole comes too near the cover's edge. screw: its number, from 1."""

    screw: int


@dataclass(frozen=True)
class ScrewsMeet(ScrewProblem):
    """Two screws' holes come too near each other. screw, other: their numbers, from 1."""

    screw: int
    other: int
