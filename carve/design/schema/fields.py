"""What a key of the design file may hold: its unit, its range, its dial.

Each kind reads what the builder wrote and says in one sentence what is wrong with it.
The same kinds tell the reference of keys and the lab what they need to know, so a key
is described in one place only.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, cast

from pydantic import GetCoreSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from carve.design.values.quote import quoted
from carve.design.values.units import (
    MM_PER_INCH,
    Place,
    Unit,
    read_length,
    read_place,
    show_length,
    show_number,
)

ROUNDING = 0.0002  # mm; an inch written with five decimals is no further off than this
LONGEST_SCALE = 1300.0  # mm
MOST_FRETS = 48  # four octaves
HIGHEST_RATIO = 16.0  # four octaves
MOST_POINTS = 5000  # some programs give a curve away as points; more come from a drawing

_RATIO = re.compile(r"\s*(?P<above>\d{1,9})\s*/\s*(?P<below>\d{1,9})\s*")


@dataclass(frozen=True)
class Dial:
    """The travel of a dial in the lab, in the key's own unit (mm, or a plain number)."""

    lowest: float
    highest: float
    step: float


def _sentence(text: str) -> PydanticCustomError:
    # pydantic fills {braces} in a template: the text must come in as a value
    return PydanticCustomError("carve", cast(Any, "{text}"), {"text": text})


def _units(info: core_schema.ValidationInfo) -> tuple[Unit, Unit]:
    """The unit of bare numbers, and the unit to speak to the builder in."""
    context = cast(Mapping[str, Any], info.context or {})
    unit: Unit = context.get("unit", "mm")
    return unit, context.get("spoken", unit)


def _as_written(value: float | str, unit: Unit, length: float, spoken: Unit) -> str:
    """A length as it stands in the file, and in the unit of the sentence where that differs."""
    text = quoted(value) if isinstance(value, str) else f"{value:.10g} {unit}"
    if spoken in text:
        return text
    return f"{text} ({length / (MM_PER_INCH if spoken == 'in' else 1):.6g} {spoken})"


@dataclass(frozen=True)
class Length:
    """A length; mm inside. lowest, highest: mm, both allowed. word: one that may stand for it."""

    lowest: float
    highest: float
    dial: Dial | None = None
    word: str = ""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def read(self, value: Any, info: core_schema.ValidationInfo) -> float | str:
        """The length in mm that a value of the file means, or the word that stands for one.

        One sentence where it is neither.
        """
        unit, spoken = _units(info)
        if self.word and isinstance(value, str) and value.strip().lower() == self.word:
            return self.word
        try:
            length = read_length(value, unit)
        except ValueError as error:
            raise _sentence(str(error)) from None
        if not self.lowest - ROUNDING <= length <= self.highest + ROUNDING:
            written = _as_written(value, unit, length, spoken)
            raise _sentence(f"{written} is not allowed; {self.allowed(spoken)}")
        return min(max(length, self.lowest), self.highest)

    def allowed(self, unit: Unit) -> str:
        """The range in words. In inches the ends are rounded inward: what it says is allowed."""
        or_word = f', or "{self.word}"' if self.word else ""
        if unit == "mm":
            lowest, highest = show_length(self.lowest, unit), show_length(self.highest, unit)
            return f"from {lowest} to {highest}{or_word}"
        lowest_in = math.ceil(self.lowest / MM_PER_INCH * 1000) / 1000
        highest_in = math.floor(self.highest / MM_PER_INCH * 1000) / 1000
        return f"from {show_number(lowest_in, 3)} in to {show_number(highest_in, 3)} in{or_word}"


@dataclass(frozen=True)
class Number:
    """A plain number. lowest, highest: both allowed. unit: its sign, empty without one."""

    lowest: float
    highest: float
    dial: Dial | None = None
    unit: str = ""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self._read)

    def _read(self, value: Any, info: core_schema.ValidationInfo) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _sentence(f"{quoted(value)} is not a number; {self.allowed()}")
        if not self.lowest <= value <= self.highest:  # nan is never within
            raise _sentence(f"{quoted(value)} is not allowed; {self.allowed()}")
        return float(value)

    def allowed(self) -> str:
        """The range in words."""
        return f"a number from {self.lowest:g} to {self.highest:g}{self.unit}"


@dataclass(frozen=True)
class Along:
    """A place along the neck, as ``read_place`` takes it."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self._read)

    def _read(self, value: Any, info: core_schema.ValidationInfo) -> Place:
        unit, spoken = _units(info)
        try:
            place = read_place(value, unit)
        except ValueError as error:
            raise _sentence(str(error)) from None
        if place.fret is not None and place.fret > MOST_FRETS:
            raise _sentence(f"{quoted(value)} is not allowed; from fret 0 to fret {MOST_FRETS}")
        if place.length is not None and not 0 <= place.length <= LONGEST_SCALE:
            written = _as_written(value, unit, place.length, spoken)
            raise _sentence(
                f"{written} is not allowed; a place lies from 0 {spoken} to "
                f"{show_length(LONGEST_SCALE, spoken)} from the nut"
            )
        return place

    def allowed(self) -> str:
        """What may be written, in words."""
        return '"fret 12", "nut", or a length from the nut'


@dataclass(frozen=True)
class Count:
    """A whole number. lowest, highest: both allowed."""

    lowest: int
    highest: int

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def _read(self, value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int | float) or value % 1 != 0:
            raise _sentence(f"{quoted(value)} is not a whole number; {self.allowed()}")
        if not self.lowest <= value <= self.highest:
            raise _sentence(f"{quoted(value)} is not allowed; {self.allowed()}")
        return int(value)

    def allowed(self) -> str:
        """The range in words."""
        return f"a whole number from {self.lowest} to {self.highest}"


@dataclass(frozen=True)
class FretList:
    """Numbers of frets, each once, in rising order."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def _read(self, value: Any) -> tuple[int, ...]:
        if not isinstance(value, list | tuple):
            raise _sentence(f"{quoted(value)} is not a list; {self.allowed()}")
        for fret in value:
            if isinstance(fret, bool) or not isinstance(fret, int) or not 1 <= fret <= MOST_FRETS:
                raise _sentence(f"{quoted(fret)} is not a fret; {self.allowed()}")
        if any(second <= first for first, second in pairwise(value)):
            raise _sentence(f"{quoted(value)} is not in rising order; {self.allowed()}")
        return tuple(value)

    def allowed(self) -> str:
        """What may be written, in words."""
        return f"a list such as [3, 5, 7, 12], rising, each from 1 to {MOST_FRETS}"


