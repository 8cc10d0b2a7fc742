"""What is read of a design, noted while it is read.

Whoever keeps a result has to know what it hangs on. A list written by hand is forgotten when a
drawing begins to read one key more; this one cannot be. Build systems call such a list a
verifying trace (Mokhov, Mitchell, Peyton Jones: Build Systems à la Carte, 2018).
"""

from inspect import getattr_static
from types import FunctionType, MethodType
from typing import Any, cast

from pydantic import BaseModel

from carve.design.schema.design import Design


class DesignReads:
    """Notes which of a design's tables and values are read through ``design``."""

    def __init__(self, design: Design) -> None:
        self._read: dict[str, Any] = {}
        self.design = cast(Design, _Noting(design, self._read))
        """The design to read: the same answers, and each of them is noted."""

    @property
    def names(self) -> frozenset[str]:
        """The keys of the design that were read; "" where it was looked at as a whole."""
        return frozenset(self._read)

    def same_in(self, design: Design) -> bool:
        """Whether all that was read so far has the same value in another design."""
        return all(
            _same(value, design if name == "" else getattr(design, name))
            for name, value in self._read.items()
        )


def _same(one: Any, other: Any) -> bool:
    return one is other or bool(one == other)


class _Noting:
    """Stands in for a design. A table counts as read once it is asked for, whatever is read of it.

    Properties and methods of a design's own see this and not the design, so what they read is
    noted too. Whatever else is asked (a copy, a comparison, a hash) may read anything.
    """

    def __init__(self, design: Design, read: dict[str, Any]) -> None:
        self._design = design
        self._read = read

    def __getattr__(self, name: str) -> Any:
        kind = type(self._design)
        if name in kind.model_fields:
            self._read[name] = getattr(self._design, name)
            return self._read[name]
        if not hasattr(BaseModel, name):
            found = getattr_static(kind, name, None)
            if isinstance(found, property) and found.fget is not None:
                return found.fget(self)
            if isinstance(found, FunctionType):
                return MethodType(found, self)
        return getattr(self._whole(), name)

    def __eq__(self, other: object) -> bool:
        return bool(self._whole() == (other._whole() if isinstance(other, _Noting) else other))

    def __hash__(self) -> int:
        return hash(self._whole())

    def _whole(self) -> Design:
        self._read[""] = self._design
        return self._design
