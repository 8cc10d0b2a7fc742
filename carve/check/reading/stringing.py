"""Strings in words, for the checks that speak of them."""

from collections.abc import Iterable

import numpy as np

from carve.arrays import Array
from carve.design.values.units import Unit, show_length


def string_name(number: int, count: int) -> str:
    """A string in words. number: 0 is the outer bass string."""
    if number == 0:
        return "outer bass string"
    if number == count - 1:
        return "outer treble string"
    return f"string {number + 1} from the bass"


def lengths(values: Iterable[float], unit: Unit) -> str:
    """Lengths in a row: ``1.2, 1.25, 1.3 mm``."""
    shown = [show_length(float(value), unit) for value in values]
    return ", ".join([*(text.removesuffix(f" {unit}") for text in shown[:-1]), *shown[-1:]])


def least(heights: Array) -> tuple[int, int]:
    """Row and column of the least of (k, m) heights."""
    row, column = np.unravel_index(int(np.argmin(heights)), heights.shape)
    return int(row), int(column)
