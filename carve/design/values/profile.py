"""The profile a builder asks for at a station: two dials a side, or a letter.

``shoulder`` says how full the section is between edge and keel, ``keel`` how pointed
the back is. A letter is a name for a pair of dials, so every profile morphs into every
other.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import GetCoreSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from carve.design.values.quote import quoted


@dataclass(frozen=True)
class Dials:
    """One side of a profile. shoulder, keel: 0 to 1, no unit."""

    shoulder: float
    keel: float


LETTERS: dict[str, Dials] = {
    "V": Dials(0.25, 0.85),
    "soft V": Dials(0.35, 0.55),
    "C": Dials(0.5, 0.3),
    "D": Dials(0.85, 0.1),
    "U": Dials(1.0, 0.0),
}
"""The trade's letters as dials, from pointed to full."""

_CHOICES = ", ".join(f'"{name}"' for name in LETTERS)
_HOW_TO_WRITE = (
    f"write one of {_CHOICES}, or {{shoulder = 0 to 1, keel = 0 to 1}}, "
    "or {bass = ..., treble = ...}"
)


@dataclass(frozen=True)
class Profile:
    """A neck profile: the bass and the treble side, alike unless the builder says otherwise."""

    bass: Dials
    treble: Dials

    @property
    def symmetric(self) -> bool:
        """Whether both sides are the same."""
        return self.bass == self.treble

    @classmethod
    def __get_pydantic_core_schema__(
        cls, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(_read_for_pydantic)


def _read_for_pydantic(value: Any) -> Profile:
    try:
        return read_profile(value)
    except ValueError as error:
        raise PydanticCustomError("carve", "{text}", {"text": str(error)}) from None


def read_profile(value: object) -> Profile:
    """Read a profile as written in a design file.

    Raises ValueError with a sentence where it is none.
    """
    if isinstance(value, Profile):
        return value
    if isinstance(value, Mapping) and set(value) & {"bass", "treble"}:
        if set(value) != {"bass", "treble"}:
            raise ValueError(f"{quoted(value)} is not a profile; {_HOW_TO_WRITE}")
        return Profile(bass=_read_side(value["bass"]), treble=_read_side(value["treble"]))
    side = _read_side(value)
    return Profile(bass=side, treble=side)


def _read_side(value: object) -> Dials:
    if isinstance(value, str):
        for name, dials in LETTERS.items():
            if value.strip().lower() == name.lower():
                return dials
    elif isinstance(value, Mapping) and set(value) == {"shoulder", "keel"}:
        for name in ("shoulder", "keel"):
            number = value[name]
            if isinstance(number, bool) or not isinstance(number, int | float):
                raise ValueError(f"{name} {quoted(number)} is not a number from 0 to 1")
            if not 0 <= number <= 1:  # false for nan too
                raise ValueError(f"{name} {quoted(number)} is not allowed; a number from 0 to 1")
        return Dials(float(value["shoulder"]), float(value["keel"]))
    raise ValueError(f"{quoted(value)} is not a profile; {_HOW_TO_WRITE}")


def letter_of(dials: Dials) -> str | None:
    """The letter whose dials these are, or None."""
    return next((name for name, preset in LETTERS.items() if preset == dials), None)


def write_profile(profile: Profile) -> str | dict[str, Any]:
    """A profile as ``read_profile`` reads it, by its letter where it has one."""
    if profile.symmetric:
        return _write_side(profile.bass)
    return {"bass": _write_side(profile.bass), "treble": _write_side(profile.treble)}


def _write_side(dials: Dials) -> str | dict[str, float]:
    return letter_of(dials) or {"shoulder": dials.shoulder, "keel": dials.keel}


def show_profile(profile: Profile) -> str:
    """A profile in words: ``C``, or ``shoulder 0.6, keel 0.2``."""

    def side(dials: Dials) -> str:
        return letter_of(dials) or f"shoulder {dials.shoulder:g}, keel {dials.keel:g}"

    if profile.symmetric:
        return side(profile.bass)
    return f"bass {side(profile.bass)} / treble {side(profile.treble)}"
