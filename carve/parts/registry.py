"""The register of parts. Whatever stands here is checked, exported and shown in the lab.

A sort of part that few designs have is loaded for those alone: a neck waits for no body.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from carve.design.schema.design import Design
from carve.parts.fretboard import FRETBOARD
from carve.parts.kind import PartType
from carve.parts.neck import NECK


@dataclass(frozen=True)
class ListedPart:
    """A sort of part as the register has it.

    wanted: whether a design may have such parts; where it says no there are none. load: gives
    the sort itself, and loads what belongs to it.
    """

    wanted: Callable[[Design], bool]
    load: Callable[[], PartType[Any]]


def _always(design: Design) -> bool:
    return True


def _with_body(design: Design) -> bool:
    return design.body is not None


def _body() -> PartType[Any]:
    from carve.parts.body import BODY

    return BODY


def _cover() -> PartType[Any]:
    from carve.parts.cover import COVER

    return COVER


PARTS: tuple[ListedPart, ...] = (
    ListedPart(_always, lambda: NECK),
    ListedPart(_always, lambda: FRETBOARD),
    ListedPart(_with_body, _body),
    ListedPart(_with_body, _cover),
)
"""Every sort of part, in the order in which people read of them."""


def part_types(design: Design) -> tuple[PartType[Any], ...]:
    """The sorts of part that a design may have, in the same order."""
    return tuple(listed.load() for listed in PARTS if listed.wanted(design))
