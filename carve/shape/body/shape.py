"""The body: a closed outline, a thickness, and what is taken out of it.

Its volume is the integral of its level sections' areas, so cuts that overlap count once.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array, IntArray
from carve.design.schema.body import Body, Hollow, Pocket
from carve.design.values.quote import quoted
from carve.design.values.tolerances import TINY
from carve.design.values.units import Unit, show_length
from carve.errors import DesignError
from carve.shape.body.chambers import Chamber, InnerSurface, chamber_plans, graduated_chambers
from carve.shape.body.clearance import Clearance, clearances_between
from carve.shape.body.cover import pilot_holes
from carve.shape.body.cuts import (
    SAME,
    Cut,
    Removal,
    RoundBore,
    RoundedPolygon,
    bore_in,
    level_chambers,
    pocket_plan,
    round_plan,
)
from carve.shape.body.drawn_pockets import numbered, plans_of
from carve.shape.body.heel_in_body import HeelInBody
from carve.shape.body.outline import require_simple
from carve.shape.numeric.quadrature import quadrature, read_from, ring_points
from carve.shape.planar.grid import on_grid
from carve.shape.planar.outline import CurvePlan, Outline
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE
from carve.shape.plate.carved_face import MAP_STEP, CarvedFace

BEYOND = 5.0  # mm that the neck's pocket runs out of the outline
# Gauss's rule over the angle t of z = -cos t, between two heights from -1 to 1 at which sections
# change: a bore's width is smooth in t, where in z it begins with an upright tangent
NODES, WEIGHTS = np.polynomial.legendre.leggauss(8)
HEIGHTS = np.cos((NODES + 1) * np.pi / 2)
WEIGHTS = WEIGHTS * np.pi / 2 * np.sin((NODES + 1) * np.pi / 2)
PLENTY = 3.0  # mm; a map of MAP_STEP is nearer to its surface than by this, less TINY
SOUND_HOLE_REACH = 1.0  # mm that a sound hole reaches into the chamber


@dataclass(frozen=True, eq=False)
class BodyShape:
    """A body in its own frame; its edge planes are z = 0 and z = -thickness, mm.

    top, back: what is carved over them, None where a face is flat.
    """

    outline: Outline
    thickness: float
    cuts: tuple[Cut, ...]
    bores: tuple[RoundBore, ...]
    top: CarvedFace | None = None
    back: CarvedFace | None = None

    @property
    def carvings(self) -> tuple[CarvedFace, ...]:
        """The faces that are carved."""
        return tuple(face for face in (self.top, self.back) if face is not None)

    def top_at(self, points: Array) -> Array:
        """(n,) height of the top over points (n, 2)."""
        return np.zeros(len(points)) if self.top is None else self.top.surface(*points.T)

    def back_at(self, points: Array) -> Array:
        """(n,) height of the back under points (n, 2)."""
        if self.back is None:
            return np.full(len(points), -self.thickness)
        return np.asarray(-self.thickness - self.back.surface(*points.T))

    @cached_property
    def reach(self) -> tuple[float, float]:
        """Lowest and highest of the body."""
        low = 0.0 if self.back is None else float(self.back.map.max())
        return -self.thickness - low, 0.0 if self.top is None else float(self.top.map.max())

    @property
    def polygon(self) -> BaseGeometry:
        """What the outline encloses, within ``CURVE_TOLERANCE`` of its curve."""
        return self.outline.polygon

    @cached_property
    def removals(self) -> tuple[Removal, ...]:
        """Cuts and bores."""
        return (*self.cuts, *self.bores)

    @cached_property
    def within(self) -> tuple[BaseGeometry, ...]:
        """The plans of ``removals`` as far as they lie in the outline."""
        return tuple(
            taken.polygon
            if isinstance(taken, Cut) and taken.kind != "neck"
            else shapely.intersection(taken.polygon, self.polygon)
            for taken in self.removals
        )

    @cached_property
    def to_rim(self) -> Array:
        """(n,) mm from the plans of ``removals`` to the outline; 0 where they cross it."""
        return np.asarray(shapely.distance(self.outline.rim, np.array(self.within, dtype=object)))

    @cached_property
    def walls(self) -> tuple[Clearance, ...]:
        """The wood between each two of ``removals``."""
        return clearances_between(self.removals, self.within)

    def breaks(self) -> list[float]:
        """Heights in mm between which sections change smoothly, from the back to the top."""
        inside = (
            z
            for taken, plan in zip(self.removals, self.within, strict=True)
            for z in taken.breaks(plan)
            if SAME - self.thickness < z < -SAME
        )
        return sorted({-self.thickness, 0.0, *inside})

    def _levels(self, z: float, numbers: Iterable[int]) -> BaseGeometry:
        """The level sections of some of ``removals`` at a height, as one area."""
        levels = (self.removals[number].level(z, self.within[number]) for number in numbers)
        found = [level for level in levels if level is not None]
        return found[0] if len(found) == 1 else shapely.union_all(found)

    def section(self, z: float) -> BaseGeometry:
        """The wood's level section at a height in mm."""
        return shapely.difference(self.polygon, self._levels(z, range(len(self.removals))))

    @cached_property
    def _overlapping_groups(self) -> tuple[tuple[int, ...], ...]:
        """The numbers of ``removals`` in heaps whose plans share no ground with one another."""
        heaps = {number: {number} for number in range(len(self.removals))}
        for wall in self.walls:
            if wall.over and heaps[wall.one] is not heaps[wall.other]:
                heaps[wall.one] |= heaps[wall.other]
                for number in heaps[wall.other]:
                    heaps[number] = heaps[wall.one]
        return tuple({min(heap): tuple(sorted(heap)) for heap in heaps.values()}.values())

    def volume(self) -> float:
        """Volume in mm^3: between the edge planes, and what the arches add or take beyond them."""
        taken = sum(
            self._taken_between(low, high, heap)
            for low, high in pairwise(self.breaks())
            for heap in self._overlapping_groups
        )
        taken += sum(self._taken_by(cut) for cut in self.cuts if isinstance(cut, Chamber))
        arched = self._over(self.top, -np.inf) + self._over(self.back, np.inf)
        return float(self.polygon.area * self.thickness - taken + arched)

    def _taken_by(self, room: Chamber) -> float:
        """Volume in mm^3 that a room takes beyond what all other cuts take."""
        points, _ = room.seen
        low, high = room.seen_heights
        free = [(low, high)]
        for cut, plan in zip(self.removals, self.within, strict=True):
            if cut is room or not shapely.intersects(plan, room.polygon):
                continue
            inside = shapely.contains_xy(plan, *points.T)
            bottom, ceiling = cut.heights(points)
            bottom = np.where(inside, bottom, np.inf)
            ceiling = np.where(inside, ceiling, np.inf)
            free = [
                part
                for start, stop in free
                for part in (
                    (start, np.minimum(stop, bottom)),
                    (np.maximum(start, np.where(inside, ceiling, stop)), stop),
                )
            ]
        return room.share * float(sum(np.maximum(stop - start, 0.0).sum() for start, stop in free))

    def _over(self, face: CarvedFace | None, end: float) -> float:
        """Volume in mm^3 between a face and its edge plane, but where cuts come through.

        end: that of the cuts' heights which is not infinite at this face, with its sign.
        """
        if face is None:
            return 0.0
        x, y = face.foundation.lines
        first, size = np.array([x[0], y[0]]), (len(y), len(x))
        inside = on_grid(face.foundation.points, first, MAP_STEP, size)
        # the ledge is flat, so a sum over a grid is as true as any rule (trapezoids)
        whole = face.map.T.ravel()[inside].sum() * MAP_STEP**2
        ground = shapely.Polygon()
        for cut, plan in self._opened(end):
            points, weights = quadrature(shapely.difference(plan, ground))
            height = read_from(face.map, (x, y), points)
            if cut.low > 0:  # a sound hole that ends in a room above the edge plane
                height = np.maximum(height - cut.low, 0.0)
            whole -= weights @ height
            ground = shapely.union(ground, plan)
        return float(whole)

    def _opened(self, end: float) -> list[tuple[Cut, BaseGeometry]]:
        """The cuts that come through a face with their plans, the deepest first."""
        found = [
            (cut, plan)
            for cut, plan in zip(self.cuts, self.within, strict=False)
            if (cut.high if end < 0 else cut.low) == -end
        ]
        return sorted(found, key=lambda pair: pair[0].low)

    def _taken_between(self, low: float, high: float, heap: tuple[int, ...]) -> float:
        """Volume in mm^3 that a heap takes between two heights, where sections change smoothly."""
        middle, half = (low + high) / 2, (high - low) / 2
        varying = [number for number in heap if self.removals[number].varies(middle)]
        steady = self._levels(middle, (number for number in heap if number not in varying))
        total = 2 * half * steady.area
        if varying:
            heights = (middle - half * HEIGHTS).tolist()
            more = [shapely.difference(self._levels(z, varying), steady).area for z in heights]
            total += half * float(WEIGHTS @ more)
        return float(total)

    def wood(
        self,
        points: Array,
        covered: Sequence[IntArray] | None = None,
        faces: tuple[Array, Array] | None = None,
        on_map: IntArray | None = None,
    ) -> Array:
        """(n,) least thickness of wood along z over points (n, 2) in the outline; 0 where none.

        covered: for each of ``removals`` the indices of the points in its plan, found where not
        given. faces: (n,) heights of back and top at the points, likewise. on_map: (n,) the
        points' indices on the map, where they are of it. Where several layers of wood lie over one
        another the thinnest counts.
        """
        if covered is None:
            covered = [
                np.flatnonzero(shapely.contains_xy(taken.polygon, *points.T))
                for taken in self.removals
            ]
        if faces is None:
            faces = self.back_at(points), self.top_at(points)
        wood = faces[1] - faces[0]
        for there, numbers in _alike(len(points), covered):
            here = points[there]
            count = len(here)
            spans = [
                taken.over_map(on_map[there])
                if on_map is not None and isinstance(taken, Chamber)
                else taken.heights(here)
                for taken in (self.removals[number] for number in numbers)
            ]
            if len(spans) == 1:
                wood[there] = _beside_one(*spans[0], faces[0][there], faces[1][there])
                continue
            spans.append((np.full(count, -np.inf), faces[0][there]))
            spans.append((faces[1][there], np.full(count, np.inf)))
            low, high = (np.stack(ends) for ends in zip(*spans, strict=True))
            wood[there] = _thinnest(low, high)
        return wood


