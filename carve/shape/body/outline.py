"""From what the builder says of the body's outline to one closed curve, and what it encloses."""

from carve.design.schema.body import BodyOutline
from carve.design.values.curve import Curve
from carve.design.values.units import Unit
from carve.errors import DesignError
from carve.shape.body.outline_bouts import bouts_curve
from carve.shape.planar.drawn_outline import placed
from carve.shape.planar.outline import Outline

KEY = "body.outline"


def outline_curve(outline: BodyOutline, unit: Unit = "mm") -> Curve:
    """The outline as a closed curve in the body's frame, mm: drawn, by points, or by its bouts.

    Raises DesignError where it is none.
    """
    if outline.bouts is not None:
        return bouts_curve(outline.bouts, f"{KEY}.bouts", unit)
    return placed(outline, KEY, unit).outline


def outline_of(outline: BodyOutline, unit: Unit = "mm") -> Outline:
    """The outline as a value with its polygon."""
    return Outline(outline_curve(outline, unit))


def require_simple(outline: Outline) -> None:
    """Raises DesignError where an outline touches itself."""
    if not outline.polygon.is_valid:
        raise DesignError(
            [f"{KEY}: the outline touches itself, or all but; draw it further apart there"]
        )
