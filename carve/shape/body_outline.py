"""From what the builder says of the body's outline to one closed curve, and what it encloses."""

from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely.geometry.base import BaseGeometry

from carve.design.body import BodyOutline
from carve.design.curve import Curve
from carve.design.units import Unit
from carve.errors import DesignError
from carve.shape.bouts import bouts_curve
from carve.shape.drawn_outline import placed
from carve.shape.outline import FreePlan
from carve.shape.plan import FINE

KEY = "body.outline"


def outline_curve(outline: BodyOutline, unit: Unit = "mm") -> Curve:
    """The outline as a closed curve in the body's frame, mm: drawn, by points, or by its bouts.

    Raises DesignError where it is none.
    """
    if outline.bouts is not None:
        return bouts_curve(outline.bouts, f"{KEY}.bouts", unit)
    return placed(outline, KEY, unit).outline


@dataclass(frozen=True, eq=False)
class Outline(FreePlan):
    """The body's outline, made once for all bodies that have it, in the body's frame."""

    @cached_property
    def polygon(self) -> BaseGeometry:
        """What it encloses, within ``FINE`` of the curve."""
        enclosed = shapely.Polygon(self.points(FINE))
        shapely.prepare(enclosed)
        return enclosed

    @cached_property
    def rim(self) -> BaseGeometry:
        """The line around, likewise."""
        around = self.polygon.exterior
        shapely.prepare(around)
        return around


def outline_of(outline: BodyOutline, unit: Unit = "mm") -> Outline:
    """The outline as a value with its polygon."""
    return Outline(outline_curve(outline, unit))


def require_simple(outline: Outline) -> None:
    """Raises DesignError where an outline touches itself."""
    if not outline.polygon.is_valid:
        raise DesignError(
            [f"{KEY}: the outline touches itself, or all but; draw it further apart there"]
        )
