"""A plan made smaller all around, as a cover's is that lies in its recess with a gap.

A polygon with round corners gives another one, exactly, wherever its corners and sides survive.
All else, drawn curves among it, is offset by shapely at whatever chord error is asked for.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from carve.arrays import Array
from carve.shape.planar.offset import signed_distance
from carve.shape.planar.outline import CurvePlan, polygon
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE, SAME_POINT, RoundedPolygon, turns

SIMPLIFIED = 0.01  # of a distance that shapely's buffer may take off a hollow's points (GEOS)
KNOWN = 1 / 16  # of a chord error, that the rim is known within from which it is measured
LOOKS = 32  # places on a chord at which its distance is measured
PIECE = 1e-3  # mm^2; less is no piece but rounding
AGREES = 0.05  # mm; how far shapely's offset may be from the exact one, chord errors included


Plan = RoundedPolygon | CurvePlan
"""A plan as it is asked for: a polygon with round corners, or what a drawn curve encloses."""


@dataclass(frozen=True, eq=False)
class InsetPlan:
    """All that lies further than ``distance`` mm inside of a plan."""

    base: Plan
    distance: float

    def points(self, chord_error: float) -> Array:
        """(n, 2) points around in mm, counter-clockwise. chord_error: of the curve, mm."""
        found = self.offset(chord_error / 4)
        for finer in (16, 64):
            # what shapely leaves out is known to be little, or else is looked for
            little = SIMPLIFIED * self.distance <= chord_error / 4
            if little or self._off(found, KNOWN * chord_error) <= chord_error:
                break
            found = self.offset(chord_error / finer)
        return found

    def offset(self, fine: float) -> Array:
        """Points as ``points`` gives them, by shapely. fine: mm, of plan, arcs and chords each."""
        left = shapely.Polygon(_all_points(self.base, fine))
        # a short step loses less to the simplifying inside shapely than one long one
        steps = max(1, math.ceil(SIMPLIFIED * self.distance / (2 * fine)))
        half = math.acos(1 - min(fine / self.distance, 0.5))
        quarter = max(2, math.ceil(math.pi / 4 / half))
        for _ in range(steps):
            left = left.buffer(-self.distance / steps, quad_segs=quarter)
        largest = orient(max(shapely.get_parts(left), key=shapely.area))
        around = shapely.get_coordinates(largest.exterior)[:-1]
        # begun at its point furthest out, since the first one stays even where it is not needed
        first = int(np.argmax(np.hypot(*(around - around.mean(axis=0)).T)))
        ring = shapely.LinearRing(np.roll(around, -first, axis=0)).simplify(fine)
        return np.asarray(shapely.get_coordinates(ring)[:-1])

    def error(self, chord_error: float) -> float:
        """How far in mm the chords of ``points`` are from the curve, measured."""
        return self._off(self.points(chord_error), KNOWN * chord_error)

    def _off(self, points: Array, known: float) -> float:
        """How far in mm the chords between points (n, 2) are from the curve, at most.

        Every point of the curve is ``distance`` away from the plan's rim. Each chord is looked at
        in ``LOOKS`` places. known: mm, chord error of the rim.
        """
        along = np.roll(points, -1, axis=0) - points
        places = points + np.linspace(0, 1, LOOKS, endpoint=False)[:, None, None] * along
        away = signed_distance(_all_points(self.base, known), places.reshape(-1, 2))
        return float(np.abs(away - self.distance).max()) + known

    @property
    def circle(self) -> tuple[float, float, float] | None:
        """None: inside of a circle lies another one, which has a plan of its own."""
        return None


def _all_points(plan: Plan, chord_error: float) -> Array:
    """A plan's points, those too that a mesh has no need of: what is measured by them has."""
    return (
        polygon(plan.curve, chord_error)
        if isinstance(plan, CurvePlan)
        else plan.points(chord_error)
    )


AnyPlan = Plan | InsetPlan
"""Any plan: all give points within a chord error, that error, and the circle they are."""


def finely(plan: AnyPlan, chord_error: float) -> Array:
    """(n, 2) points around, where nobody asks how near they are: an offset's are not measured."""
    return plan.offset(chord_error / 4) if isinstance(plan, InsetPlan) else plan.points(chord_error)


class PlanParted(ValueError):  # noqa: N818  what became of the plan, not a malfunction
    """Nothing is left of a plan, or more than one piece. pieces: how many."""

    def __init__(self, pieces: int) -> None:
        self.pieces = pieces
        super().__init__(f"{pieces} pieces are left")


def inset_plan(plan: Plan, distance: float) -> RoundedPolygon | InsetPlan:
    """The plan that lies ``distance`` mm inside of another one.

    Raises PlanParted where nothing is left of it, or more than one piece.
    """
    left = shapely.Polygon(plan.points(CURVE_TOLERANCE)).buffer(-distance, quad_segs=32)
    pieces = [part for part in shapely.get_parts(left) if part.area > PIECE]
    if len(pieces) != 1:
        raise PlanParted(len(pieces))
    found = InsetPlan(plan, distance)
    exact = _rounded_inset(plan, distance) if isinstance(plan, RoundedPolygon) else None
    if exact is not None:
        rings = (exact.points(AGREES / 4), found.offset(AGREES / 4))
        if shapely.hausdorff_distance(*map(shapely.LinearRing, rings)) <= AGREES:
            return exact
    return found


def _rounded_inset(plan: RoundedPolygon, distance: float) -> RoundedPolygon | None:
    """The same, side by side and arc by arc; None where one of them does not survive."""
    before = plan.corners - np.roll(plan.corners, 1, axis=0)
    into = before / np.hypot(*before.T)[:, None]
    out = np.roll(into, -1, axis=0)
    turn = turns(plan.corners)
    # both sides move to their left by the distance, and meet where the corner comes to lie
    square = np.stack([-into[:, 1] - out[:, 1], into[:, 0] + out[:, 0]], axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):  # a spike has no such corner
        corners = plan.corners + distance * square / (1 + (into * out).sum(axis=1))[:, None]
    radii = np.where(turn > 0, np.maximum(plan.radii - distance, 0.0), plan.radii + distance)
    radii = np.where(np.abs(turn) < SAME_POINT, 0.0, radii)
    after = np.roll(corners, -1, axis=0) - corners
    away = radii * np.tan(np.abs(turn) / 2)
    room = (after * out).sum(axis=1) - away - np.roll(away, -1)
    if not np.isfinite(corners).all() or room.min() < -SAME_POINT:
        return None
    if not shapely.Polygon(corners).is_valid:
        return None
    return RoundedPolygon(corners, radii)
