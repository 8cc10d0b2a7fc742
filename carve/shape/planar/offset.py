"""How far places are from an outline, and the lines that run beside it."""

import numpy as np
import shapely
from scipy.spatial import cKDTree

from carve.arrays import Array

LOOKUP_STEP = 2.0  # mm between the points by which the nearest segment is looked up


def signed_distance(outline: Array, points: Array) -> Array:
    """(n,) mm from points (n, 2) to a closed outline (k, 2), positive inside.

    The nearest point of a dense row on the outline says which segments may be nearest: its own
    and its neighbours.
    """
    ring = shapely.segmentize(shapely.LinearRing(outline), LOOKUP_STEP)
    starts = shapely.get_coordinates(ring)[:-1]
    stops = np.roll(starts, -1, axis=0)
    _, nearest = cKDTree(starts).query(points)
    found = np.full(len(points), np.inf)
    for beside in (-2, -1, 0, 1):
        k = (nearest + beside) % len(starts)
        a, along = starts[k], stops[k] - starts[k]
        away = points - a
        share = np.clip((away * along).sum(1) / (along * along).sum(1), 0, 1)
        found = np.minimum(found, np.hypot(*(away - share[:, None] * along).T))
    within = shapely.contains_xy(shapely.Polygon(outline), points)
    return np.asarray(np.where(within, found, -found))


def inset(outline: Array, distance: float) -> tuple[shapely.Polygon, ...]:
    """What is left of an outline (k, 2) that lies further than ``distance`` mm inside, largest
    first: nothing where it is nowhere so wide, several pieces where a waist is too narrow.
    """
    left = shapely.Polygon(outline).buffer(-distance, quad_segs=32)
    pieces = [part for part in shapely.get_parts(left) if part.area > 0]
    return tuple(sorted(pieces, key=lambda part: -part.area))


def spaced(ring: Array, spacing: float) -> tuple[Array, Array, Array]:
    """Evenly spaced points on a closed line (k, 2), each in the middle of its piece.

    spacing: mm, the most there is between two. Returns points (n, 2), unit vectors square to the
    line there (n, 2), to the left of its course, and the length in mm each stands for (n,).
    """
    closed = np.vstack([ring, ring[:1]])
    lengths = np.hypot(*np.diff(closed, axis=0).T)
    kept = lengths > 0
    starts, along, lengths = ring[kept], np.diff(closed, axis=0)[kept], lengths[kept]
    ends = np.cumsum(lengths)
    count = max(8, int(np.ceil(ends[-1] / spacing)))
    at = (np.arange(count) + 0.5) / count * ends[-1]
    k = np.minimum(np.searchsorted(ends, at, side="right"), len(ends) - 1)
    unit = along[k] / lengths[k][:, None]
    points = starts[k] + unit * (at - ends[k] + lengths[k])[:, None]
    left = np.stack([-unit[:, 1], unit[:, 0]], axis=1)
    return points, left, np.full(count, ends[-1] / count)


def across(region: shapely.Geometry, x: float | None = None) -> tuple[float, float] | None:
    """Where a line enters and leaves a region: the stretch through or nearest to the centre line.

    x: mm, the line lies across there; None for the centre line itself, of which the first and
    last place are given. Returns mm along the line, or None where it misses the region.
    """
    low_x, low_y, high_x, high_y = region.bounds
    if x is None:
        ray = shapely.LineString([(low_x - 1, 0.0), (high_x + 1, 0.0)])
        met = shapely.get_coordinates(ray.intersection(region))
        return None if len(met) < 2 else (float(met[:, 0].min()), float(met[:, 0].max()))
    ray = shapely.LineString([(x, low_y - 1), (x, high_y + 1)])
    parts = shapely.get_parts(ray.intersection(region))
    parts = [part for part in parts if part.length > 0]
    if not parts:
        return None
    best = min(parts, key=lambda part: part.distance(shapely.Point(x, 0.0)))
    y = shapely.get_coordinates(best)[:, 1]
    return float(y.min()), float(y.max())
