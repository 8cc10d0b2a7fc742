"""A mesh as a file with 32-bit coordinates holds it."""

import numpy as np

from carve.solid.mesh import FLAT_AREA, Mesh


def as_written(mesh: Mesh) -> Mesh:
    """The mesh with its points rounded to 32 bits, and sound again.

    Points that become equal are joined. Triangles that lose their area are removed: those with two
    equal points are dropped, two back to back are dropped together, and one with its three points
    in a line gives its middle point to the neighbour on its long side.
    """
    coordinates = mesh.points.astype(np.float32).astype(np.float64)
    order = np.lexsort(coordinates.T[::-1])  # by x, then y, then z
    ordered = coordinates[order]
    fresh = np.r_[True, (ordered[1:] != ordered[:-1]).any(axis=1)]
    index = np.empty(len(order), dtype=np.int64)
    index[order] = np.cumsum(fresh) - 1
    points = ordered[fresh]
    triangles = index[mesh.triangles]
    a, b, c = triangles.T
    kept = (a != b) & (b != c) & (c != a)
    joined = Mesh(points, triangles[kept], mesh.surface[kept], mesh.names)
    return _without_flat(_without_flat_pairs(joined))


def _without_flat_pairs(mesh: Mesh) -> Mesh:
    """The same surface without pairs of flat triangles back to back."""
    flat = np.flatnonzero(mesh.doubled_areas <= FLAT_AREA)
    faces: dict[tuple[int, ...], list[int]] = {}
    gone: list[int] = []
    for number in flat:
        a, b, c = (int(corner) for corner in mesh.triangles[number])
        first = min((a, b, c), (b, c, a), (c, a, b))
        back = faces.get((first[0], first[2], first[1]))
        if back:
            gone += [back.pop(), int(number)]
        else:
            faces.setdefault(first, []).append(int(number))
    if not gone:
        return mesh
    kept = np.setdiff1d(np.arange(len(mesh.triangles)), gone)
    return Mesh(mesh.points, mesh.triangles[kept], mesh.surface[kept], mesh.names)


def _without_flat(mesh: Mesh) -> Mesh:
    """The same surface without triangles whose three points lie in a line."""
    flat = np.flatnonzero(mesh.doubled_areas <= FLAT_AREA)
    if not len(flat):
        return mesh
    triangles, surface = mesh.triangles.copy(), mesh.surface.copy()
    for number in flat:
        corners = mesh.points[triangles[number]]
        sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        # a, b, c with b between the two ends of the long side
        c, a, b = np.roll(triangles[number], -int(np.argmax(sides)))
        has = (triangles == a) | (triangles == c)
        beside = np.flatnonzero(has.sum(axis=1) == 2)
        beside = beside[beside != number]
        if len(beside) != 1:
            continue  # no single neighbour: the checks will speak of it
        other = int(beside[0])
        d = triangles[other][~has[other]][0]
        triangles[number], triangles[other] = (a, b, d), (b, c, d)
        surface[number] = surface[other]
    return Mesh(mesh.points, triangles, surface, mesh.names)
