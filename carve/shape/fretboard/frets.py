"""Where the frets are, exactly and as a builder marks them."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from carve.arrays import Array


def fret_places(ratios: Array, scale_length: float) -> Array:
    """Distances from the nut to frets that sound given ratios.

    ratios: (n,) pitch of the fretted string to that of the open one. scale_length: mm.
    Returns (n,) mm: L (1 - 1 / r), for a string's pitch goes with one over its length
    (Mersenne's law); in equal temperament r = 2^(n/12).
    """
    return np.asarray(scale_length * (1 - 1 / np.asarray(ratios, dtype=float)))


@dataclass(frozen=True, eq=False)
class Marks:
    """Fret places rounded to a step.

    exact, from_nut: (n,) mm. from_previous: (n,) mm, gaps between the rounded places, so
    that they add up to them. residual: (n,) mm, rounded less exact; at most half a step.
    step: mm.
    """

    exact: Array
    from_nut: Array
    from_previous: Array
    residual: Array
    step: float


def marks(places: Array, step: float) -> Marks:
    """Fret places (n,) in mm, rounded to a step in mm."""
    rounded = np.rint(places / step) * step
    return Marks(places, rounded, np.diff(rounded, prepend=0.0), rounded - places, step)


def between_frets(places: Array) -> Array:
    """(n,) mm: the middle of the space before each fret, the nut's for the first."""
    return np.array([(a + b) / 2 for a, b in pairwise(np.r_[0.0, places])])
