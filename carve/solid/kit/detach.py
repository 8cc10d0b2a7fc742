"""A patch of a mesh's surface is taken off while a boolean cuts the rest, and put back afterwards.

A boolean needs time for every triangle, and most triangles of a neck's back or of a carved face
lie where no tool comes. ``detach`` takes such a patch off and closes the hole with a placeholder
of few triangles, which no tool may meet. ``reattach`` drops the placeholder from the result of
the boolean and joins the patch to it again, point by point along the patch's boundary.

The placeholder is the only thing in which patches differ:

- ``Cone`` has one triangle for each edge of the boundary. It leans over what lies beside it. So
  it serves a patch without holes whose tools all lie on its other side, as a neck's back.
- ``Walls`` stand upright and carry a flat lid. Upright tools may stand beside them and in the
  holes of a patch, as the pockets in a carved face. The lid must be triangulated, and a tool that
  begins in the plane of a wall would split its triangles.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np

from carve.arrays import Array, BoolArray, IntArray
from carve.solid.mesh import Mesh, bounds

PLACEHOLDER = "placeholder"
"""The name of the surface that closes the hole of a patch."""

PLAN_CLEARANCE = 0.5  # mm in plan between a patch and every tool
FEWEST_TRIANGLES = 2000  # of a patch; fewer are cut as quickly as detached
KEY_Y, KEY_Z = np.sqrt([2.0, 3.0])  # irrational: different points hardly ever share a search key


@dataclass(frozen=True, eq=False)
class Cone:
    """A placeholder from the one loop around a patch to a point.

    apex: (3,) mm, outside of the solid.
    """

    apex: Array

    def close(self, points: Array, loops: Sequence[IntArray]) -> tuple[Array, IntArray]:
        """See ``Walls.close``."""
        (loop,) = loops
        apex = np.full(len(loop), len(points))
        return self.apex[None], np.stack([loop, np.roll(loop, -1), apex], 1)


@dataclass(frozen=True)
class Walls:
    """A placeholder of upright walls around a patch, and a flat lid at ``level`` mm in z."""

    level: float

    def close(self, points: Array, loops: Sequence[IntArray]) -> tuple[Array, IntArray]:
        """The points and triangles that close the hole of a patch.

        points: (n, 3) mm of the mesh. loops: (k,) indices of points each, around the patch as its
        triangles run. Returns (p, 3) mm, numbered from n on, and (t, 3) indices.
        """
        a, b = np.concatenate(loops), np.concatenate([np.roll(loop, -1) for loop in loops])
        sizes = [len(loop) for loop in loops]
        starts = np.cumsum([0, *sizes[:-1]])
        on_lid = [start + np.arange(size) for start, size in zip(starts, sizes, strict=True)]
        over_a = len(points) + np.concatenate(on_lid)
        over_b = len(points) + np.concatenate([np.roll(loop, -1) for loop in on_lid])
        lid = points[a].copy()
        lid[:, 2] = self.level
        # a plan is filled counter-clockwise: a patch that faces down is looked at from below
        area = float((lid[:, 0] * points[b, 1] - points[b, 0] * lid[:, 1]).sum())
        plan = lid[:, :2] * [1.0, np.sign(area)]
        filled = np.asarray(
            manifold3d.triangulate([plan[indices] for indices in on_lid]), dtype=np.int64
        )
        triangles = [
            np.stack([a, b, over_b], 1),
            np.stack([a, over_b, over_a], 1),
            len(points) + filled,
        ]
        return lid, np.concatenate(triangles)


@dataclass(frozen=True, eq=False)
class DetachedPatch:
    """A closed mesh of n points and m triangles, and the patch that is taken off it.

    whole: the mesh as it was. remainder: the closed mesh to cut, with the surface ``PLACEHOLDER``
    in place of the patch. detached: (m,) which triangles of ``whole`` are the patch.
    boundary: (k, 2) indices of the points of ``whole`` at both ends of each edge around the
    patch, in the order in which the patch's triangles run.
    """

    whole: Mesh
    remainder: Mesh
    detached: BoolArray
    boundary: IntArray


def detach(mesh: Mesh, patches: Sequence[tuple[BoolArray, Cone | Walls]]) -> DetachedPatch:
    """Take patches off a closed mesh.

    patches: of each, (m,) which triangles of the mesh it is, and what takes its place. No two
    parts of a patch meet in a mere point, and no two patches touch.
    """
    detached = np.logical_or.reduce([patch for patch, _ in patches])
    points, triangles, boundary = mesh.points, [mesh.triangles[~detached]], []
    for patch, placeholder in patches:
        edges = _boundary(mesh, patch)
        added, closing = placeholder.close(points, _loops(edges))
        points = np.concatenate([points, added])
        triangles.append(closing)
        boundary.append(edges)
    closed = sum(len(closing) for closing in triangles[1:])
    surface = np.concatenate([mesh.surface[~detached], np.full(closed, len(mesh.names))])
    names = (*mesh.names, PLACEHOLDER)
    remainder = Mesh(points, np.concatenate(triangles), surface, names).without_unused_points()
    return DetachedPatch(mesh, remainder, detached, np.concatenate(boundary))


def detach_beside(
    mesh: Mesh, tools: Sequence[Mesh], levels: Mapping[str, float]
) -> DetachedPatch | None:
    """Take off what lies clear of all upright tools in plan, None where that is too little.

    levels: the names of the surfaces that may be taken off, each over no place of the plan twice,
    and the height in mm of the placeholder's lid.
    """
    patches = [(_beside(mesh, tools, name), Walls(level)) for name, level in levels.items()]
    worth_while = [(patch, walls) for patch, walls in patches if patch.sum() >= FEWEST_TRIANGLES]
    return detach(mesh, worth_while) if worth_while else None


def reattach(
    mesh: Mesh, kept: Sequence[DetachedPatch], removed: Sequence[DetachedPatch] = ()
) -> Mesh | None:
    """Put patches back onto a mesh that was made of their remainders.

    kept: patches of solids that were cut. removed: patches of solids that were taken out, whose
    surface therefore faces the other way. Returns None where a point or an edge of a boundary is
    gone from the mesh: booleans join points that are very near to one another.
    """
    stays = mesh.surface != mesh.names.index(PLACEHOLDER)
    names = tuple(name for name in mesh.names if name != PLACEHOLDER)
    rest = mesh.triangles[stays]
    points, count = [mesh.points], len(mesh.points)
    triangles, surface = [rest], [_renumbered(mesh, names)[stays]]
    patches = [(patch, 1) for patch in kept] + [(patch, -1) for patch in removed]
    for patch, turn in patches:
        whole, own = patch.whole, patch.whole.triangles[patch.detached]
        rim = patch.boundary[:, 0]
        found = _find(whole.points[rim], mesh.points)
        if found is None:
            return None
        within = np.zeros(len(whole.points), dtype=bool)
        within[own] = True
        within[rim] = False
        index = np.empty(len(whole.points), dtype=np.int64)
        index[rim] = found
        index[within] = count + np.arange(within.sum())
        if not _each_runs_once(rest, index[patch.boundary][:, ::-turn]):
            return None
        points.append(whole.points[within])
        count += len(points[-1])
        triangles.append(index[own][:, ::turn])
        surface.append(_renumbered(whole, names)[patch.detached])
    joined = Mesh(np.concatenate(points), np.concatenate(triangles), np.concatenate(surface), names)
    return joined.without_unused_points()


def _renumbered(mesh: Mesh, names: tuple[str, ...]) -> IntArray:
    """(m,) the surface of each triangle by its place among other names, -1 where it has none."""
    numbers = [names.index(name) if name in names else -1 for name in mesh.names]
    return np.array(numbers)[mesh.surface]


def _beside(mesh: Mesh, tools: Sequence[Mesh], name: str) -> BoolArray:
    """(m,) the triangles of a surface that lie beside all tools and touch no other surface.

    No two parts of it meet in a mere point.
    """
    patch: BoolArray = mesh.surface == mesh.names.index(name)
    edge = np.zeros(len(mesh.points), dtype=bool)
    edge[mesh.triangles[~patch]] = True
    patch &= ~_has_marked(mesh.triangles, edge)
    corners = mesh.points[:, :2]
    for tool in tools:
        low, high = bounds(tool)[:, :2]
        # a triangle is beside a box if all its corners lie beyond one side of it: a bit a side
        beyond = np.zeros(len(corners), dtype=np.uint8)
        for axis in range(2):
            below = corners[:, axis] < low[axis] - PLAN_CLEARANCE
            above = corners[:, axis] > high[axis] + PLAN_CLEARANCE
            beyond |= below.astype(np.uint8) << 2 * axis
            beyond |= above.astype(np.uint8) << 2 * axis + 1
        a, b, c = beyond[mesh.triangles.T]
        patch &= (a & b & c) != 0
    while True:
        edges = _boundary(mesh, patch)
        pinched = np.bincount(edges[:, 0], minlength=len(mesh.points)) > 1
        if not pinched.any():
            return patch
        patch &= ~_has_marked(mesh.triangles, pinched)


def _has_marked(triangles: IntArray, marked: BoolArray) -> BoolArray:
    """(m,) which triangles (m, 3) have a marked point. marked: (n,)."""
    a, b, c = marked[triangles.T]
    return np.asarray(a | b | c)


def _boundary(mesh: Mesh, patch: BoolArray) -> IntArray:
    """(k, 2) the edges around a patch (m,) of a closed mesh, as its own triangles run."""
    n = len(mesh.points)
    outside = np.zeros(n, dtype=bool)
    outside[mesh.triangles[~patch]] = True
    edges = _marked_edges(mesh.triangles[patch], outside)
    one_sided = ~np.isin(edges[:, 0] * n + edges[:, 1], edges[:, 1] * n + edges[:, 0])
    return np.asarray(edges[one_sided])


def _marked_edges(triangles: IntArray, marked: BoolArray) -> IntArray:
    """(k, 2) the edges of triangles (m, 3) with both ends marked, as the triangles run."""
    near = triangles[_has_marked(triangles, marked)]
    edges = np.stack([near.ravel(), near[:, [1, 2, 0]].ravel()], 1)
    return np.asarray(edges[marked[edges].all(axis=1)])


def _loops(edges: IntArray) -> list[IntArray]:
    """Closed loops of points from edges (k, 2), of which one begins and one ends at each point."""
    following = dict(edges.tolist())
    loops = []
    while following:
        first, here = following.popitem()
        loop = [first]
        while here != first:
            loop.append(here)
            here = following.pop(here)
        loops.append(np.array(loop))
    return loops


def _each_runs_once(triangles: IntArray, edges: IntArray) -> bool:
    """Whether exactly one of triangles (m, 3) runs along each of edges (k, 2), in its direction."""
    n = int(max(triangles.max(), edges.max())) + 1
    marked = np.zeros(n, dtype=bool)
    marked[edges] = True
    there = _marked_edges(triangles, marked)
    wanted = edges[:, 0] * n + edges[:, 1]
    found = there[:, 0] * n + there[:, 1]
    found = found[np.isin(found, wanted)]
    return len(found) == len(wanted) and len(np.unique(found)) == len(wanted)


def _find(wanted: Array, points: Array) -> IntArray | None:
    """(k,) where each of wanted (k, 3) stands among points (n, 3), equal to the last digit.

    None where one is not there.
    """
    keys, wanted_keys = (p[:, 0] + KEY_Y * p[:, 1] + KEY_Z * p[:, 2] for p in (points, wanted))
    order = np.argsort(keys, kind="stable")
    low = np.searchsorted(keys, wanted_keys, "left", sorter=order)
    high = np.searchsorted(keys, wanted_keys, "right", sorter=order)
    found = np.full(len(wanted), -1)
    for step in range(int((high - low).max(initial=0))):
        here = np.minimum(low + step, len(points) - 1)
        same = (low + step < high) & (points[order[here]] == wanted).all(axis=1)
        found[same] = order[here[same]]
    return None if (found < 0).any() else found
