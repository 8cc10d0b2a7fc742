"""Reading a mesh as a caliper or a gauge would: by the mesh alone, not by any formula."""

import numpy as np

from carve.arrays import Array
from carve.solid.mesh import Mesh

ON_EDGE = 1e-6  # of a triangle's height, or mm


def slice_at(mesh: Mesh, x: float) -> Array:
    """Where a plane across the neck meets the mesh. Returns (k, 2, 2): segments' y, z in mm.

    A mesh point exactly on the plane counts as beyond it.
    """
    beyond = mesh.points[:, 0] >= x
    sides = beyond[mesh.triangles]
    crossed = mesh.triangles[sides.any(axis=1) & ~sides.all(axis=1)]
    beyond_there = beyond[crossed]
    # the corner that is alone on its side is where both crossing edges start
    lone_is_beyond = beyond_there.sum(axis=1) == 1
    lone = np.argmax(beyond_there == lone_is_beyond[:, None], axis=1)
    turn = (lone[:, None] + np.arange(3)) % 3
    corners = mesh.points[np.take_along_axis(crossed, turn, axis=1)]
    start, stops = corners[:, :1], corners[:, 1:]
    share = (x - start[..., 0]) / (stops[..., 0] - start[..., 0])
    return np.asarray((start + share[..., None] * (stops - start))[..., 1:])


def to_segments(points: Array, segments: Array) -> Array:
    """(n,) distance from points (n, 2) to the nearest of segments (k, 2, 2)."""
    (a_y, a_z), (along_y, along_z) = segments[:, 0].T, (segments[:, 1] - segments[:, 0]).T
    length2 = np.maximum(along_y**2 + along_z**2, 1e-30)
    y, z = points[:, :1] - a_y, points[:, 1:] - a_z
    share = np.clip((y * along_y + z * along_z) / length2, 0, 1)
    y -= share * along_y
    z -= share * along_z
    return np.asarray(np.sqrt((y * y + z * z).min(axis=1)))


def height_over(mesh: Mesh, points: Array, name: str) -> Array:
    """(n,) z in mm of one of a mesh's surfaces over points (n, 2), nan where it is not there.

    name: the surface's, which lies over no place twice.
    """
    number = mesh.names.index(name) if name in mesh.names else -1
    x0, x1, x2 = mesh.points[:, 0][mesh.triangles.T]
    # a little wide, so that a point on an edge is looked for on both sides of it
    low = np.minimum(np.minimum(x0, x1), x2) - ON_EDGE
    high = np.maximum(np.maximum(x0, x1), x2) + ON_EDGE
    on_it = mesh.surface == number
    found = np.full(len(points), np.nan)
    for place, (x, y) in enumerate(points):
        near = np.flatnonzero(on_it & (low <= x) & (high >= x))
        corners = mesh.points[mesh.triangles[near]]
        (ax, ay, az), (bx, by, bz), (cx, cy, cz) = corners.transpose(1, 2, 0)
        whole = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        whole = np.where(whole == 0, np.inf, whole)  # upright: over no place
        to_b = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / whole
        to_c = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / whole
        # a point on an edge lies on both sides of it, give or take rounding
        inside = np.where(
            np.isinf(whole), -1.0, np.minimum(np.minimum(to_b, to_c), 1 - to_b - to_c)
        )
        if len(inside) and inside.max() > -ON_EDGE:
            t = int(np.argmax(inside))
            found[place] = az[t] + to_b[t] * (bz[t] - az[t]) + to_c[t] * (cz[t] - az[t])
    return found


def slice_level(mesh: Mesh, z: float) -> Array:
    """Where a level plane meets the mesh. Returns (k, 2, 2): segments' x, y in mm."""
    # x, y, z told as z, x, y: a quarter turn about the space's diagonal
    turned = Mesh(mesh.points[:, [2, 0, 1]], mesh.triangles, mesh.surface, mesh.names)
    return slice_at(turned, z)


def circle_through(points: Array) -> tuple[float, float, float]:
    """X, y and radius in mm of the circle that fits points (n, 2) best; nan where they fit none.

    By x^2 + y^2 = 2 a x + 2 b y + c, least squares (Kasa 1976; from memory).
    """
    if len(points) < 3:
        return float("nan"), float("nan"), float("nan")
    middle = points.mean(axis=0)
    x, y = (points - middle).T
    (a, b, c), *_ = np.linalg.lstsq(
        np.stack([2 * x, 2 * y, np.ones(len(x))], 1), x**2 + y**2, rcond=None
    )
    radius = float(np.sqrt(max(c + a**2 + b**2, 0.0)))
    return float(middle[0] + a), float(middle[1] + b), radius
