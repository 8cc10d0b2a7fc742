"""From plain data to a design, and from what is wrong with it to sentences."""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from carve.design.drawing.source import DrawingSource, no_drawings
from carve.design.io.spelling import nearest_word
from carve.design.rules.contradictions import contradictions
from carve.design.schema.design import Design, plain
from carve.design.schema.fields import Along, Count, FretList, Length, Number, Points, Ratios, Spots
from carve.design.schema.table import Table
from carve.design.values.quote import quoted, quoted_key
from carve.design.values.units import Unit
from carve.errors import DesignError, first_of_each

LONGEST_LIST = 160  # characters of known keys that a sentence may name

Path = tuple[str | int, ...]
"""Where a key stands: ``("neck", "stations", 0, "thickness")``."""


def read_design(
    data: Mapping[str, Any], unit: Unit | None = None, drawings: DrawingSource = no_drawings
) -> Design:
    """Make a design from nested tables.

    data: as parsed from TOML. unit: of bare numbers; by default what ``data["units"]`` says.
    drawings: where the drawings that it names are found. Sentences speak in the unit of the file.
    Raises DesignError with every problem found.
    """
    spoken: Unit = "in" if data.get("units") == "in" else "mm"
    context = {"unit": unit or spoken, "spoken": spoken, "drawings": drawings}
    try:
        design = Design.model_validate(data, context=context)
    except ValidationError as error:
        found = error.errors()
        problems = [item for item in found if not (_unjudged(item, data) or _miscounted(item))]
        told = first_of_each(problems, _alike)
        sentences = [_sentence(item, spoken) for item in told]
        raise DesignError(sentences, len(problems) - len(told)) from None
    contradicting = contradictions(design)
    if contradicting:
        raise DesignError(contradicting)
    return design


def _alike(item: Any) -> tuple[str, ...]:
    """What the same trouble at other entries of a list has in common with this one."""
    return item["type"], *(str(step) for step in item["loc"] if not isinstance(step, int))


def _unjudged(item: Any, data: Mapping[str, Any]) -> bool:
    """Whether this is about a bare number of a file whose unit nobody knows."""
    known = data.get("units", "mm") in get_args(Unit)
    return not known and item["type"] == "carve" and isinstance(item["input"], int | float)


def _miscounted(item: Any) -> bool:
    """Whether a list is called too short only because wrong entries of it were not counted."""
    if item["type"] != "too_short":
        return False
    return len(item["input"]) >= int(item["ctx"]["min_length"])


def with_values(design: Design, changes: Mapping[str, Any]) -> Design:
    """The design with other values at some keys, held to the same rules as a file.

    changes: key as ``"neck.stations[0].thickness"`` to value; lengths in mm. Drawings that the
    design holds stay, and no file is read again.
    Raises DesignError as ``read_design``, KeyError where there is no such key.
    """
    data = plain(design)
    for key, value in changes.items():
        *way, last = read_key(key)
        table = data
        try:
            for step in way:
                table = table[step]
            table[last] = value
        except (KeyError, IndexError, TypeError):
            raise KeyError(key) from None
    return read_design(data, "mm")


def value_at(design: Design, key: str) -> Any:
    """The value at a key such as ``"neck.stations[0].thickness"``."""
    value: Any = design
    for step in read_key(key):
        value = value[step] if isinstance(step, int) else getattr(value, step)
    return value


_STEP = re.compile(r"([A-Za-z_]\w*)|\[(\d+)\]")


def read_key(key: str) -> Path:
    """``"neck.stations[0].thickness"`` as its steps."""
    return tuple(int(index) if index else name for name, index in _STEP.findall(key))


def show_key(path: Sequence[str | int]) -> str:
    """The steps of a key as one text: ``neck.stations[0].thickness``."""
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else f".{quoted_key(step)}"
    return text.lstrip(".")


def field_at(path: Sequence[str | int]) -> tuple[type[Table], FieldInfo | None]:
    """The table a key stands in, and its field if there is one by that name."""
    table: type[Table] = Design
    field: FieldInfo | None = None
    for step in path:
        if isinstance(step, int):
            continue
        if field is not None:
            inner = table_in(field.annotation)
            if inner is None:
                break
            table = inner
        field = table.model_fields.get(step)
        if field is None:
            break
    return table, field


def table_in(annotation: Any) -> type[Table] | None:
    """The table that an annotation such as ``tuple[Station, ...]`` or ``Access | None`` holds."""
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next((inner for part in get_args(annotation) if (inner := table_in(part))), None)


def kind_of(field: FieldInfo) -> Any:
    """What a field may hold: a Length, a Number, an Along, or its bare annotation."""
    if field.metadata:
        return field.metadata[0]
    return next(_kinds_in(field.annotation), field.annotation)


def _kinds_in(annotation: Any) -> Iterator[Any]:
    """The kinds in an annotation such as ``tuple[Annotated[float, Length(0, 1)], ...] | None``."""
    if hasattr(annotation, "__metadata__"):
        yield annotation.__metadata__[0]
    else:
        for part in get_args(annotation):
            yield from _kinds_in(part)


def allowed(field: FieldInfo, unit: Unit) -> str:
    """The range of a field in words, or an empty text."""
    kind = kind_of(field)
    if isinstance(kind, Length):
        return f"a length {kind.allowed(unit)}"
    if isinstance(kind, Number | Along | Count | FretList | Points | Ratios | Spots):
        return kind.allowed()
    inner = table_in(field.annotation)
    return f"a table with {', '.join(inner.model_fields)}" if inner is not None else ""


def _hint(name: str, table: type[Table]) -> str:
    """What may have been meant by a key that a table does not know."""
    near = nearest_word(name, table.model_fields)
    if near is not None:
        return f"did you mean {near}?"
    known = ", ".join(table.model_fields)
    return f"known: {known}" if len(known) <= LONGEST_LIST else "`carve keys` lists those there are"


def _sentence(item: Any, unit: Unit) -> str:
    path: Path = tuple(item["loc"])
    key, value, trouble = show_key(path), item["input"], item["type"]
    table, field = field_at(path)
    meaning = field.description if field is not None else ""
    if trouble == "carve":
        return f"{key}: {item['msg']}"
    if trouble == "extra_forbidden":
        return f"{key}: unknown key; {_hint(str(path[-1]), table)}"
    if trouble == "missing":
        what = "; ".join(part for part in (meaning, allowed(field, unit) if field else "") if part)
        return f"{key}: missing; {what}"
    if trouble == "too_short":
        return f"{key}: too few; {meaning}"
    if trouble in ("model_type", "dict_type"):
        header = f"[[{show_key(path[:-1])}]]" if isinstance(path[-1], int) else f"[{key}]"
        return f"{key}: {quoted(value)} is not a table; write {header}"
    if trouble == "tuple_type":
        if field is not None and table_in(field.annotation) is None:
            return f"{key}: {quoted(value)} is not a list; write [ ... ]: {meaning}"
        return f"{key}: {quoted(value)} is not a list of tables; write [[{key}]]"
    if trouble == "bool_type":
        return f"{key}: {quoted(value)} is not allowed; write true or false: {meaning}"
    if trouble == "string_type":
        return f"{key}: {quoted(value)} is not text; {meaning}"
    return f"{key}: {quoted(value)} is not allowed; {meaning}"
