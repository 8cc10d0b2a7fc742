"""A carved plate as a sum of fields that are made once, so that a height's dial costs their sum.

All that lies between the figures and the plate is linear in them: the curves' Bernstein
coefficients give their values at the samples, these the nearest curve that the lattice can have,
and that, held, the plate. So does a pad's plane by its height and two slopes, and the recurve's
depth, from which heights are counted. One field for each of these figures, weighted by the figures
themselves, is the plate; only the places of stations and templates call for other fields.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, assert_never

import numpy as np

from carve.arrays import Array
from carve.shape.numeric.bspline import along_x, fit_lines
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial
from carve.shape.plate.foundation import ArchFoundation
from carve.shape.plate.request import Pad

COEFFICIENTS = 6  # of a quintic piece

Bedding = Literal["natural", "full", "lean"]
"""What the plate is drawn to: nothing, the long arch's height, or the recurve's level."""


@dataclass(frozen=True)
class Held:
    """Where a curve that is held has its knots, and the places at which it is held exactly.

    axis: 0 where it runs along x, 1 along y. knots, exact: mm.
    """

    axis: int
    knots: tuple[float, ...]
    exact: tuple[float, ...]


def held_curve(curve: PiecewisePolynomial, axis: int, exact: Sequence[float]) -> Held:
    """How a curve is held. exact: mm, of which those on the curve count."""
    low, high = curve.x[0], curve.x[-1]
    there = tuple(float(place) for place in exact if low <= place <= high)
    return Held(axis, tuple(curve.x.tolist()), there)


def figures(curves: Sequence[PiecewisePolynomial], pads: Sequence[Pad], depth: float) -> Array:
    """(p,) the figures that the fields are weighted by: the long arch's curve first."""
    planes = [np.array([pad.height, pad.slope_x, pad.slope_y]) for pad in pads]
    return np.concatenate([*(curve.c.ravel() for curve in curves), *planes, [depth]])


# Every turn of a height's dial asks for the same fields, and none of them depends on a height.
@lru_cache(maxsize=12)
def fields(foundation: ArchFoundation, held: tuple[Held, ...], drawn_to: Bedding) -> Array:
    """(lattice.size, p) coefficients of the field for each figure, in the order of ``figures``."""
    heights = _heights(foundation, held)
    match drawn_to:
        case "natural":
            return foundation.natural.fields(heights)
        case "lean":
            return foundation.lean.fields(heights)
        case "full":
            return foundation.full.fields(heights, _long_arch_all_across(foundation, held))
        case _:
            assert_never(drawn_to)


def _heights(foundation: ArchFoundation, held: tuple[Held, ...]) -> Array:
    """(samples, p) what is held where for each figure, in the order of the foundation's holds."""
    ring = 2 * len(foundation.ring[0])
    blocks: list[Array] = []
    for curve, samples in zip(
        held, (foundation.centre_samples, *foundation.template_samples), strict=True
    ):
        places, exact = samples[:, curve.axis], np.array(curve.exact)
        unit = _unit_curves(curve)
        blocks.append(
            fit_lines(foundation.lattice, curve.axis, (places, unit(places)), (exact, unit(exact)))
        )
    blocks += [np.column_stack([np.ones(len(p)), p]) for p in foundation.pad_samples]
    rows, columns = (sum(block.shape[axis] for block in blocks) for axis in (0, 1))
    heights = np.zeros((ring + rows, columns + 1))
    heights[ring:, -1] = 1.0
    row, column = ring, 0
    for block in blocks:
        heights[row : row + len(block), column : column + block.shape[1]] = block
        row, column = row + len(block), column + block.shape[1]
    return heights


def _unit_curves(curve: Held) -> PiecewisePolynomial:
    """The curves with one coefficient 1 and all others 0, as one of many values."""
    pieces = len(curve.knots) - 1
    count = COEFFICIENTS * pieces
    return PiecewisePolynomial(
        np.eye(count).reshape(COEFFICIENTS, pieces, count), np.array(curve.knots)
    )


def _long_arch_all_across(foundation: ArchFoundation, held: tuple[Held, ...]) -> Array:
    """(lattice.size, p) for each figure the field as high as the long arch over the recurve."""
    lattice = foundation.lattice
    knots = lattice.low[0] + lattice.step * np.arange(lattice.cells[0] + 1)
    values = _unit_curves(held[0])(np.clip(knots, *foundation.reach))
    count = sum(COEFFICIENTS * (len(curve.knots) - 1) for curve in held)
    count += 3 * len(foundation.lines.pads) + 1
    onto = np.zeros((lattice.size, count))
    for column, over in enumerate(values.T):
        onto[:, column] = along_x(lattice, over).ravel()
    onto[:, -1] = 1.0
    return onto
