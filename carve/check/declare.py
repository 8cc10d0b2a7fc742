"""How a check says what it looks at, and what of a job it is then handed.

A check is a function from a job to findings, in a file of its own::

    @looks_at(each=NeckShape, keys=("limits.wood_under_channel", *PLACE))
    def check(job: Job) -> Iterator[Finding]:

Its findings may hang on the parts and on the keys that it names here, and on nothing else: they
are computed again only when one of those has changed. ``tests/check/test_declare.py`` looks for a
check that reads a key which it does not name.
"""

from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field
from typing import Any, get_origin

from carve.check.finding import Finding
from carve.design.io.parse import read_key, table_in
from carve.design.schema.design import Design
from carve.design.schema.table import Table
from carve.parts.cache import kept
from carve.parts.job import Job, Part

EVERY_PART: type = object
"""The type of shape that every part has."""

ABSENT = "absent"
"""Stands for a value whose table the design does not have, which is not that of a key left out."""

Key = str | type[Table]
"""A key of the design file, or all keys at which a design may have a table of that type."""

Run = Callable[[Job], Iterator[Finding]]


@dataclass(frozen=True, eq=False)
class Check:
    """A check with what it looks at.

    run: the function. shapes: types of shape, of the parts that it looks at. apart: whether it
    looks at each of them without the others. keys: of the design, as the design file has them; a
    table's name stands for all that is in the table, and a type of table for every such table. In
    a check of parts apart "{part}" stands for the part's own key.
    """

    run: Run
    shapes: tuple[type, ...]
    apart: bool
    keys: tuple[Key, ...]

    def __call__(self, job: Job) -> Iterator[Finding]:
        """What it finds, computed now."""
        return self.run(job)

    def looks(self, job: Job) -> Iterator["Look"]:
        """What it looks at of a job: one look at each part, or one at all of them."""
        parts = tuple(part for part in job.parts if isinstance(part.shape, self.shapes))
        for group in ((part,) for part in parts) if self.apart else (parts,):
            values = tuple(value_at(job.design, key) for key in self.keys_for(job.design, group))
            yield Look(self, group, values, job.design)

    def keys_for(self, design: Design, parts: tuple[Part[Any], ...]) -> tuple[str, ...]:
        """The keys that it looks at where it sees these parts."""
        found: list[str] = []
        for key in self.keys:
            if not isinstance(key, str):
                found += tables_at(design, key)
            else:
                found.append(key.replace("{part}", parts[0].instance.key) if self.apart else key)
        return tuple(found)


@dataclass(frozen=True)
class Look:
    """One look of a check at a design. Two are equal where the findings must be.

    check: which. parts: those it sees; a part that has not changed is the same one as before.
    values: of its keys. design: where it reads them.
    """

    check: Check
    parts: tuple[Part[Any], ...]
    values: tuple[Hashable, ...]
    design: Design = field(compare=False, repr=False)

    def findings(self) -> tuple[Finding, ...]:
        """What the check finds."""
        return tuple(self.check.run(Job(self.design, self.parts)))


def looks_at(
    *,
    each: type | None = None,
    together: tuple[type, ...] = (),
    keys: tuple[Key, ...] = (),
) -> Callable[[Run], Check]:
    """Make a function a check, and say what it looks at.

    each: a type of shape, where the check looks at every such part by itself. together: types of
    shape, where it looks at how such parts meet. keys: of the design, as in ``Check``.
    Raises TypeError where that is nothing, or both ``each`` and ``together``.
    """
    if each is None and not together and not keys:
        raise TypeError("a check must say which parts or which keys it looks at")
    if each is not None and together:
        raise TypeError("a check looks at each part by itself or at some together, not at both")
    shapes = together if each is None else (each,)
    return lambda run: Check(run, shapes, each is not None, tuple(dict.fromkeys(keys)))


def value_at(design: Design, key: str) -> Hashable:
    """The value of a key, ``ABSENT`` where the design does not have the table it stands in."""
    value: Any = design
    for step in read_key(key):
        if value is None:
            return ABSENT
        value = value[step] if isinstance(step, int) else getattr(value, step)
    found: Hashable = value
    return found


def tables_at(design: Design, kind: type[Table]) -> tuple[str, ...]:
    """Every key at which a design may have a table of a type, in the order of the file."""
    found: list[str] = []
    for pattern in _patterns(type(design), kind):
        first, *steps = pattern.split("[]")
        keys = [first]
        for step in steps:
            lists = [(key, value_at(design, key)) for key in keys]
            keys = [
                f"{key}[{number}]{step}"
                for key, items in lists
                if isinstance(items, tuple)
                for number in range(len(items))
            ]
        found += keys
    return tuple(found)


@kept
def _patterns(model: type[Table], kind: type[Table]) -> tuple[str, ...]:
    """The same by the fields of a table's model, with ``[]`` for the items of a list."""
    found: list[str] = []
    for name, info in model.model_fields.items():
        inner = table_in(info.annotation)
        if inner is None:
            continue
        many = "[]" if get_origin(info.annotation) is tuple else ""
        if issubclass(inner, kind):
            found.append(f"{name}{many}")
        else:
            found += (f"{name}{many}.{deeper}" for deeper in _patterns(inner, kind))
    return tuple(found)