def _alike(count: int, covered: Sequence[IntArray]) -> Iterator[tuple[IntArray, list[int]]]:
    """Points that lie in the same plans: their indices, and the numbers of these plans."""
    group = np.zeros(count, dtype=np.int64)
    members: list[list[int]] = [[]]
    for number, there in enumerate(covered):
        before = np.unique(group[there])
        fresh = np.full(len(members), -1)
        fresh[before] = len(members) + np.arange(len(before))
        members += [[*members[old], number] for old in before]
        group[there] = fresh[group[there]]
    order = np.argsort(group, kind="stable")
    starts = np.searchsorted(group[order], np.arange(len(members) + 1))
    for numbers, first, last in zip(members[1:], starts[1:-1], starts[2:], strict=True):
        if last > first:
            yield order[first:last], numbers


def _beside_one(low: Array, high: Array, back: Array, top: Array) -> Array:
    """(n,) what ``_thinnest`` says of one cut from low to high (n,), without sorting heights."""
    under, over = np.minimum(low, top) - back, top - np.maximum(high, back)
    gaps = (np.where(np.isfinite(gap) & (gap > SAME), gap, np.inf) for gap in (under, over))
    least = np.minimum(*gaps)
    return np.where(np.isfinite(least), least, 0.0)


def _thinnest(low: Array, high: Array) -> Array:
    """(n,) least gap between the intervals low to high (k, n) that are free of wood."""
    order = np.argsort(low, axis=0)
    low = np.take_along_axis(low, order, axis=0)
    reached = np.maximum.accumulate(np.take_along_axis(high, order, axis=0), axis=0)
    with np.errstate(invalid="ignore"):
        gaps = low[1:] - reached[:-1]
    gaps = np.where(np.isfinite(gaps) & (gaps > SAME), gaps, np.inf)
    least = gaps.min(axis=0)
    return np.where(np.isfinite(least), least, 0.0)


