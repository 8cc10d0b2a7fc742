"""From a shape that cannot be to what the builder reads."""

from collections.abc import Iterator
from contextlib import contextmanager

from carve.design.values.units import Unit
from carve.errors import DesignError, ShapeError
from carve.parts.sentences import assembly, body, cover, neck, outlines, plate
from carve.parts.sentences.dispatch import sentence

FAMILIES = (outlines, plate, cover, neck, body, assembly)
"""The files with sentences: each adds its own to ``sentence`` as it is imported."""


def said(error: ShapeError, unit: Unit) -> DesignError:
    """The same error in sentences. unit: in which the builder reads lengths."""
    return DesignError([sentence(problem, unit) for problem in error.problems])


@contextmanager
def in_sentences(unit: Unit) -> Iterator[None]:
    """Whatever shape cannot be in here is a DesignError outside. unit: as for ``said``."""
    try:
        yield
    except ShapeError as error:
        raise said(error, unit) from error
