"""Lengths and places as builders write them, read into millimetres.

Lengths: ``648``, ``"648 mm"``, ``"25.5 in"``, ``"25 1/2 in"``, ``'1-11/16"'``.
Places along the neck: ``"fret 12"``, ``"nut"``, or a length from the nut.
"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from carve.design.values.quote import quoted
from carve.errors import DesignError

Unit = Literal["mm", "in"]

MM_PER_INCH = 25.4  # exact by definition (international inch, 1959)

MM_PER_UNIT: dict[Unit, float] = {"mm": 1.0, "in": MM_PER_INCH}

_SPELLINGS: dict[str, Unit] = {
    "mm": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "in": "in",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "″": "in",
}

# possessive where digits repeat: trying again takes a time that grows with their square
_NUMBER = re.compile(
    r"""(?P<sign>[+\-−]?)\s*
    (?:
        (?P<whole>\d{1,6})(?:\s+|\s*-\s*)(?P<n1>\d{1,6})\s*/\s*(?P<d1>\d{1,6})  # 1-11/16
      | (?P<n2>\d{1,6})\s*/\s*(?P<d2>\d{1,6})                                   # 11/16
      | (?P<decimal>(?:\d++\.?+\d*+|\.\d++))                                     # 25.5
    )
    \s*(?P<unit>[^\d\s.,/+\-−].*)?""",
    re.VERBOSE,
)

_HOW_TO_WRITE = 'write a number, or text such as "648 mm", "25.5 in" or "1 11/16 in"'


def read_length(value: object, unit: Unit) -> float:
    """Read a length.

    value: a number in ``unit``, or text with an optional unit of its own.
    Returns mm. Raises ValueError with a sentence where it is not a finite length.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(f"{quoted(value)} is not a length; {_HOW_TO_WRITE}")
    if isinstance(value, str):
        number, unit = _read_text(value, unit)
    else:
        number = _as_float(value)
    if not math.isfinite(number):
        raise ValueError(f"{quoted(value)} is not a finite length; {_HOW_TO_WRITE}")
    return number * MM_PER_UNIT[unit]


def read_length_argument(
    name: str, text: str, lowest: float = 0.001, highest: float = 1.0
) -> float:
    """A length given on the command line or in a box of the lab. Returns mm.

    Raises DesignError where it is none or out of range (mm).
    """
    try:
        length = read_length(text, "mm")
    except ValueError as error:
        raise DesignError([f"{name}: {error}"]) from None
    if not lowest <= length <= highest:
        raise DesignError(
            [
                f"{name}: {quoted(text)} is not allowed; "
                f"from {show_length(lowest, 'mm')} to {show_length(highest, 'mm')}"
            ]
        )
    return length


def _read_text(text: str, unit: Unit) -> tuple[float, Unit]:
    match = _NUMBER.fullmatch(text.strip())
    if match is None:
        raise ValueError(f"{quoted(text)} is not a length; {_HOW_TO_WRITE}")
    if match["unit"]:
        spelled = _SPELLINGS.get(match["unit"].lower())
        if spelled is None:
            raise ValueError(
                f"{quoted(text)} has the unit {quoted(match['unit'])}; "
                "only mm and in are understood"
            )
        unit = spelled
    if match["decimal"]:
        number = float(match["decimal"])
    else:
        below = int(match["d1"] or match["d2"])
        if below == 0:
            raise ValueError(f"{quoted(text)} divides by zero; {_HOW_TO_WRITE}")
        number = float(int(match["whole"] or 0) + Fraction(int(match["n1"] or match["n2"]), below))
    return (-number if match["sign"] in ("-", "−") else number), unit


def _as_float(number: int | float) -> float:
    try:
        return float(number)
    except OverflowError:  # a whole number in a file may have any number of digits
        return math.inf


def spelled_unit(text: str) -> Unit | None:
    """The unit that a length written as text gives itself, or None where it gives none."""
    match = _NUMBER.fullmatch(text.strip())
    return _SPELLINGS.get(match["unit"].lower()) if match and match["unit"] else None


