"""The one function that says a problem of a shape; each family's file adds its sentences to it."""

from functools import singledispatch

from carve.design.values.units import Unit
from carve.errors import Problem


@singledispatch
def sentence(problem: Problem, unit: Unit) -> str:
    """A problem as one sentence that begins with the key of the design file to change.

    unit: in which the builder reads lengths. Raises TypeError for a problem that has none.
    """
    raise TypeError(f"no sentence says what {type(problem).__name__} is")
