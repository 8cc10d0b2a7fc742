"""Design files: read, and written back with the builder's comments kept.

A file is TOML 1.0. Writing changes the lines of changed keys and nothing else.
"""

import tomllib
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from carve.design.models import Design, plain
from carve.design.profile import Profile, write_profile
from carve.design.reading import read_design, read_key, value_at
from carve.design.units import MM_PER_INCH, Place, Unit, read_length
from carve.errors import DesignError, FileTrouble, because


def load(path: Path) -> Design:
    """Read a design file.

    Raises FileTrouble where it cannot be read, DesignError where it is wrong.
    """
    return parse(read_text(path), str(path))


def parse(text: str, name: str = "the design") -> Design:
    """Read a design from TOML text. name: what to call it in a sentence.

    Raises DesignError.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise DesignError([f"{name} is not TOML: {error}"]) from None
    return read_design(data)


def read_text(path: Path) -> str:
    """The text of a design file. Raises FileTrouble, DesignError where it is not text."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise DesignError([f"{path} is not TOML: it is not UTF-8 text"]) from None
    except OSError as error:
        raise FileTrouble(f"{path} cannot be read: {because(error)}") from None


def rewrite(text: str, design: Design) -> str:
    """The text of a design file with the design's values in it.

    text: the file the design came from, as it stands now. Comments, order and spelling
    of keys whose value is the same stay as they are.
    Raises DesignError where ``text`` is no longer a design.
    """
    before = parse(text)
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as error:
        raise DesignError([f"the design is not TOML: {error}"]) from None
    unit: Unit = before.units
    for key in changed_keys(before, design):
        *way, last = read_key(key)
        table: Any = document
        for step in way:
            if not isinstance(step, int) and step not in table:
                table[step] = tomlkit.table()
            table = table[step]
        old = table.get(last) if hasattr(table, "get") else None
        table[last] = _written(value_at(design, key), old, unit)
    return tomlkit.dumps(document)


def changed_keys(before: Design, after: Design) -> list[str]:
    """The keys whose values differ. Both designs have the same tables and stations."""

    def walk(old: Any, new: Any, key: str) -> list[str]:
        if isinstance(new, dict):
            old = old if isinstance(old, dict) else {}
            return [
                found
                for name in new
                for found in walk(old.get(name), new[name], f"{key}.{name}".lstrip("."))
            ]
        if isinstance(new, list):
            return [
                found
                for number, (one, other) in enumerate(zip(old, new, strict=True))
                for found in walk(one, other, f"{key}[{number}]")
            ]
        return [] if old == new else [key]

    return walk(plain(before), plain(after), "")


def _written(value: Any, old: Any, unit: Unit) -> Any:
    if isinstance(value, Profile):
        return _inline(write_profile(value))
    if isinstance(value, Place):
        return f"fret {value.fret:g}" if value.fret is not None else f"{value.length:.6g} mm"
    if isinstance(value, str) or not isinstance(value, float):
        return value
    if isinstance(old, str):
        # a length spelled with a unit keeps it; text without one is in the file's unit
        own = unit if read_length(old, "mm") != read_length(old, "in") else _spelled(old)
        number = value / MM_PER_INCH if own == "in" else value
        return f"{round(number, 4):g} {own}"
    return round(value / MM_PER_INCH, 4) if unit == "in" else round(value, 4)


def _spelled(text: str) -> Unit:
    lowered = text.lower()
    return "in" if "in" in lowered or '"' in lowered or "″" in lowered else "mm"


def _inline(value: str | dict[str, Any]) -> Any:
    if isinstance(value, str):
        return value
    table = tomlkit.inline_table()
    for name, inner in value.items():
        table[name] = _inline(inner) if not isinstance(inner, float) else round(inner, 4)
    return table
