"""The body's volume as the integral of its level sections' areas: cuts that overlap count once."""

from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.shape.body.chambers import Chamber
from carve.shape.body.cuts import Cut
from carve.shape.body.shape import BodyShape
from carve.shape.numeric.quadrature import quadrature, read_from
from carve.shape.planar.grid import on_grid
from carve.shape.planar.rounded_polygon import SAME_POINT
from carve.shape.plate.carved_face import MAP_STEP, CarvedFace

# Gauss's rule over the angle t of z = -cos t, between two heights from -1 to 1 at which sections
# change: a bore's width is smooth in t, where in z it begins with an upright tangent
BORE_NODES, BORE_WEIGHTS = np.polynomial.legendre.leggauss(8)
BORE_HEIGHTS = np.cos((BORE_NODES + 1) * np.pi / 2)
BORE_WEIGHTS = BORE_WEIGHTS * np.pi / 2 * np.sin((BORE_NODES + 1) * np.pi / 2)


def body_volume(shape: BodyShape) -> float:
    """Volume in mm^3: between the edge planes, and what the arches add or take beyond them."""
    groups = _overlapping_groups(shape)
    taken = sum(
        _taken_between(shape, low, high, group)
        for low, high in pairwise(breaks(shape))
        for group in groups
    )
    taken += sum(_taken_by(shape, cut) for cut in shape.cuts if isinstance(cut, Chamber))
    arched = _over(shape, shape.top, -np.inf) + _over(shape, shape.back, np.inf)
    return float(shape.polygon.area * shape.thickness - taken + arched)


def breaks(shape: BodyShape) -> list[float]:
    """Heights in mm between which sections change smoothly, from the back to the top."""
    inside = (
        z
        for taken, plan in zip(shape.removals, shape.within, strict=True)
        for z in taken.breaks(plan)
        if SAME_POINT - shape.thickness < z < -SAME_POINT
    )
    return sorted({-shape.thickness, 0.0, *inside})


def _overlapping_groups(shape: BodyShape) -> tuple[tuple[int, ...], ...]:
    """The numbers of ``removals`` in groups whose plans share no ground with one another."""
    groups = {number: {number} for number in range(len(shape.removals))}
    for wall in shape.walls:
        if wall.over and groups[wall.one] is not groups[wall.other]:
            groups[wall.one] |= groups[wall.other]
            for number in groups[wall.other]:
                groups[number] = groups[wall.one]
    return tuple({min(group): tuple(sorted(group)) for group in groups.values()}.values())


def _taken_between(shape: BodyShape, low: float, high: float, group: tuple[int, ...]) -> float:
    """Volume in mm^3 that a group takes between two heights, where sections change smoothly."""
    middle, half = (low + high) / 2, (high - low) / 2
    varying = [number for number in group if shape.removals[number].varies(middle)]
    steady = shape.levels(middle, (number for number in group if number not in varying))
    total = 2 * half * steady.area
    if varying:
        heights = (middle - half * BORE_HEIGHTS).tolist()
        more = [shapely.difference(shape.levels(z, varying), steady).area for z in heights]
        total += half * float(BORE_WEIGHTS @ more)
    return float(total)


def _taken_by(shape: BodyShape, chamber: Chamber) -> float:
    """Volume in mm^3 that a chamber takes beyond what all other cuts take."""
    points, _ = chamber.seen
    low, high = chamber.seen_heights
    free = [(low, high)]
    for cut, plan in zip(shape.removals, shape.within, strict=True):
        if cut is chamber or not shapely.intersects(plan, chamber.polygon):
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
    return chamber.share * float(sum(np.maximum(stop - start, 0.0).sum() for start, stop in free))


def _over(shape: BodyShape, face: CarvedFace | None, end: float) -> float:
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
    for cut, plan in _opened(shape, end):
        points, weights = quadrature(shapely.difference(plan, ground))
        height = read_from(face.map, (x, y), points)
        if cut.low > 0:  # a sound hole that ends in a chamber above the edge plane
            height = np.maximum(height - cut.low, 0.0)
        whole -= weights @ height
        ground = shapely.union(ground, plan)
    return float(whole)


def _opened(shape: BodyShape, end: float) -> list[tuple[Cut, BaseGeometry]]:
    """The cuts that come through a face with their plans, the deepest first."""
    found = [
        (cut, plan)
        for cut, plan in zip(shape.cuts, shape.within, strict=False)
        if (cut.high if end < 0 else cut.low) == -end
    ]
    return sorted(found, key=lambda pair: pair[0].low)
