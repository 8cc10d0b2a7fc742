"""The dials of a design: every key that may be turned while one looks at the result.

Found by walking the models, so a key becomes a dial by giving its field a ``Dial``.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from carve.design.io.parse import kind_of
from carve.design.schema.body import Bore, Pocket
from carve.design.schema.design import Design, Station
from carve.design.schema.fields import Length, Number
from carve.design.schema.table import Table
from carve.design.values.profile import Profile


@dataclass(frozen=True)
class DialSpec:
    """One dial.

    key: as ``with_values`` takes it. group: what it belongs to, for a heading. value: mm
    for a length, a plain number, or a Profile. lowest, highest, step: its travel, None for
    a profile. is_length: whether to show it in the file's unit. unit: a number's own, as "°".
    """

    key: str
    label: str
    group: str
    meaning: str
    value: float | Profile
    lowest: float | None = None
    highest: float | None = None
    step: float | None = None
    is_length: bool = False
    unit: str = ""


def dials(design: Design) -> tuple[DialSpec, ...]:
    """Every dial of a design, in the order of its keys; optional keys only where given."""
    return tuple(_walk(design, design, "", ""))


def _walk(design: Design, table: Table, prefix: str, group: str) -> Iterator[DialSpec]:
    for name, field in type(table).model_fields.items():
        value: Any = getattr(table, name)
        key, meaning = f"{prefix}{name}", field.description or ""
        label = name.replace("_", " ")
        if isinstance(value, Table):
            yield from _walk(design, value, f"{key}.", f"{group} {label}".strip())
        elif isinstance(value, tuple):
            for number, item in enumerate(value):
                if not isinstance(item, Table):
                    break  # a list of plain values has no dials
                where = _where(design, item)
                one = f"{group} {label.removesuffix('s')} {number + 1}"
                one += f", {item.name}" if isinstance(item, Pocket | Bore) else ""
                heading = f"{group} at {where}" if where else one
                yield from _walk(design, item, f"{key}[{number}].", heading)
        elif isinstance(value, Profile):
            yield DialSpec(key, label, group or label, meaning, value)
        elif isinstance(value, float):
            kind = kind_of(field)
            if isinstance(kind, Length | Number) and kind.dial is not None:
                yield DialSpec(
                    key,
                    label,
                    group or label,
                    meaning,
                    value,
                    # a value the file sets beyond the usual travel stays within reach
                    min(kind.dial.lowest, value),
                    max(kind.dial.highest, value),
                    kind.dial.step,
                    isinstance(kind, Length),
                    kind.unit if isinstance(kind, Number) else "",
                )


def _where(design: Design, item: Table) -> str:
    return item.at.show(design.units) if isinstance(item, Station) else ""


_KEY = re.compile(r"[a-z]\w*(?:\[\d+\])*(?:\.[a-z]\w*(?:\[\d+\])*)*")


def dials_named(problem: str, keys: Sequence[str]) -> tuple[str, ...]:
    """The dials that a sentence about a wrong design names.

    problem: a sentence that begins with a key, as those of a DesignError do. keys: of all dials.
    A dial is named by its own key, wherever that stands. The key that the sentence begins with
    also names the dials of the table it may be, or the dial of which it is a part.

    >>> dials_named("neck.nut_width: 60 mm is wider (neck.blank.width)", ["neck.nut_width"])
    ('neck.nut_width',)
    """
    words = _KEY.findall(problem)
    first = re.match(rf"({_KEY.pattern}):", problem)
    leading = first.group(1) if first else ""
    return tuple(
        key for key in keys if key in words or (leading and _one_holds_other(key, leading))
    )


def _one_holds_other(one: str, other: str) -> bool:
    """Whether a key is another, or stands in the table or list that the other is, or holds it."""
    short, long = sorted((one, other), key=len)
    return long.startswith(short) and long[len(short) : len(short) + 1] in ("", ".", "[")