def body_shape(
    body: Body,
    outline: Outline,
    heel: HeelInBody | None,
    unit: Unit,
    top: CarvedFace | None = None,
    back: CarvedFace | None = None,
    insides: tuple[InnerSurface, InnerSurface] | None = None,
) -> BodyShape:
    """The body as the design asks for it.

    outline: the body's. heel: the neck's, for the pocket that follows it. unit: to speak in.
    top, back: the carved faces. insides: those of top and back, where a plate is graduated.
    Raises DesignError, one sentence for each thing that cannot be.
    """
    require_simple(outline)
    ground = outline.polygon
    problems: list[str] = []
    cuts: list[Cut] = []
    bores: list[RoundBore] = []
    for number, pocket in enumerate(body.pockets):
        key = f"body.pockets[{number}]"
        try:
            own = list(_cuts(pocket, key, body, heel, ground, unit))
            cuts += own
            cuts += _bolts(pocket, key, heel)
            cuts += pilot_holes(pocket, key, own, unit)
        except ValueError as error:
            problems.append(f"{key}.{error}")
        except DesignError as error:
            problems += error.problems
    if body.hollow is not None:
        try:
            cuts += _hollowed(body, body.hollow, ground, insides)
        except ValueError as error:
            problems.append(f"body.hollow.{error}")
    cuts = [_into_room(cut, cuts) for cut in cuts]
    for number, bore in enumerate(body.bores):
        key = f"body.bores[{number}]"
        try:
            bores.append(bore_in(bore, key, ground))
        except ValueError as error:
            problems.append(f"{key}.{error}")
    shape = BodyShape(outline, body.thickness, tuple(cuts), tuple(bores), top, back)
    problems = problems or [
        *_called_alike(shape),
        *_outside(shape, unit),
        *_floors(shape, unit),
        *_pierced(shape, unit),
    ]
    problems = problems or list(_skins(shape, unit))
    if problems:
        raise DesignError(problems)
    return shape


