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

from carve.design.units import Place, Unit, read_length, read_place, show_length


@dataclass(frozen=True)
class Dial:
    """The travel of a dial in the lab, in the key's own unit (mm, or a plain number)."""

    lowest: float
    highest: float
    step: float


def _sentence(text: str) -> PydanticCustomError:
    # pydantic fills {braces} in a template: the text must come in as a value
    return PydanticCustomError("carve", cast(Any, "{text}"), {"text": text})


def file_unit(info: core_schema.ValidationInfo) -> Unit:
    """The unit of bare numbers in the file that is being read."""
    return cast(Unit, cast(Mapping[str, Any], info.context or {}).get("unit", "mm"))


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
        unit = file_unit(info)
        try:
            length = read_length(value, unit)
        except ValueError as error:
            raise _sentence(str(error)) from None
        if not self.lowest <= length <= self.highest:
            raise _sentence(f"{show_length(length, unit)} is not allowed; {self.allowed(unit)}")
        return length

    def allowed(self, unit: Unit) -> str:
        """The range in words."""
        return f"from {show_length(self.lowest, unit)} to {show_length(self.highest, unit)}"


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
            raise _sentence(f'"{value}" is not a number; {self.allowed()}')
        if not math.isfinite(value) or not self.lowest <= value <= self.highest:
            raise _sentence(f"{value:g} is not allowed; {self.allowed()}")
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
        try:
            place = read_place(value, file_unit(info))
        except ValueError as error:
            raise _sentence(str(error)) from None
        if place.length is not None and place.length < 0:
            raise _sentence(
                f"{show_length(place.length, file_unit(info))} is not allowed; "
                "a place lies at the nut or beyond it"
            )
        return place
