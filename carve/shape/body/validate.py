"""What a body cannot be: whether its cuts lie in the wood and leave either wood or none."""

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array
from carve.design.values.tolerances import TINY
from carve.errors import Problem
from carve.shape.body.chambers import Chamber
from carve.shape.body.cuts import Removal
from carve.shape.body.problems import (
    CutOutside,
    FloorOutOfWood,
    HoleBesideChamber,
    NeckPocketParted,
    PlateSide,
    SameName,
    SkinBetweenCuts,
    SkinUnderFace,
    WallThin,
)
from carve.shape.body.shape import BodyShape
from carve.shape.numeric.quadrature import quadrature, read_from, ring_points
from carve.shape.plate.carved_face import CarvedFace

MAP_ERROR = 3.0  # mm; a map of MAP_STEP is nearer to its surface than by this, less TINY


def problems_of(shape: BodyShape) -> list[Problem]:
    """Everything that is wrong with a body: skins are looked for only where nothing else is."""
    found = [*_called_alike(shape), *_outside(shape), *_floors(shape), *_pierced(shape)]
    return found or list(_skins(shape))


def _called_alike(shape: BodyShape) -> Iterator[Problem]:
    """No number of a drawn pocket makes another one's name of its own."""
    cuts = [cut for cut in shape.cuts if cut.opens != "nowhere"]
    names = [cut.name for cut in cuts]
    for number, (cut, name) in enumerate(zip(cuts, names, strict=True)):
        if name in names[:number]:
            yield SameName(cut.key, name, cuts[names.index(name)].key)


def _outside(shape: BodyShape) -> Iterator[Problem]:
    """Every cut lies within the outline, but for the neck's pocket, which runs out of it once."""
    outline, rim = shape.polygon, shape.outline.rim
    chambers = shapely.union_all([cut.polygon for cut in shape.cuts if cut.opens == "nowhere"])
    for cut, wall in zip(shape.cuts, shape.to_rim, strict=False):
        if cut.opens == "nowhere":
            continue
        if cut.kind == "sound hole" and not shapely.contains(chambers, cut.polygon):
            yield HoleBesideChamber(cut.key, cut.name)
            continue
        if cut.kind == "neck":
            inside = shapely.intersection(cut.polygon, outline)
            places = 0 if inside.area < 1.0 else len(shapely.get_parts(inside))
            if places != 1:
                yield NeckPocketParted(cut.key, places)
        elif not shapely.contains_properly(outline, cut.polygon):
            corners = shapely.points(np.asarray(cut.polygon.exterior.coords))
            away = ~shapely.contains(outline, corners) * shapely.distance(rim, corners)
            yield CutOutside(cut.key, cut.name, float(away.max()))
        elif wall < TINY:
            yield WallThin(cut.key, cut.name, float(wall), TINY)


def _floors(shape: BodyShape) -> Iterator[Problem]:
    """A floor that slopes stays in the wood."""
    for cut, plan in zip(shape.cuts, shape.within, strict=False):
        if cut.slope == 0 or plan.is_empty:
            continue
        x0, _, x1, _ = plan.bounds
        floors = cut.floor(np.array([x0, x1]))
        for x, z in ((x0, floors[0]), (x1, floors[1])):
            if not TINY - shape.thickness <= z <= -TINY:
                yield FloorOutOfWood(cut.key, -float(z), float(x), TINY, shape.thickness - TINY)


def _pierced(shape: BodyShape) -> Iterator[Problem]:
    """What is closed toward a carved face stays under it, and leaves more than a skin."""
    if not shape.carvings:
        return
    for taken, plan in zip(shape.removals, shape.within, strict=True):
        for face, left in _left(shape, taken, plan):
            if len(left) and left.min() < TINY:
                yield SkinUnderFace(taken.key, taken.name, face, float(left.min()), TINY)


def _left(
    shape: BodyShape, taken: Removal, plan: BaseGeometry
) -> Iterator[tuple[PlateSide, Array]]:
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
    little = found < MAP_ERROR
    found[little] = face.surface(*points[little].T) + more[little]
    return found


def _skins(shape: BodyShape) -> Iterator[Problem]:
    """Between two cuts there is either wood or none: a skin is neither."""
    for wall in shape.walls:
        if wall.wood > TINY or wall.meets:
            continue
        one, other = shape.removals[wall.one], shape.removals[wall.other]
        yield SkinBetweenCuts(other.key, other.name, one.name, one.key, wall.wood, TINY)
