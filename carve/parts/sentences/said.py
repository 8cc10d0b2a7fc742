"""From a shape that cannot be to what the builder reads."""

from collections.abc import Iterator
from contextlib import contextmanager

from carve.design.values.units import Unit
from carve.errors import DesignError, ShapeError


def said(error: ShapeError, unit: Unit) -> DesignError:
    """The same error in sentences. unit: in which the builder reads lengths."""
    # a design that can be made needs no sentence, and does not wait for them
    from carve.parts.sentences.families import sentence

    return DesignError([sentence(problem, unit) for problem in error.problems])


@contextmanager
def in_sentences(unit: Unit) -> Iterator[None]:
    """Whatever shape cannot be in here is a DesignError outside. unit: as for ``said``."""
    try:
        yield
    except ShapeError as error:
        raise said(error, unit) from error
