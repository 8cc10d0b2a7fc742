"""The plans of pockets seen from above: one function a shape, all in ``PLANS``."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import get_args

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array
from carve.design.schema.body import BodyOutline, Pocket, PocketShape
from carve.design.values.curve import Curve
from carve.design.values.tolerances import TINY
from carve.errors import ShapeError
from carve.shape.body.heel_in_body import HeelInBody
from carve.shape.body.problems import (
    CornersWithoutRoom,
    HeelBeforeBody,
    PolygonCrosses,
    PolygonNarrow,
    SeveralNeckPockets,
)
from carve.shape.outlines.placed import curves_on_layer
from carve.shape.planar.inset import Plan
from carve.shape.planar.outline import CurvePlan, circle_of
from carve.shape.planar.rounded_polygon import (
    CURVE_TOLERANCE,
    SAME_POINT,
    RoundedPolygon,
    area,
    turns,
)

RUN_OUT = 5.0  # mm that the neck's pocket runs out of the outline


@dataclass(frozen=True, eq=False)
class PocketOnBody:
    """A pocket and what its plan may follow.

    where: a label to give back with a problem. outline: the body's, as the design has it, for a
    pocket of its drawing. ground: what it encloses, mm, for one that follows the heel. heel: the
    neck's, None where the design says too little of it.
    """

    pocket: Pocket
    where: str
    outline: BodyOutline | None = None
    ground: BaseGeometry | None = None
    heel: HeelInBody | None = None


def pocket_plans(asked: PocketOnBody) -> Sequence[Plan]:
    """The plans of a pocket in the body's frame: one, or one for each curve of a drawing's layer.

    Raises ShapeError where there is none.
    """
    return PLANS[asked.pocket.shape](asked)


def numbered(name: str, number: int, count: int) -> str:
    """What one of several is called: by their name and its number, from 0; alone by the name."""
    return name if count == 1 else f"{name} {number + 1}"


def _rectangle(asked: PocketOnBody) -> Sequence[Plan]:
    pocket = asked.pocket
    return [_box(pocket, pocket.length, pocket.width, pocket.corner_radius or 0.0)]


def _slot(asked: PocketOnBody) -> Sequence[Plan]:
    pocket = asked.pocket
    return [_box(pocket, pocket.length, pocket.width, None)]


def _circle(asked: PocketOnBody) -> Sequence[Plan]:
    pocket = asked.pocket
    return [_box(pocket, pocket.diameter, pocket.diameter, None)]


def _box(
    pocket: Pocket, length: float | None, width: float | None, radius: float | None
) -> RoundedPolygon:
    """Length by width in mm; radius: of the corners in mm, None for as round as can be."""
    half = np.array([length or 0.0, width or 0.0]) / 2
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    return _in_place(pocket, corners, np.full(4, half.min() if radius is None else radius))


def _polygon(asked: PocketOnBody) -> Sequence[Plan]:
    pocket, where = asked.pocket, asked.where
    corners = np.array(pocket.points, dtype=float)
    enclosed = shapely.Polygon(corners)
    if not enclosed.is_valid:
        raise ShapeError(PolygonCrosses(where))
    if enclosed.buffer(-TINY / 2).is_empty:
        raise ShapeError(PolygonNarrow(where, TINY))
    if area(corners) < 0:
        corners = corners[::-1]
    radius = pocket.corner_radius or 0.0
    radii = _outward(corners, radius)
    away = radii * np.tan(np.abs(turns(corners)) / 2)
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    if np.any(away + np.roll(away, -1) > sides + SAME_POINT):
        raise ShapeError(CornersWithoutRoom(where, radius))
    return [_in_place(pocket, corners, radii)]


def _outward(corners: Array, radius: float) -> Array:
    """(k,) the radius where a corner points outward, 0 where it points inward.

    A cutter leaves the one round and can make the other sharp.
    """
    return np.where(turns(corners) > 0, radius, 0.0)


def _in_place(pocket: Pocket, corners: Array, radii: Array) -> RoundedPolygon:
    """A polygon about its own origin, turned and put where the pocket is."""
    turn = math.radians(pocket.angle or 0.0)
    sine, cosine = math.sin(turn), math.cos(turn)
    turned = corners @ np.array([[cosine, sine], [-sine, cosine]])
    return RoundedPolygon(turned + np.array([pocket.x or 0.0, pocket.y or 0.0]), radii)


def _heel(asked: PocketOnBody) -> Sequence[Plan]:
    heel = asked.heel
    assert heel is not None  # the rules see to it
    assert asked.ground is not None
    if heel.end <= TINY:
        raise ShapeError(HeelBeforeBody(asked.where))
    return [heel.outline(_way_out(heel, asked.ground))]


def _way_out(heel: HeelInBody, ground: BaseGeometry) -> float:
    """How far in mm the heel's pocket runs on toward the nut to be clear of the outline."""
    far = max(RUN_OUT - ground.bounds[0], RUN_OUT)
    inside = shapely.intersection(
        shapely.Polygon(heel.outline(far).points(CURVE_TOLERANCE)), ground
    )
    return RUN_OUT if inside.is_empty else RUN_OUT - float(inside.bounds[0])


def _drawing(asked: PocketOnBody) -> Sequence[Plan]:
    """One for each curve on the pocket's layer, from the neck to the tail."""
    pocket, where = asked.pocket, asked.where
    assert pocket.layer is not None  # the rules see to it
    assert asked.outline is not None  # it has the drawing
    curves = curves_on_layer(asked.outline, pocket.layer, "body", where)
    if pocket.kind == "neck" and len(curves) > 1:
        raise ShapeError(SeveralNeckPockets(where, pocket.layer, len(curves)))
    return sorted(map(drawn_plan, curves), key=lambda plan: tuple(_middle(plan).tolist()))


def _middle(plan: Plan) -> Array:
    points = plan.points(CURVE_TOLERANCE)
    return np.asarray(np.round((points.min(axis=0) + points.max(axis=0)) / 2, 3))


PLANS: Mapping[PocketShape, Callable[[PocketOnBody], Sequence[Plan]]] = {
    "rectangle": _rectangle,
    "circle": _circle,
    "slot": _slot,
    "polygon": _polygon,
    "heel": _heel,
    "drawing": _drawing,
}
"""The function for each shape that a design may ask for."""

assert set(PLANS) == set(get_args(PocketShape)), "a shape of a pocket has no plan"


def round_plan(x: float, y: float, diameter: float) -> RoundedPolygon:
    """The plan of a circle about (x, y), mm."""
    half = diameter / 2
    corners = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    return RoundedPolygon(corners + np.array([x, y]), np.full(4, half))


def drawn_plan(curve: Curve) -> Plan:
    """The plan of a closed curve, which is a round hole's where the curve is a circle."""
    circle = circle_of(curve, CURVE_TOLERANCE)
    return CurvePlan(curve) if circle is None else round_plan(circle[0], circle[1], 2 * circle[2])
