"""The wood between each two cuts in the body, measured in space.

Upright cuts are prisms: seen from above their plans are some distance apart, seen from the side
their heights some gap, and the two are square to one another, so the wood between them is
hypot(distance, gap). Where their plans overlap, the gap over the part they share counts. A floor
that slopes is nearer to what is under it than straight down by the cosine of its slope: that
cosine is taken off everywhere, so there is never less wood than is said.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array
from carve.shape.body.cuts import Cut, Removal, RoundBore

LEAST_OVERLAP = 0.01  # mm; cuts that share no more than this don't open into each other
AROUND_STEP = 0.25  # mm between the places around a plan that a bore is looked at from


@dataclass(frozen=True)
class Clearance:
    """The wood between two cuts. one, other: their numbers. wood: mm in space, 0 where they touch.

    over: whether one lies over the other, their plans sharing ground. meets: whether they open
    into each other.
    """

    one: int
    other: int
    wood: float
    over: bool
    meets: bool


def clearances_between(
    taken: Sequence[Removal], plans: Sequence[BaseGeometry]
) -> tuple[Clearance, ...]:
    """Every wall. plans: of the cuts, as far as they lie in the body."""
    pairs = list(combinations(range(len(taken)), 2))
    if not pairs:
        return ()
    grounds = np.array(plans, dtype=object)
    ones, others = np.array(pairs).T
    apart = shapely.distance(grounds[ones], grounds[others])
    found = []
    for one, other, beside in zip(ones.tolist(), others.tolist(), apart.tolist(), strict=True):
        a, b = taken[one], taken[other]
        if isinstance(a, RoundBore) or isinstance(b, RoundBore):
            found.append(_bored(one, other, a, b, plans))
        else:
            found.append(_upright(one, other, a, b, plans, beside))
    return tuple(found)


def _upright(
    one: int, other: int, a: Cut, b: Cut, plans: Sequence[BaseGeometry], beside: float
) -> Clearance:
    here, there = plans[one], plans[other]
    shared = shapely.intersection(here, there) if beside <= 0 else None
    over = shared is not None and _has_ground(shared)
    gap = _gap(a, here, b, there) if not over or shared is None else _gap(a, shared, b, shared)
    level = math.cos(math.atan(max(abs(a.slope), abs(b.slope))))
    wood = math.hypot(max(gap, 0.0), beside) * (level if gap > 0 else 1.0)
    return Clearance(one, other, wood, over, meets=over and gap < -LEAST_OVERLAP)


def _has_ground(shared: BaseGeometry) -> bool:
    if shared.is_empty:
        return False
    x0, y0, x1, y1 = shared.bounds
    return bool(min(x1 - x0, y1 - y0) > LEAST_OVERLAP and shared.area > LEAST_OVERLAP**2)


def _gap(a: Cut, here: BaseGeometry, b: Cut, there: BaseGeometry) -> float:
    """Upright gap between two cuts over parts of their plans; negative where heights overlap."""
    return max(_lowest(a, here) - b.high, _lowest(b, there) - a.high)


def _lowest(cut: Cut, plan: BaseGeometry) -> float:
    if cut.slope == 0:
        return cut.low
    x0, _, x1, _ = plan.bounds
    return float(cut.floor(np.array([x0, x1])).min())


def _bored(
    one: int, other: int, a: Removal, b: Removal, plans: Sequence[BaseGeometry]
) -> Clearance:
    if isinstance(a, RoundBore) and isinstance(b, RoundBore):
        wood = _bore_to_bore(a, b)
        over = bool(shapely.intersects(plans[one], plans[other]))
        return Clearance(one, other, wood, over, meets=wood <= 0)
    bore, cut, plan = (a, b, plans[other]) if isinstance(a, RoundBore) else (b, a, plans[one])
    assert isinstance(bore, RoundBore)
    assert isinstance(cut, Cut)
    wood = _bore_to_cut(bore, cut, plan, 0.0)
    return Clearance(
        one,
        other,
        wood,
        over=bool(shapely.intersects(bore.polygon, plan)),
        meets=wood <= 0 and _bore_to_cut(bore, cut, plan, LEAST_OVERLAP) <= 0,
    )


def _bore_to_cut(bore: RoundBore, cut: Cut, plan: BaseGeometry, less: float) -> float:
    """Least distance in mm of a bore, smaller all around by ``less``, from an upright cut.

    In the bore's own terms a place is u along its axis, v aside and w above it, and its distance
    is hypot(u beyond the ends, hypot(v, w) - radius). Least over a plan is where the axis runs
    under it, or on its rim, which is looked at every ``AROUND_STEP`` mm.
    """
    radius, depth = bore.radius - less, bore.depth - less
    gap = max(_lowest(cut, plan) - bore.axis, bore.axis - cut.high, 0.0)
    axis = shapely.LineString([bore.start, bore.start + depth * bore.along])
    if shapely.intersects(axis, plan):
        return max(gap - radius, 0.0)
    rim = np.concatenate(
        [
            np.asarray(ring.coords)
            for part in shapely.get_parts(shapely.segmentize(plan, AROUND_STEP))
            for ring in (part.exterior, *part.interiors)
        ]
    )
    u, v = ((rim - bore.start) @ np.stack([bore.along, bore.aside], 1)).T
    beyond = np.maximum(u - depth, np.maximum(-u, 0.0))
    aside = np.maximum(np.hypot(v, gap) - radius, 0.0)
    return float(np.hypot(beyond, aside).min())


def _bore_to_bore(a: RoundBore, b: RoundBore) -> float:
    """Least distance in mm of two bores, or a little less where their ends face each other."""
    axes = [
        shapely.LineString([bore.start, bore.start + bore.depth * bore.along]) for bore in (a, b)
    ]
    beside = float(shapely.distance(*axes))
    return max(math.hypot(beside, a.axis - b.axis) - a.radius - b.radius, 0.0)


def place_of(
    wall: Clearance, taken: Sequence[Removal], plans: Sequence[BaseGeometry], thickness: float
) -> tuple[float, float, float]:
    """A place in the wood of a wall, where it is thinnest: x, y, z in mm."""
    here, there = plans[wall.one], plans[wall.other]
    if wall.over:
        x, y = inside(shapely.intersection(here, there))
    else:
        x, y = nearest(here, there)
    a, b = taken[wall.one], taken[wall.other]
    point = np.array([[x, y]])
    spans = [
        (max(float(low[0]), -thickness), min(float(high[0]), 0.0))
        for low, high in (a.heights(point), b.heights(point))
    ]
    low, high = min(spans[0][1], spans[1][1]), max(spans[0][0], spans[1][0])
    return x, y, (low + high) / 2


def nearest(here: BaseGeometry, there: BaseGeometry) -> tuple[float, float]:
    """Half way between the nearest places of two plans."""
    between: Array = np.asarray(shapely.shortest_line(here, there).coords)
    x, y = between.mean(axis=0)
    return float(x), float(y)


def inside(plan: BaseGeometry) -> tuple[float, float]:
    """A place well within a plan."""
    point = plan.representative_point()
    return float(point.x), float(point.y)
