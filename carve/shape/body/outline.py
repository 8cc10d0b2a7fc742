"""From what the builder says of the body's outline to one closed curve, and what it encloses."""

from carve.design.schema.body import BodyOutline
from carve.design.values.curve import Curve
from carve.errors import ShapeError
from carve.shape.body.problems import OutlineTouchesItself
from carve.shape.outlines.bouts import bouts_curve
from carve.shape.outlines.placed import placed
from carve.shape.planar.outline import Outline


def outline_curve(outline: BodyOutline) -> Curve:
    """The outline as a closed curve in the body's frame, mm: drawn, by points, or by its bouts.

    Raises ShapeError where it is none.
    """
    if outline.bouts is not None:
        return bouts_curve(outline.bouts, "bouts")
    return placed(outline, "body").outline


def outline_of(outline: BodyOutline) -> Outline:
    """The outline as a value with its polygon. Raises ShapeError where it is none."""
    return Outline(outline_curve(outline))


def require_simple(outline: Outline) -> None:
    """Raises ShapeError where an outline touches itself."""
    if not outline.polygon.is_valid:
        raise ShapeError(OutlineTouchesItself())
