"""The sheets of paper that a builder may print on."""

from dataclasses import dataclass

from carve.design.values.units import MM_PER_INCH


@dataclass(frozen=True)
class Paper:
    """A sheet of paper, upright. width, height: mm."""

    name: str
    width: float
    height: float


A4 = Paper("A4", 210.0, 297.0)  # ISO 216
LETTER = Paper("Letter", 8.5 * MM_PER_INCH, 11 * MM_PER_INCH)  # ANSI/ASME Y14.1, size A
PAPERS = {paper.name: paper for paper in (A4, LETTER)}
