"""The map of the wood left through a body, as a picture."""

import numpy as np

from carve.arrays import Array
from carve.design.values.units import Unit, show_length
from carve.shape.body.shape import BodyShape
from carve.shape.plate.carved_face import MAP_STEP
from carve.shape.views.body_drawings import plan_circles, plan_lines
from carve.shape.views.kit.drawing import Drawing, PlanMap


def wood_map(
    shape: BodyShape,
    found: tuple[Array, tuple[float, float]],
    unit: Unit,
    lowest: float,
    highest: float,
    step: float = MAP_STEP,
) -> PlanMap:
    """The map. found: what ``wood_grid`` says. lowest, highest: mm, the ends of its colours.

    step: mm between its values.
    """
    values, (x, y) = found
    over = Drawing(
        "wood left through the body",
        _least(values, x, y, step, unit),
        plan_lines(shape),
        circles=plan_circles(shape),
    )
    return PlanMap("wood left, mm", values, x, y, step, lowest, highest, over)


def _least(values: Array, x: float, y: float, step: float, unit: Unit) -> str:
    """Where the map is thinnest, holes left out, in words."""
    wood = np.where(values > 0, values, np.inf)
    row, column = np.unravel_index(int(np.argmin(wood)), wood.shape)
    aside = y + step * float(row)
    return (
        f"least {show_length(float(wood[row, column]), unit)}, "
        f"{show_length(x + step * float(column), unit)} from the body's edge and "
        f"{show_length(abs(aside), unit)} to the {'treble' if aside > 0 else 'bass'} side"
    )
