"""Left-handed instruments: what leaves the house is mirrored here and nowhere else.

Inside, every design speaks in bass and treble with y to the treble side, whatever hand it is
for. Only what a builder holds or sees is a thing of the left or the right hand.
"""

from typing import Protocol, Self, TypeVar

from carve.design.schema.design import Design


class Sided(Protocol):
    """What has a bass and a treble side."""

    def mirrored(self) -> Self:
        """The same with its sides exchanged."""


T = TypeVar("T", bound=Sided)


def for_hand(design: Design, inside: T) -> T:
    """A mesh, a drawing or a finding as it leaves the house for this design's hand."""
    return inside.mirrored() if design.handed == "left" else inside
