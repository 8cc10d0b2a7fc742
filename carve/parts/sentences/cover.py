"""What is wrong with a cover, in words. ``where`` is the key of the recess it lies in."""

from carve.design.values.units import Unit, show_length
from carve.parts.sentences.dispatch import sentence
from carve.shape.cover.problems import (
    CoverParted,
    PointBesideCover,
    ScrewAtEdge,
    ScrewLineTooFar,
    ScrewProblem,
    ScrewsMeet,
)


@sentence.register
def _(problem: CoverParted, unit: Unit) -> str:
    return (
        f"{problem.where}.cover.gap: {show_length(problem.gap, unit)} is not allowed, "
        f"{problem.pieces} pieces are left of the cover; make it less, or the recess wider"
    )


@sentence.register
def _(problem: PointBesideCover, unit: Unit) -> str:
    return (
        f"{problem.where}.cover.screws.points: point {problem.number}, "
        f"{show_length(problem.x, unit)} and {show_length(problem.y, unit)}, is not allowed; it "
        "lies beside the cover"
    )


@sentence.register
def _(problem: ScrewLineTooFar, unit: Unit) -> str:
    return (
        f"{problem.where}.cover.screws.from_edge: {show_length(problem.inside, unit)} is not "
        "allowed; the cover is too narrow for a line of screws so far inside"
    )


@sentence.register
def _(problem: ScrewAtEdge, unit: Unit) -> str:
    return (
        f"{_key(problem)}: screw {problem.screw} leaves {show_length(problem.wood, unit)} of the "
        f"cover to its edge; at least {show_length(problem.least, unit)} is needed for there to be "
        "a wall"
    )


@sentence.register
def _(problem: ScrewsMeet, unit: Unit) -> str:
    return (
        f"{_key(problem)}: screws {problem.screw} and {problem.other} leave "
        f"{show_length(problem.wood, unit)} of the cover between them; at least "
        f"{show_length(problem.least, unit)} is needed, so take fewer or move them apart"
    )


def _key(problem: ScrewProblem) -> str:
    """The key that says where the screws stand."""
    return f"{problem.where}.cover.screws.{'points' if problem.by_points else 'from_edge'}"
