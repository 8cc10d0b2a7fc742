"""A design that tells which of its keys are read, also by the properties that follow from them."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from carve.design import Design
from carve.design.schema.table import Table

WHOLE = ".*"  # behind a key: all that is in that table was read at once, to hash it or to copy it


class Watched:
    """A copy of a design, and the keys of it that are read while one watches.

    A copy, so that what a part has kept of the design it was made from counts as the part's.
    """

    def __init__(self, design: Design) -> None:
        self.design = design.model_copy(deep=True)
        self.read: set[str] = set()
        self._keys = dict(_tables(self.design, ""))

    @contextmanager
    def watching(self, monkeypatch: pytest.MonkeyPatch) -> Iterator[set[str]]:
        """The keys that are read meanwhile. A table that is only passed through is not among them.

        A list of tables that is read is told as the list.
        """
        self.read = set()
        keys, read = self._keys, self.read

        def tell(table: Table, name: str) -> Any:
            value = object.__getattribute__(table, name)
            key = keys.get(id(table))
            if key is None:
                return value
            if name == "__dict__":
                read.add(f"{key}{WHOLE}")
            elif name in type(table).model_fields:
                inner = f"{key}.{name}".lstrip(".")
                read.add(f"{inner}." if isinstance(value, Table) else inner)
            return value

        with monkeypatch.context() as patched:
            patched.setattr(Table, "__getattribute__", tell, raising=False)
            yield read


def undeclared(read: set[str], declared: tuple[str, ...]) -> set[str]:
    """The keys among those read that no declared key stands for."""
    return {key for key in read if not _covered(key, declared)}


def _covered(key: str, declared: tuple[str, ...]) -> bool:
    plain = key.removesuffix(WHOLE).rstrip(".")
    if any(plain == one or plain.startswith((f"{one}.", f"{one}[")) for one in declared):
        return True
    # a table on the way to a declared key; whether it is there at all is part of that key's value
    passed_through = not key.endswith(WHOLE)
    return passed_through and any(one.startswith((f"{plain}.", f"{plain}[")) for one in declared)


def _tables(table: Table, key: str) -> Iterator[tuple[int, str]]:
    yield id(table), key
    for name in type(table).model_fields:
        value = getattr(table, name)
        inner = f"{key}.{name}".lstrip(".")
        if isinstance(value, Table):
            yield from _tables(value, inner)
        elif isinstance(value, tuple):
            for number, item in enumerate(value):
                if isinstance(item, Table):
                    yield from _tables(item, f"{inner}[{number}]")
