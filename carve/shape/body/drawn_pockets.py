"""The closed curves of a drawing's layer as plans, in the order in which they are numbered."""

import numpy as np

from carve.arrays import Array
from carve.design.schema.body import BodyOutline, Pocket
from carve.design.values.units import Unit
from carve.shape.body.cuts import RoundedPolygon, drawn_plan, pocket_plan
from carve.shape.body.outline import KEY
from carve.shape.planar.drawn_outline import pockets
from carve.shape.planar.outline import CurvePlan
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE


def plans_of(
    pocket: Pocket, key: str, outline: BodyOutline | None, unit: Unit
) -> list[RoundedPolygon | CurvePlan]:
    """The plans of a pocket that is no heel's: its own, or one for each curve that was drawn.

    key: the pocket's. outline: the body's, needed where the pocket is drawn. Drawn ones come from
    the neck to the tail.
    Raises DesignError or ValueError with a sentence where there are none.
    """
    if pocket.layer is None:
        return [pocket_plan(pocket)]
    assert outline is not None  # it has the drawing
    curves = pockets(outline, pocket.layer, KEY, f"{key}.layer", unit)
    return sorted((drawn_plan(curve) for curve in curves), key=lambda plan: tuple(_middle(plan)))


def numbered(name: str, number: int, count: int) -> str:
    """What one of several is called: by their name and its number, from 0; alone by the name."""
    return name if count == 1 else f"{name} {number + 1}"


def _middle(plan: RoundedPolygon | CurvePlan) -> list[float]:
    points: Array = plan.points(CURVE_TOLERANCE)
    middle: list[float] = np.round((points.min(axis=0) + points.max(axis=0)) / 2, 3).tolist()
    return middle