def show_length(mm: float, unit: Unit) -> str:
    """A length as a builder would read it off: ``42.86 mm``, ``1 11/16 in``, ``0.807 in``.

    mm: length in mm. Inches come as a fraction where the length is a whole number
    of 64ths (to 0.001 in), else with three decimals. Below 0.1 mm there is one more, so that
    what is missing somewhere is not told as nothing.
    """
    if not math.isfinite(mm):
        return "none"
    if unit == "mm":
        return f"{show_number(mm, 2 if abs(mm) >= 0.1 else 4)} mm"
    inches = mm / MM_PER_INCH
    sixtyfourths = round(abs(inches) * 64)
    if sixtyfourths and abs(abs(inches) * 64 - sixtyfourths) < 64 * 0.0005:
        whole, rest = divmod(Fraction(sixtyfourths, 64), 1)
        parts = [str(whole)] if whole else []
        parts += [f"{rest.numerator}/{rest.denominator}"] if rest else []
        return f"{'-' if inches < 0 else ''}{' '.join(parts)} in"
    return f"{show_number(inches, 3 if abs(mm) >= 0.1 else 4)} in"


def show_no_less(mm: float, unit: Unit) -> str:
    """A length that must be reached, told so that who takes it by the word has enough.

    mm: length in mm, 0 or more. It is rounded up: to 0.01 mm, to 0.001 in or, where a 64th of an
    inch is no further away than that, to the 64th.
    """
    if unit == "mm":
        return show_length(math.ceil(mm * 100 - _SAME) / 100, unit)
    inches = mm / MM_PER_INCH
    sixtyfourths = math.ceil(inches * 64 - _SAME) / 64
    if sixtyfourths - inches < 0.001:
        return show_length(sixtyfourths * MM_PER_INCH, unit)
    return f"{show_number(math.ceil(inches * 1000 - _SAME) / 1000, 3)} in"


_SAME = 1e-6  # of a last digit, which a sum of lengths may be off


def show_number(number: float, decimals: int) -> str:
    """A number with at most so many decimals, and no zeros at its end."""
    text = f"{number:.{decimals}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def fret_distance(fret: float, scale_length: float) -> float:
    """Distance from the nut to a fret of equal temperament.

    fret: number of the fret, fractions allowed. scale_length: mm. Returns mm.
    L (1 - 2^(-n/12)): twelve equal semitones, any text on musical acoustics.
    """
    return float(scale_length * -math.expm1(-fret / 12 * math.log(2)))


def equal_temperament(fret: float) -> float:
    """Ratio of a fret's pitch to the open string's in twelve equal semitones, 2^(n/12)."""
    return float(2.0 ** (fret / 12))


@dataclass(frozen=True)
class Place:
    """A place along the neck: a fret, or a distance from the nut.

    fret: fret number, or None. length: mm from the nut, or None. One of them is set.
    """

    fret: float | None = None
    length: float | None = None

    def mm(self, scale_length: float) -> float:
        """Distance from the nut in mm on a scale of ``scale_length`` mm."""
        if self.fret is not None:
            return fret_distance(self.fret, scale_length)
        assert self.length is not None
        return self.length

    def show(self, unit: Unit) -> str:
        """The place in the builder's words: ``fret 12`` or ``240 mm from the nut``."""
        if self.fret is not None:
            return "nut" if self.fret == 0 else f"fret {self.fret:g}"
        assert self.length is not None
        return f"{show_length(self.length, unit)} from the nut"


_FRET = re.compile(r"\s*fret\s+(?P<number>\d+(?:\.\d+)?)\s*", re.IGNORECASE)


def read_place(value: object, unit: Unit) -> Place:
    """Read a place along the neck.

    value: ``"fret 12"``, ``"nut"``, or a length from the nut as ``read_length`` takes it.
    Raises ValueError with a sentence where it is neither.
    """
    if isinstance(value, Place):
        return value
    if isinstance(value, str):
        if value.strip().lower() == "nut":
            return Place(fret=0.0)
        match = _FRET.fullmatch(value)
        if match:
            return Place(fret=float(match["number"]))
        if value.strip().lower().startswith("fret"):
            raise ValueError(f'{quoted(value)} is not a fret; write for example "fret 12"')
    try:
        return Place(length=read_length(value, unit))
    except ValueError as error:
        raise ValueError(
            str(error).split(";")[0].replace("a length", "a place")
            + '; write "fret 12", "nut", or a length from the nut'
        ) from None
