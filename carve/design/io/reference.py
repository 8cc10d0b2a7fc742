"""The reference of all keys of a design file, made from the models that read it."""

import typing
from collections.abc import Iterator
from typing import Any

from pydantic.fields import FieldInfo

from carve.design.io.parse import kind_of, table_in
from carve.design.schema.design import Design
from carve.design.schema.fields import Along, Count, FretList, Length, Number, Points, Ratios, Spots
from carve.design.schema.outline import ADrawing
from carve.design.schema.table import Table
from carve.design.values.profile import LETTERS, Profile

_HEAD = """\
# Keys of a design file

Made from the models that read the file: `carve keys` prints it.

A design file is TOML. Lengths are numbers in the file's `units`, or text with a unit of
their own: `648`, `"648 mm"`, `"25.5 in"`, `"25 1/2 in"`, `"1 11/16 in"`. Places along the
neck are `"fret 12"`, `"nut"`, or a length from the nut. Ranges are given in mm.

"""

_PROFILES = """\
## Profiles

A letter is a name for two dials, 0 to 1. `shoulder` says how full the section is between
edge and keel, `keel` how pointed the back is. Between stations the dials change smoothly.
Write `shape = "C"`, or `shape = { shoulder = 0.6, keel = 0.25 }`, or each side apart:
`shape = { bass = "C", treble = { shoulder = 0.4, keel = 0.3 } }`.

"""


def reference() -> str:
    """Every key with its kind, range, default and meaning, as Markdown."""
    rows = ["| key | holds | default | meaning |", "| --- | --- | --- | --- |"]
    rows += [
        f"| `{key}` | {_holds(field)} | {_default(field)} | {field.description or ''} |"
        for key, field in keys(Design)
    ]
    letters = ["| letter | shoulder | keel |", "| --- | --- | --- |"]
    letters += [
        f"| {name} | {dials.shoulder:g} | {dials.keel:g} |" for name, dials in LETTERS.items()
    ]
    return _HEAD + "\n".join(rows) + "\n\n" + _PROFILES + "\n".join(letters) + "\n"


def keys(table: type[Table], prefix: str = "") -> Iterator[tuple[str, FieldInfo]]:
    """Every key of a table and of the tables in it: ``neck.stations[].thickness``.

    A table that may be left out comes itself, before its keys.
    """
    for name, field in table.model_fields.items():
        key = f"{prefix}{name}"
        inner = table_in(field.annotation)
        if inner is None:
            yield key, field
        else:
            if not field.is_required():
                yield key, field
            many = typing.get_origin(field.annotation) is tuple
            yield from keys(inner, f"{key}[]." if many else f"{key}.")


def _holds(field: FieldInfo) -> str:
    if table_in(field.annotation) is not None:
        return "table, may be left out"
    kind = kind_of(field)
    if isinstance(kind, Count):
        return f"whole number, {kind.lowest} to {kind.highest}"
    if isinstance(kind, FretList):
        return "list of frets"
    if isinstance(kind, Spots):
        ranges = (f"{s.lowest:g} to {s.highest:g}" for _, s in (kind.first, kind.second))
        return f"list of pairs of lengths, {' and '.join(ranges)} mm"
    if isinstance(kind, Points):
        return f"list of points, {kind.fewest} or more"
    if field.annotation is bool:
        return "true or false"
    if isinstance(kind, Ratios):
        return "one word, or list of ratios"
    if isinstance(kind, ADrawing):
        return "name of a file"
    many = "list of " if _is_list(field.annotation) else ""
    if many and not isinstance(kind, Length | Number | Along | Count | FretList | Ratios):
        return "list of words"
    if isinstance(kind, Length):
        word = f', or "{kind.word}"' if kind.word else ""
        return f"{many}length{'s' if many else ''}, {kind.lowest:g} to {kind.highest:g} mm{word}"
    if isinstance(kind, Number):
        return f"number, {kind.lowest:g} to {kind.highest:g}"
    if isinstance(kind, Along):
        return "list of places along the neck" if many else "place along the neck"
    if field.annotation is Profile:
        return "profile"
    words = (field.annotation, *typing.get_args(field.annotation))
    one = any(typing.get_origin(part) is typing.Literal for part in words)
    return "one word" if one else "text"


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "needed"
    if field.default_factory is not None:
        return "as below"
    value = field.default
    if value is None:
        return "none"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, float):
        return f"{value:g} mm" if isinstance(kind_of(field), Length) else f"{value:g}"
    return f"`{list(value) if isinstance(value, tuple) else value}`"


def _is_list(annotation: Any) -> bool:
    """Whether an annotation such as ``tuple[float, ...] | None`` holds a list."""
    return typing.get_origin(annotation) is tuple or any(
        typing.get_origin(part) is tuple for part in typing.get_args(annotation)
    )
