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

The third column says what stands in for a key or a table that is left out: a value, or what its
meaning says. One that must be given is given wherever the table is that it stands in: `title`
stands in the file itself, `neck.blank.length` in `[neck.blank]`, which every neck must have, and
`neck.headstock.thickness` in `[neck.headstock]`, which may be left out with all its keys.

"""

_NECK_ANGLE = """\
## Neck angle and relief

`joint.angle` is the angle between two planes: the neck's glue face, on which the fretboard lies,
and the body's edge plane, the plane of its top's rim, from which pockets are measured. It is
neither the fretboard's surface nor the strings. It is more than 0 where the headstock leans back.
Of the angle, `joint.height` and the bridge's height two say the third, by

    bridge + top - height = D sin(angle) + z cos(angle)
    angle = asin((bridge + top - height) / sqrt(D^2 + z^2)) - atan(z / D)

- `bridge` is `bridge.height`, or the middle of its range
- `top` is `bridge.top_height`, or the arch's height under the saddle, or 0
- `height` is `joint.height`, or 0 where the angle is left out too
- `D` is from the body's edge to the saddle: `scale_length` + `bridge.compensation` - `joint.at`,
  measured along the glue face
- `z` is the height of the strings' bottoms above the glue face at the saddle

All of it is on the centre line. A string is a straight line. It passes the nut at `z0` and the
12th fret at `z12`, so that
`z = z0 + (z12 - z0) (saddle - x0) / (x12 - x0)`, all measured from the nut along the glue face:

    z0  = crown + action.nut_height + b(x0), where action.nut_over is "board"; x0 = 0
    z0  = crown + action.fret_height + action.nut_height + b(x0), where it is "1st fret";
          x0 is that fret's place
    z12 = crown + action.fret_height + (action.bass + action.treble) / 2 + b(x12)

`crown` is `fretboard.thickness` and the finish on the fretboard's top, if there is any. `b(x)` is
what relief adds. The body holds the neck straight; before the body's edge it bows into an arc of
a circle that leaves the straight part without a corner:

    b(x) = R - sqrt(R^2 - (joint.at - x)^2) before the body's edge, and 0 beyond it

The radius `R` is that with which a straightedge from the first to the last fret stands
`action.relief` clear of the neck half way between them. Those frets that lie over the body lie on
the straight part, so the arc is tighter than one circle under all frets would be; on a usual neck
the angle then differs from that circle's by one or two hundredths of a degree. Where there are few
frets or none, the straightedge lies on the nut and on the body's edge, and the neck under it is
one circle.

"""

_PROFILES = """\
## Profiles

A letter is a name for two dials, 0 to 1. `shoulder` says how full the section is between
edge and keel, `keel` how pointed the back is. Between stations the dials change smoothly.
Write `shape = "C"`, or `shape = { shoulder = 0.6, keel = 0.25 }`, or each side apart:
`shape = { bass = "C", treble = { shoulder = 0.4, keel = 0.3 } }`.

"""


def reference() -> str:
    """Every key with its kind, range, what stands in for it, and meaning, as Markdown."""
    rows = ["| key | holds | left out | meaning |", "| --- | --- | --- | --- |"]
    rows += [
        f"| `{key}` | {_holds(field)} | {_default(field)} | {field.description or ''} |"
        for key, field in keys(Design)
    ]
    letters = ["| letter | shoulder | keel |", "| --- | --- | --- |"]
    letters += [
        f"| {name} | {dials.shoulder:g} | {dials.keel:g} |" for name, dials in LETTERS.items()
    ]
    return _HEAD + "\n".join(rows) + "\n\n" + _NECK_ANGLE + _PROFILES + "\n".join(letters) + "\n"


def keys(table: type[Table], prefix: str = "") -> Iterator[tuple[str, FieldInfo]]:
    """Every key of a table and of the tables in it: ``neck.stations[].thickness``.

    A table comes itself, before its keys.
    """
    for name, field in table.model_fields.items():
        key = f"{prefix}{name}"
        inner = table_in(field.annotation)
        yield key, field
        if inner is not None:
            many = typing.get_origin(field.annotation) is tuple
            yield from keys(inner, f"{key}[]." if many else f"{key}.")


def _holds(field: FieldInfo) -> str:
    if table_in(field.annotation) is not None:
        return "tables" if _is_list(field.annotation) else "table"
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
        return "must be given"
    if field.default_factory is not None:
        value = field.default_factory()  # type: ignore[call-arg]
        return "none" if value == () else "as below"
    value = field.default
    if value is None:
        return "may be left out"
    if value == ():
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