def _cuts(
    pocket: Pocket,
    key: str,
    body: Body,
    heel: HeelInBody | None,
    outline: BaseGeometry,
    unit: Unit,
) -> Iterator[Cut]:
    """What a pocket takes out: one cut, or one for each curve of a layer of the drawing."""
    if pocket.layer is None:
        yield _cut(pocket, key, body, heel, outline)
        return
    plans = plans_of(pocket, key, body.outline, unit)
    if pocket.kind == "neck" and len(plans) > 1:
        raise DesignError(
            [
                f"{key}.layer: {quoted(pocket.layer)} holds {len(plans)} closed curves; a body "
                "has one pocket for the neck"
            ]
        )
    whole = _cut(pocket, key, body, heel, outline, plans[0])
    for number, plan in enumerate(plans):
        yield replace(whole, name=numbered(pocket.name, number, len(plans)), plan=plan)


def _hollowed(
    body: Body,
    hollow: Hollow,
    ground: BaseGeometry,
    insides: tuple[InnerSurface, InnerSurface] | None,
) -> Sequence[Cut]:
    if insides is not None:
        return graduated_chambers(body, hollow, ground, *insides)
    assert hollow.top is not None  # the rules see to it
    assert hollow.back is not None
    plans = chamber_plans(hollow, ground)
    return level_chambers(plans, hollow.back - body.thickness, -hollow.top)


def _into_room(cut: Cut, cuts: Sequence[Cut]) -> Cut:
    """A sound hole goes down into the room under it, as far as its ceiling is anywhere."""
    if cut.kind != "sound hole":
        return cut
    for room in cuts:
        if isinstance(room, Chamber) and shapely.intersects(room.polygon, cut.polygon):
            points = np.concatenate([ring_points(cut.polygon), quadrature(cut.polygon)[0]])
            floor, ceiling = room.heights(points)
            reach = min(SOUND_HOLE_REACH, float((ceiling - floor).min()) / 2)
            return replace(cut, low=float(ceiling.min()) - reach)
    return cut


