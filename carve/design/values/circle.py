"""The one formula of a circle that rules and shapes share."""

from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:  # a design is read without numpy
    from carve.arrays import Array

T = TypeVar("T", float, "Array")


def sagitta(radius: T, half_chord: T) -> T:
    """How far an arc falls from its crown over half a chord, in their unit.

    R - sqrt(R^2 - c^2/4) (Machinery's Handbook, circular segments), in the form that keeps
    its digits where the radius is large.
    """
    fall: T = half_chord**2 / (radius + (radius**2 - half_chord**2) ** 0.5)
    return fall
