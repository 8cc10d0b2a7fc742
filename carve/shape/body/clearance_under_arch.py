"""The wood between a cut and a carved face, measured in space.

The face is looked at on its map, over the cut and beside it as far as could be nearer than
straight through the wood.
"""

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array, IntArray
from carve.shape.body.cuts import Cut, RoundBore
from carve.shape.numeric.quadrature import ring_points
from carve.shape.planar.grid import on_grid
from carve.shape.plate.carved_face import MAP_STEP, CarvedFace

WoodAt = tuple[float, float, float]


def cut_to_face(
    cut: Cut, plan: BaseGeometry, face: CarvedFace, thickness: float | None = None
) -> tuple[float, WoodAt]:
    """Least wood in mm from a cut's ceiling to the carved top, and where it is thinnest.

    plan: the cut's, as far as it lies in the body. thickness: mm of the body; where it is given,
    from the cut's floor to the carved back. Where a floor slopes its cosine is taken off.
    """
    rim = ring_points(plan)
    over, heights = _seen(face, plan)
    over = np.concatenate([over, rim])
    heights = np.concatenate([heights, face.surface(*rim.T)])
    gaps = _gaps(cut, over, heights, thickness)
    thinnest = int(np.argmin(gaps))
    least, at = float(gaps[thinnest]), (*over[thinnest], heights[thinnest])
    if least > 0:
        around = shapely.difference(plan.buffer(least), plan)
        points, beside_heights = _seen(face, around)
        nearer = _gaps(cut, points, beside_heights, thickness) < least
        points, beside_heights = points[nearer], beside_heights[nearer]
        if len(points):
            beside = shapely.distance(plan, shapely.points(points))
            away = np.hypot(beside, np.maximum(_gaps(cut, points, beside_heights, thickness), 0.0))
            if away.min() < least:
                thinnest = int(np.argmin(away))
                least, at = float(away[thinnest]), (*points[thinnest], beside_heights[thinnest])
    x, y, height = (float(value) for value in at)
    face_z = height if thickness is None else -thickness - height
    level = float(cut.high if thickness is None else cut.floor(np.array([x]))[0])
    return least / float(np.hypot(1.0, cut.slope)), (x, y, (face_z + level) / 2)


def _gaps(cut: Cut, points: Array, heights: Array, thickness: float | None) -> Array:
    if thickness is None:
        return heights - cut.high
    return np.asarray(cut.floor(points[:, 0]) + thickness + heights)


def bore_to_face(
    bore: RoundBore, plan: BaseGeometry, face: CarvedFace, thickness: float | None = None
) -> tuple[float, WoodAt]:
    """Least wood in mm from a bore to the carved top, or to the back where thickness is given.

    plan: its shadow, as far as it lies in the body. Returns it and where it is thinnest.
    """
    near = plan.buffer(2 * bore.radius)
    points, heights = _seen(face, near)
    z = heights if thickness is None else -thickness - heights
    u, v = ((points - bore.start) @ np.stack([bore.along, bore.aside], 1)).T
    beyond = np.maximum(u - bore.depth, np.maximum(-bore.before - u, 0.0))
    away = np.hypot(beyond, np.maximum(np.hypot(v, z - bore.axis) - bore.radius, 0.0))
    thinnest = int(np.argmin(away))
    x, y = (float(value) for value in points[thinnest])
    edge = bore.axis + (bore.radius if thickness is None else -bore.radius)
    return float(away[thinnest]), (x, y, (float(z[thinnest]) + edge) / 2)


def _found(face: CarvedFace, region: BaseGeometry) -> IntArray:
    """(k,) indices of the map's points in a region, row by row."""
    x, y = face.foundation.lines
    first, size = np.array([x[0], y[0]]), (len(y), len(x))
    parts = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon"]
    found = [
        # an odd number of rings around a place: its own and no hole's
        _odd([on_grid(_ring(ring), first, MAP_STEP, size) for ring in _rings(part)])
        for part in parts
    ]
    return np.concatenate([np.zeros(0, dtype=np.int64), *found])


def _rings(part: shapely.Polygon) -> list[shapely.LinearRing]:
    return [part.exterior, *part.interiors]


def _ring(ring: shapely.LinearRing) -> Array:
    return np.asarray(ring.coords)[:-1]


def _odd(rings: list[IntArray]) -> IntArray:
    if len(rings) == 1:
        return rings[0]
    return np.flatnonzero(np.bincount(np.concatenate(rings)) % 2)


def _seen(face: CarvedFace, region: BaseGeometry) -> tuple[Array, Array]:
    """(k, 2) mm: the map's points in a region, and (k,) mm of the face's height there."""
    x, y = face.foundation.lines
    found = _found(face, region)
    i, j = found % len(x), found // len(x)
    return np.stack([x[i], y[j]], axis=1), np.asarray(face.map[i, j])