@dataclass(frozen=True)
class Spots:
    """Places on a plan, each a pair of lengths. first, second: what they are and their ranges."""

    first: tuple[str, Length]
    second: tuple[str, Length]

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self._read)

    def _read(
        self, value: Any, info: core_schema.ValidationInfo
    ) -> tuple[tuple[float, float], ...]:
        if not isinstance(value, list | tuple):
            raise _sentence(f"{quoted(value)} is not a list; {self.allowed()}")
        return tuple(self._pair(number, item, info) for number, item in enumerate(value))

    def _pair(
        self, number: int, item: Any, info: core_schema.ValidationInfo
    ) -> tuple[float, float]:
        if not isinstance(item, list | tuple) or len(item) != 2:
            raise _sentence(f"[{number}], {quoted(item)}, is not a pair; {self.allowed()}")
        pair = []
        for (name, length), part in zip((self.first, self.second), item, strict=True):
            try:
                pair.append(float(length.read(part, info)))
            except PydanticCustomError as error:
                raise _sentence(f"[{number}], {name}: {error.message()}") from None
        return pair[0], pair[1]

    def allowed(self) -> str:
        """What may be written, in words."""
        return f"write a list of pairs [{self.first[0]}, {self.second[0]}]"


@dataclass(frozen=True)
class Ratios:
    """A temperament: None for twelve equal semitones, or a rising ratio for each fret."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def _read(self, value: Any) -> tuple[float, ...] | None:
        if value is None or (isinstance(value, str) and value.strip().lower() == "equal"):
            return None
        if not isinstance(value, list | tuple) or not value:
            raise _sentence(f"{quoted(value)} is not a temperament; {self.allowed()}")
        if len(value) > MOST_FRETS:
            raise _sentence(f"{len(value)} ratios are not allowed; at most {MOST_FRETS} frets")
        ratios = tuple(self._ratio(item) for item in value)
        for number, (lower, higher) in enumerate(pairwise((1.0, *ratios)), start=1):
            if not lower < higher <= HIGHEST_RATIO:
                raise _sentence(
                    f"fret {number}'s ratio, {quoted(value[number - 1])}, is not allowed; each "
                    f"is greater than the one before it, the first than 1, and none is greater "
                    f"than {HIGHEST_RATIO:g}"
                )
        return ratios

    def _ratio(self, item: Any) -> float:
        if isinstance(item, int | float) and not isinstance(item, bool):
            return float(min(item, 1e9))  # a whole number in a file may have any number of digits
        match = _RATIO.fullmatch(item) if isinstance(item, str) else None
        if match is None or int(match["below"]) == 0:
            raise _sentence(f"{quoted(item)} is not a ratio; {self.allowed()}")
        return int(match["above"]) / int(match["below"])

    def allowed(self) -> str:
        """What may be written, in words."""
        return 'write "equal", or a list with a ratio for each fret such as [1.0595, "9/8", "6/5"]'


@dataclass(frozen=True)
class Points:
    """A closed chain of points: pairs of x and y in mm. fewest: how many there are at least."""

    fewest: int
    reach: float = 1500.0  # mm from the origin; no instrument is larger

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self._read)

    def _read(
        self, value: Any, info: core_schema.ValidationInfo
    ) -> tuple[tuple[float, float], ...]:
        if not isinstance(value, list | tuple):
            raise _sentence(f"{quoted(value)} is not a list of points; {self.allowed()}")
        if not self.fewest <= len(value) <= MOST_POINTS:
            raise _sentence(f"{len(value)} points are not allowed; {self.allowed()}")
        numbered = enumerate(value, start=1)
        return tuple(self._point(number, item, *_units(info)) for number, item in numbered)

    def _point(self, number: int, item: Any, unit: Unit, spoken: Unit) -> tuple[float, float]:
        if not isinstance(item, list | tuple) or len(item) != 2:
            raise _sentence(f"point {number}, {quoted(item)}, is not a pair; {self.allowed()}")
        try:
            x, y = (read_length(value, unit) for value in item)
        except ValueError as error:
            raise _sentence(f"point {number}: {error}") from None
        if max(abs(x), abs(y)) > self.reach:
            raise _sentence(
                f"point {number}, {quoted(item)}, is not allowed; a point lies within "
                f"{show_length(self.reach, spoken)} of the origin"
            )
        return x, y

    def allowed(self) -> str:
        """What may be written, in words."""
        return f"a list of {self.fewest} to {MOST_POINTS} points such as [[0, 0], [120, 45.5]]"
