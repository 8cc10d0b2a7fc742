"""A value and its limit in figures that agree with the verdict.

A verdict is reached on the values. What is shown of them is rounded, and rounded figures may say
something else: 1.4999 mm misses a limit of 1.5 mm, and both round to 1.5 mm. So figures get as
many digits as it takes until anyone who compares them finds what the verdict says, and where a
limit counts as kept only by a tolerance, that is shown beside it.
"""

import math
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from typing import Literal

from carve.design.values.units import MM_PER_INCH, Unit, show_length, show_number

Sense = Literal["at least", "at most", "within"]
"""How a value must stand to its limit."""

Quantity = Literal["length", "volume", "count", "angle"]
"""What a value is, and so its unit: mm, mm^3, none or degrees."""

MOST_DECIMALS = 16  # behind which a double has nothing more to say
SPARE = 2  # units of the last decimal; three figures, each rounded, are together off by no more
HONEST = Fraction(21, 20)  # of a tolerance, what may be told of it once it is rounded up
GIVE_OR_TAKE = ", give or take "


def missing(value: float, limit: float, sense: Sense, target: float = 0.0) -> float:
    """By how much a limit is missed, 0 or less where it is kept; in the value's own unit."""
    if sense == "at least":
        return limit - value
    return value - limit if sense == "at most" else abs(value - target) - limit


def show_quantity(value: float, quantity: Quantity, unit: Unit) -> str:
    """A value with its unit, as a builder reads it."""
    if quantity == "count":
        return f"{value:.0f}"
    if quantity == "angle":
        return f"{show_number(value, 2)}°"
    if quantity == "volume":
        return f"{value / 1000:.3f} cm³" if unit == "mm" else f"{value / MM_PER_INCH**3:.4f} in³"
    if 0 < abs(value) < 0.095 and unit == "mm":
        return f"{value:.3f} mm".replace("-0.000", "0.000")  # small lengths want their digits
    if 0 < abs(value) < 0.24 and unit == "in":
        return f"{value / MM_PER_INCH:.4f} in".replace("-0.0000", "0.0000")
    return show_length(value, unit)


def show_figures(
    value: float,
    limit: float,
    sense: Sense,
    quantity: Quantity,
    unit: Unit,
    *,
    missed: bool,
    target: float = 0.0,
    tolerance: float = 0.0,
) -> tuple[str, str]:
    """A value, and what it is held against: ``23.06 mm`` and ``23 mm ± 0.1 mm``.

    value, limit, target, tolerance: mm, mm^3, degrees or a count, by ``quantity``. missed: what
    the figures shall say. tolerance: by how much the limit may be missed and counts as kept.
    """
    figures = (value, target, limit)
    shown = [show_quantity(figure, quantity, unit) for figure in figures]
    if not all(map(math.isfinite, figures)) or _missed(shown, sense) == missed:
        return _worded(shown, sense)
    fewest = _DECIMALS[quantity, unit][0]
    finer = [
        [_rounded(figure, quantity, unit, decimals) for figure in figures]
        for decimals in range(fewest, MOST_DECIMALS + 1)
    ]
    for agreeing in finer:
        if _missed(agreeing, sense) == missed:
            return _worded(agreeing, sense)
    # kept by the tolerance alone: no number of digits says so without it
    for spare in () if missed or tolerance <= 0 else (0, SPARE):
        for decimals, agreeing in enumerate(finer, start=fewest):
            allowed = _rounded_up(tolerance, quantity, unit, decimals, spare)
            told = read_figure(allowed)
            honest = told <= HONEST * Fraction(_in_unit(tolerance, quantity, unit))
            if honest and not _missed(agreeing, sense, told):
                said, held = _worded(agreeing, sense)
                return said, f"{held}{GIVE_OR_TAKE}{allowed}"
    return _worded(shown, sense)


def read_figure(shown: str) -> Fraction:
    """The number in a figure as shown, in the unit it is shown in: ``1 11/16 in``, ``7.5°``."""
    number = shown.rstrip("°").split(" ")
    terms = [Fraction(term) for term in number if term[-1].isdigit() and not term.endswith("³")]
    return terms[0] + sum(terms[1:]) * (-1 if shown.startswith("-") else 1)


def _missed(shown: list[str], sense: Sense, allowed: Fraction = Fraction(0)) -> bool:
    """What one finds who compares the figures of value, target and limit."""
    value, target, limit = map(read_figure, shown)
    if sense == "at least":
        return value < limit - allowed
    return (value if sense == "at most" else abs(value - target)) > limit + allowed


def _worded(shown: list[str], sense: Sense) -> tuple[str, str]:
    value, target, limit = shown
    return value, f"{target} ± {limit}" if sense == "within" else f"{sense} {limit}"


_DECIMALS: dict[tuple[Quantity, Unit], tuple[int, str]] = {
    ("length", "mm"): (2, " mm"),
    ("length", "in"): (3, " in"),
    ("angle", "mm"): (2, "°"),
    ("angle", "in"): (2, "°"),
    ("volume", "mm"): (3, " cm³"),
    ("volume", "in"): (4, " in³"),
    ("count", "mm"): (1, ""),
    ("count", "in"): (1, ""),
}
"""The fewest decimals where figures as a rule would not do, and their unit."""


def _in_unit(value: float, quantity: Quantity, unit: Unit) -> float:
    if quantity == "volume":
        return value / (1000 if unit == "mm" else MM_PER_INCH**3)
    return value / MM_PER_INCH if quantity == "length" and unit == "in" else value


def _rounded(value: float, quantity: Quantity, unit: Unit, decimals: int) -> str:
    number = show_number(_in_unit(value, quantity, unit), decimals)
    return f"{number}{_DECIMALS[quantity, unit][1]}"


def _rounded_up(value: float, quantity: Quantity, unit: Unit, decimals: int, spare: int = 0) -> str:
    """Never less than it is, and by a number of units of its last decimal more."""
    last = Decimal(1).scaleb(-decimals)
    up = Decimal(_in_unit(value, quantity, unit)).quantize(last, ROUND_CEILING) + spare * last
    return f"{show_number(float(up), decimals)}{_DECIMALS[quantity, unit][1]}"