def _cut(
    pocket: Pocket,
    key: str,
    body: Body,
    heel: HeelInBody | None,
    outline: BaseGeometry,
    plan: RoundedPolygon | CurvePlan | None = None,
) -> Cut:
    """The cut of a pocket. plan: where it was drawn."""
    slope = 0.0 if pocket.slope is None else math.tan(math.radians(pocket.slope))
    if pocket.shape == "heel":
        assert heel is not None  # the rules see to it
        if heel.end <= TINY:
            raise ValueError(
                "shape: the neck's heel ends before the body's edge; bring joint.at nearer to the "
                "nut, or neck.heel_end nearer to the bridge"
            )
        plan = heel.outline(_way_out(heel, outline))
        slope = heel.slope if pocket.slope is None else slope
    elif plan is None:
        plan = pocket_plan(pocket)
    if not isinstance(pocket.depth, float):
        if pocket.kind == "sound hole":
            assert body.hollow is not None  # the rules see to it
            low = -(body.hollow.top or 0.0)
            low -= min(SOUND_HOLE_REACH, _chamber_height(body, body.hollow) / 2)
            return Cut(key, pocket.name, pocket.kind, "front", plan, low, math.inf)
        return Cut(key, pocket.name, pocket.kind, "through", plan, -math.inf, math.inf)
    if pocket.face == "back":
        high = pocket.depth - body.thickness
        return Cut(key, pocket.name, pocket.kind, "back", plan, -math.inf, high)
    return Cut(key, pocket.name, pocket.kind, "front", plan, -pocket.depth, math.inf, slope)


def _bolts(pocket: Pocket, key: str, heel: HeelInBody | None) -> Iterator[Cut]:
    """Holes through the body under the heel's."""
    if pocket.bolts is None or heel is None:
        return
    for number, (x, y) in enumerate(heel.holes, start=1):
        plan = round_plan(x, y, pocket.bolts)
        name = f"{pocket.name}'s bolt {number}"
        yield Cut(f"{key}.bolts", name, "hole", "through", plan, -math.inf, math.inf)


def _way_out(heel: HeelInBody, outline: BaseGeometry) -> float:
    """How far in mm the heel's pocket runs on toward the nut to be clear of the outline."""
    far = max(BEYOND - outline.bounds[0], BEYOND)
    inside = shapely.intersection(
        shapely.Polygon(heel.outline(far).points(CURVE_TOLERANCE)), outline
    )
    return BEYOND if inside.is_empty else BEYOND - float(inside.bounds[0])


def _chamber_height(body: Body, hollow: Hollow) -> float:
    return body.thickness - (hollow.top or 0.0) - (hollow.back or 0.0)


def _called_alike(shape: BodyShape) -> Iterator[str]:
    """No number of a drawn pocket makes another one's name of its own."""
    cuts = [cut for cut in shape.cuts if cut.opens != "nowhere"]
    names = [cut.name for cut in cuts]
    for number, (cut, name) in enumerate(zip(cuts, names, strict=True)):
        if name in names[:number]:
            other = cuts[names.index(name)]
            yield f'{cut.key}.name: "{name}" is what one of {other.key} is called; rename one'


def _outside(shape: BodyShape, unit: Unit) -> Iterator[str]:
    """Every cut lies within the outline, but for the neck's pocket, which runs out of it once."""
    outline, rim = shape.polygon, shape.outline.rim
    rooms = shapely.union_all([cut.polygon for cut in shape.cuts if cut.opens == "nowhere"])
    for cut, wall in zip(shape.cuts, shape.to_rim, strict=False):
        if cut.opens == "nowhere":
            continue
        if cut.kind == "sound hole" and not shapely.contains(rooms, cut.polygon):
            yield (
                f"{cut.key}: {cut.name} lies not over a chamber alone; move it clear of rim and "
                "centre block, or make it smaller"
            )
            continue
        if cut.kind == "neck":
            inside = shapely.intersection(cut.polygon, outline)
            places = 0 if inside.area < 1.0 else len(shapely.get_parts(inside))
            if places != 1:
                yield (
                    f"{cut.key}.shape: the neck's pocket meets the body in {places} places; it "
                    "must be one, without cutting a horn beside the neck"
                )
        elif not shapely.contains_properly(outline, cut.polygon):
            corners = shapely.points(np.asarray(cut.polygon.exterior.coords))
            far = float(
                (~shapely.contains(outline, corners) * shapely.distance(rim, corners)).max()
            )
            yield (
                f"{cut.key}: {cut.name} runs {show_length(far, unit)} out of the outline; move it "
                "inward or make it smaller"
            )
        elif wall < TINY:
            yield (
                f"{cut.key}: {cut.name} leaves {show_length(float(wall), unit)} to the outline; at "
                f"least {show_length(TINY, unit)} is needed for there to be a wall"
            )


