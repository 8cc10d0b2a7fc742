"""Where the frets are, exactly and as a builder marks them."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from carve.arrays import Array
from carve.design.units import MM_PER_INCH, Unit
from carve.shape.sheet import Sheet


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


def fret_sheet(
    places: Array, step: float, unit: Unit, sides: Mapping[str, Array] | None = None
) -> Sheet:
    """The table of frets in a unit. places: (n,) mm. step: mm.

    sides: of a multi-scale board, by name, (n,) mm of the frets along each of its outer
    strings from that string's own nut; the places are then those on the centre line.
    """
    per = MM_PER_INCH if unit == "in" else 1.0
    marked = marks(places, step)
    digits = _digits(step / per)
    of_sides = [marks(along, step) for along in (sides or {}).values()]
    rows = [
        (
            str(number),
            f"{from_nut:.{digits}f}",
            f"{gap:.{digits}f}",
            f"{exact:.{digits + 3}f}",
            f"{residual:+.{digits + 3}f}",
            *(
                figure
                for side in of_sides
                for figure in (
                    f"{side.from_nut[number - 1] / per:.{digits}f}",
                    f"{side.exact[number - 1] / per:.{digits + 3}f}",
                )
            ),
        )
        for number, (from_nut, gap, exact, residual) in enumerate(
            zip(
                marked.from_nut / per,
                marked.from_previous / per,
                marked.exact / per,
                marked.residual / per,
                strict=True,
            ),
            start=1,
        )
    ]
    return Sheet(
        title=f"frets, rounded to {step / per:.6g} {unit}"
        + (", from nut on the centre line and along the outer strings" if sides else ""),
        head=(
            "fret",
            f"from nut ({unit})",
            f"from previous ({unit})",
            f"exact from nut ({unit})",
            f"rounded less exact ({unit})",
            *(
                f"{words}{name} from its nut ({unit})"
                for name in sides or {}
                for words in ("along the ", "exact along the ")
            ),
        ),
        rows=tuple(rows),
    )


def _digits(step: float) -> int:
    """Decimals that show every multiple of a step, at most 6: 0.01 has 2, 1/64 has 6."""
    return next((d for d in range(6) if abs(step * 10**d - round(step * 10**d)) < 1e-9), 6)


def between(places: Array) -> Array:
    """(n,) mm: the middle of the space before each fret, the nut's for the first."""
    return np.array([(a + b) / 2 for a, b in pairwise(np.r_[0.0, places])])
