"""What a key of the design file may hold: its unit, its range, its dial.

Each kind reads what the builder wrote and says in one sentence what is wrong with it.
The same kinds tell the reference of keys and the lab what they need to know, so a key
is described in one place only.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from pydantic import GetCoreSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from carve.design.quoting import quoted
from carve.design.units import (
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
    """A length; mm inside. lowest, highest: mm, both allowed."""

    lowest: float
    highest: float
    dial: Dial | None = None

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self._read)

    def _read(self, value: Any, info: core_schema.ValidationInfo) -> float:
        unit, spoken = _units(info)
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
        if unit == "mm":
            return f"from {show_length(self.lowest, unit)} to {show_length(self.highest, unit)}"
        lowest = math.ceil(self.lowest / MM_PER_INCH * 1000) / 1000
        highest = math.floor(self.highest / MM_PER_INCH * 1000) / 1000
        return f"from {show_number(lowest, 3)} in to {show_number(highest, 3)} in"


@dataclass(frozen=True)
class Number:
    """A plain number without unit. lowest, highest: both allowed."""

    lowest: float
    highest: float
    dial: Dial | None = None

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
        return f"a number from {self.lowest:g} to {self.highest:g}"


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
