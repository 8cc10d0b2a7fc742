"""Design files: read, and written back with the builder's comments kept.

A file is TOML 1.0. Writing changes the lines of changed keys and nothing else.
"""

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from carve.design.drawing.source import DrawingFile, DrawingSource, beside, known, no_drawings
from carve.design.io.parse import field_at, kind_of, read_design, read_key, show_key, value_at
from carve.design.io.toml_trouble import LARGEST_DESIGN, TOO_LARGE, tables
from carve.design.schema.design import Design, plain
from carve.design.schema.fields import Number
from carve.design.schema.outline import drawings_in
from carve.design.values.profile import Profile, write_profile
from carve.design.values.regular_file import NotRead, TooLarge, read_regular, shown_path
from carve.design.values.units import (
    MM_PER_INCH,
    Place,
    Unit,
    read_length,
    show_number,
    spelled_unit,
)
from carve.errors import DesignError, FileTrouble

MM_DECIMALS, IN_DECIMALS = 4, 5
BYTE_ORDER_MARK = "\ufeff"  # some editors put it first; it is no part of the text


def load(file: str | Path) -> Design:
    """Read a design file, and the drawings it names, which lie beside it.

    Raises FileTrouble where it cannot be read, DesignError where it is wrong.

    >>> load("examples/wren.toml").title
    'Wren'
    """
    path = Path(file)
    return parse(read_text(path), f"the design file {shown_path(path)}", path.parent)


def parse(text: str, name: str = "the design", folder: Path | None = None) -> Design:
    """Read a design from TOML text.

    name: what to call it in a sentence. folder: where the drawings lie that it names.
    Raises DesignError.
    """
    return _read(text, name, no_drawings if folder is None else beside(folder))


def _read(text: str, name: str, drawings: DrawingSource) -> Design:
    return read_design(tables(text.removeprefix(BYTE_ORDER_MARK), name), drawings=drawings)


def read_text(path: Path) -> str:
    """The text of a design file, its line ends as they are.

    Raises FileTrouble, DesignError where it is not text or too much of it.
    """
    name = f"the design file {shown_path(path)}"
    try:
        return read_regular(path, LARGEST_DESIGN).decode("utf-8")
    except UnicodeDecodeError:
        raise DesignError([f"{name} is not TOML: it is not UTF-8 text"]) from None
    except TooLarge as error:
        raise DesignError([f"{name} {error}{TOO_LARGE}"]) from None
    except NotRead as error:
        raise FileTrouble(f"{name} {error}") from None


def rewrite(text: str, design: Design) -> str:
    """The text of a design file with the design's values in it.

    text: the file the design came from, as it stands now. Comments, order and spelling
    of keys whose value is the same stay as they are. Lengths are written to 0.0001 mm or
    0.00001 in. A drawing is written by its name; its file is not looked at.
    Raises DesignError where ``text`` is no longer a design, or one with other stations.
    """
    import tomlkit  # only what writes a file needs it

    drawings = known(drawings_in(design))
    before = _read(text, "the design", drawings)
    if len(before.neck.stations) != len(design.neck.stations):
        raise DesignError(
            [
                f"neck.stations: the file now has {len(before.neck.stations)} and the design "
                f"{len(design.neck.stations)}; read the file again"
            ]
        )
    mark = BYTE_ORDER_MARK if text.startswith(BYTE_ORDER_MARK) else ""
    try:
        document = tomlkit.parse(text.removeprefix(BYTE_ORDER_MARK))
    except ValueError:  # it is stricter than what has just read the text, in some corners
        raise DesignError(["the design: its text cannot be changed line by line"]) from None
    for key in changed_keys(before, design):
        *way, last = read_key(key)
        table: Any = document
        for depth, step in enumerate(way, start=1):
            if not isinstance(step, int) and step not in table:
                table[step] = tomlkit.table()
            elif not isinstance(table[step], dict | list):
                table[step] = _opened(table[step], before, way[:depth])
            table = table[step]
        value = value_at(design, key)
        if value is None:
            del table[last]
        else:
            table[last] = _written(value, table.get(last), _unit_of(key, before.units))
    written = mark + tomlkit.dumps(document)
    _read(written, "the design", drawings)  # what could not be read again is not given out
    return written