def _floors(shape: BodyShape, unit: Unit) -> Iterator[str]:
    """A floor that slopes stays in the wood."""
    for cut, plan in zip(shape.cuts, shape.within, strict=False):
        if cut.slope == 0 or plan.is_empty:
            continue
        x0, _, x1, _ = plan.bounds
        floors = cut.floor(np.array([x0, x1]))
        for x, z in ((x0, floors[0]), (x1, floors[1])):
            if not TINY - shape.thickness <= z <= -TINY:
                yield (
                    f"{cut.key}.depth: {show_length(-z, unit)} where its floor is "
                    f"{show_length(x, unit)} from the body's edge is not allowed; from "
                    f"{show_length(TINY, unit)} to {show_length(shape.thickness - TINY, unit)}"
                )


def _pierced(shape: BodyShape, unit: Unit) -> Iterator[str]:
    """What is closed toward a carved face stays under it, and leaves more than a skin."""
    if not shape.carvings:
        return
    for taken, plan in zip(shape.removals, shape.within, strict=True):
        for face, left in _left(shape, taken, plan):
            if len(left) and left.min() < TINY:
                yield (
                    f"{taken.key}: {taken.name} leaves {show_length(float(left.min()), unit)} to "
                    f"the carved {face} (body.{face}); at least {show_length(TINY, unit)} is "
                    "needed, or open it there"
                )


def _left(shape: BodyShape, taken: Removal, plan: BaseGeometry) -> Iterator[tuple[str, Array]]:
    """The faces that a cut is closed toward, and the wood along z that it leaves, (n,) mm."""
    around = ring_points(plan)
    if isinstance(taken, Chamber):
        (low, high), (floor, ceiling) = taken.heights(around), taken.seen_heights
        top, back = (
            np.zeros(len(floor)) if face is None else np.take(face.map.T, taken.seen[1])
            for face in (shape.top, shape.back)
        )
        yield "top", np.concatenate([shape.top_at(around) - high, top - ceiling])
        under = floor + shape.thickness + back
        yield "back", np.concatenate([low - shape.back_at(around), under])
        return
    points = np.concatenate([around, quadrature(plan)[0]])
    low, high = taken.heights(points)
    if np.isfinite(high).all():
        yield "top", _with_face(shape.top, points, -high)
    if np.isfinite(low).all():
        yield "back", _with_face(shape.back, points, low + shape.thickness)


def _with_face(face: CarvedFace | None, points: Array, more: Array) -> Array:
    """(n,) a face's height in mm over points (n, 2) and ``more``, exact where that is not much."""
    if face is None:
        return more
    found = read_from(face.map, face.foundation.lines, points) + more
    little = found < PLENTY
    found[little] = face.surface(*points[little].T) + more[little]
    return found


def _skins(shape: BodyShape, unit: Unit) -> Iterator[str]:
    """Between two cuts there is either wood or none: a skin is neither."""
    for wall in shape.walls:
        if wall.wood > TINY or wall.meets:
            continue
        one, other = shape.removals[wall.one], shape.removals[wall.other]
        yield (
            f"{other.key}: {other.name} and {one.name} ({one.key}) leave "
            f"{show_length(wall.wood, unit)} between them; let them open into each other, or leave "
            f"at least {show_length(TINY, unit)}"
        )