def rounding_of(text: str, design: Design) -> Callable[[str, Any], Any]:
    """How a design file rounds: a function of a key and a value that gives what it would keep.

    text: of the file. design: the one read from it. A number keeps the digits that ``rewrite``
    writes at its key, in the unit it is spelled in there; what is no number stays as it is.
    """
    written = tables(text.removeprefix(BYTE_ORDER_MARK), "the design")

    def kept(key: str, value: Any) -> Any:
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if not is_number or not math.isfinite(value):
            return value
        unit = _unit_of(key, design.units)
        return read_length(_length(value, _spelled(written, design, key), unit), unit)

    return kept


def _spelled(written: dict[str, Any], design: Design, key: str) -> Any:
    """What stands in a file at a key, None where nothing does."""
    way = read_key(key)
    found: Any = written
    for depth, step in enumerate(way):
        if isinstance(step, int):
            found = found[step] if isinstance(found, list) and step < len(found) else None
        elif isinstance(found, dict):
            found = found.get(step)
        elif found is not None:  # a bare value, which stands for one key of a table
            table = value_at(design, show_key(way[:depth]))
            found = found if getattr(table, "BARE", None) == step else None
    return found


def _unit_of(key: str, unit: Unit) -> Unit:
    """The unit that numbers at a key are written in: plain ones, degrees say, are as they are."""
    _, field = field_at(read_key(key))
    return "mm" if field is not None and isinstance(kind_of(field), Number) else unit


def _opened(bare: Any, before: Design, path: Sequence[str | int]) -> Any:
    """The table that a bare value stands for: ``radius = "12 in"`` for ``{ nut = "12 in" }``."""
    import tomlkit

    table, found = tomlkit.inline_table(), value_at(before, show_key(path))
    if found is not None:  # a word such as "flat" stands for no table at all
        table[found.BARE] = bare
    return table


def changed_keys(before: Design, after: Design) -> list[str]:
    """The keys whose values differ, new and left out ones too.

    Both designs have the same number of stations.
    """

    def walk(old: Any, new: Any, key: str) -> list[str]:
        if isinstance(new, dict):
            old = old if isinstance(old, dict) else {}
            return [
                found
                for name in old | new
                for found in walk(old.get(name), new.get(name), f"{key}.{name}".lstrip("."))
            ]
        if isinstance(new, list) and isinstance(old, list) and _tables_in(old + new):
            return [
                found
                for number, (one, other) in enumerate(zip(old, new, strict=True))
                for found in walk(one, other, f"{key}[{number}]")
            ]
        return [] if old == new else [key]

    return walk(plain(before), plain(after), "")


def _tables_in(items: list[Any]) -> bool:
    return any(isinstance(item, dict) for item in items)


def _written(value: Any, old: Any, unit: Unit) -> Any:
    """A value as it goes into the file, spelled like the one that stands there."""
    if isinstance(value, tuple):
        spelled = old if isinstance(old, list) and len(old) == len(value) else [None] * len(value)
        return [_written(one, other, unit) for one, other in zip(value, spelled, strict=True)]
    if isinstance(value, Profile):
        return _inline(write_profile(value))
    if isinstance(value, DrawingFile):
        return value.name
    if isinstance(value, Place):
        if value.length is None:
            return value.show(unit)
        return _length(value.length, old, unit)
    return _length(value, old, unit) if isinstance(value, float) else value


def _length(mm: float, old: Any, unit: Unit) -> Any:
    if not isinstance(old, str):
        return round(mm / MM_PER_INCH, IN_DECIMALS) if unit == "in" else round(mm, MM_DECIMALS)
    if (spelled_unit(old) or unit) == "in":
        return f"{show_number(mm / MM_PER_INCH, IN_DECIMALS)} in"
    return f"{show_number(mm, MM_DECIMALS)} mm"


def _inline(value: str | dict[str, Any]) -> Any:
    if isinstance(value, str):
        return value
    import tomlkit

    table = tomlkit.inline_table()
    for name, inner in value.items():
        table[name] = round(inner, 4) if isinstance(inner, float) else _inline(inner)
    return table
