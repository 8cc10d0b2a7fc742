"""What no tool comes near is put aside while a boolean cuts the rest of a solid.

A boolean takes its time for every triangle, and most of a carved face's lie beside all pockets.
In their place stand a wall around them, up or down to a level, and a flat roof over it; afterwards
the triangles are sewn in again where the walls stood, edge to edge. As upright tools stay beside
them, nothing that is cut ever meets roof or wall.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np

from carve.arrays import BoolArray, IntArray
from carve.solid.kit.aside import STAND_IN, found_among
from carve.solid.mesh import Mesh, bounds

CLEAR = 0.5  # mm in plan from all tools of what is put aside
FEW = 2000  # triangles; fewer are cut as quickly as put aside


@dataclass(frozen=True, eq=False)
class Far:
    """A solid with a part of its skin put aside.

    whole: as it was. standing: the solid to cut, with ``STAND_IN`` in place of what is put aside.
    aside: (m,) which of the whole's triangles that is. edges: (k, 2) points of the whole around it,
    as its triangles run along them.
    """

    whole: Mesh
    standing: Mesh
    aside: BoolArray
    edges: IntArray


def put_aside(mesh: Mesh, tools: Sequence[Mesh], levels: Mapping[str, float]) -> Far | None:
    """A solid without what all tools stay clear of in plan. None where that is not worth while.

    levels: of each surface that may be put aside, over no place of the plan twice, the height in mm
    of the flat roof in its place.
    """
    aside = np.zeros(len(mesh.triangles), dtype=bool)
    points, triangles, surface = [mesh.points], [], []
    around = []
    count = len(mesh.points)
    for name, level in levels.items():
        part = _beside(mesh, tools, name)
        if part.sum() < FEW:
            continue
        edges = _edges(mesh, part)
        loops = _loops(edges)
        roof = mesh.points[np.concatenate(loops)]
        a, b = np.concatenate(loops), np.concatenate([np.roll(loop, -1) for loop in loops])
        high = count + np.arange(len(a))
        starts = np.cumsum([0, *(len(loop) for loop in loops[:-1])])
        following = np.concatenate(
            [
                start + np.roll(np.arange(len(loop)), -1)
                for start, loop in zip(starts, loops, strict=True)
            ]
        )
        next_high = count + following
        # seen from outside, which is from below where the surface looks down
        plan = roof[:, :2] * [1.0, _looks(mesh, part)]
        flat = np.asarray(
            manifold3d.triangulate(
                [plan[start : start + len(loop)] for start, loop in zip(starts, loops, strict=True)]
            ),
            dtype=np.int64,
        )
        added = np.concatenate(
            [
                np.stack([a, b, next_high], 1),
                np.stack([a, next_high, high], 1),
                count + flat,
            ]
        )
        points.append(np.column_stack([roof[:, :2], np.full(len(roof), level)]))
        triangles.append(added)
        surface.append(np.full(len(added), len(mesh.names)))
        around.append(np.stack([a, b], 1))
        aside |= part
        count += len(roof)
    if not around:
        return None
    every = np.concatenate(points)
    index = np.concatenate([mesh.triangles[~aside], *triangles])
    used = np.zeros(len(every), dtype=bool)
    used[index] = True
    standing = Mesh(
        every[used],
        (np.cumsum(used) - 1)[index],
        np.concatenate([mesh.surface[~aside], *surface]),
        (*mesh.names, STAND_IN),
    )
    return Far(mesh, standing, aside, np.concatenate(around))


def sewn_together(mesh: Mesh, fars: Sequence[tuple[Far, bool]]) -> Mesh | None:
    """A mesh that was cut, with what was put aside in place of its stand-ins.

    fars: each with whether it was taken out, so that its skin is turned. None where a point or an
    edge around it is gone: booleans tidy up what is very short.
    """
    kept = mesh.surface != mesh.names.index(STAND_IN)
    names = tuple(name for name in mesh.names if name != STAND_IN)
    numbers = np.array([names.index(n) if n != STAND_IN else -1 for n in mesh.names])
    points, count = [mesh.points], len(mesh.points)
    triangles, surface = [mesh.triangles[kept]], [numbers[mesh.surface[kept]]]
    for far, turned in fars:
        rim = np.unique(far.edges)
        found = found_among(far.whole.points[rim], mesh.points)
        if found is None:
            return None
        sewn = far.whole.triangles[far.aside]
        within = np.zeros(len(far.whole.points), dtype=bool)
        within[sewn] = True
        within[rim] = False
        inner = np.flatnonzero(within)
        index = np.full(len(far.whole.points), -1)
        index[rim] = found
        index[inner] = count + np.arange(len(inner))
        edges = index[far.edges]
        if not _runs_once(triangles[0], edges if turned else edges[:, ::-1]):
            return None
        points.append(far.whole.points[inner])
        count += len(inner)
        own = np.array([names.index(name) for name in far.whole.names])
        triangles.append(index[sewn][:, ::-1] if turned else index[sewn])
        surface.append(own[far.whole.surface[far.aside]])
    every, joined = np.concatenate(points), np.concatenate(triangles)
    used = np.zeros(len(every), dtype=bool)
    used[joined] = True
    return Mesh(every[used], (np.cumsum(used) - 1)[joined], np.concatenate(surface), names)


def _looks(mesh: Mesh, part: BoolArray) -> float:
    """1 where a surface looks up, -1 where it looks down."""
    a, b, c = mesh.points[mesh.triangles[np.argmax(part)]]
    turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return 1.0 if turn > 0 else -1.0


def _beside(mesh: Mesh, tools: Sequence[Mesh], name: str) -> BoolArray:
    """(m,) the triangles of a surface that lie beside all tools and don't touch other surfaces.

    No two parts of it meet in a mere point.
    """
    part: BoolArray = mesh.surface == mesh.names.index(name)
    edge = np.zeros(len(mesh.points), dtype=bool)
    edge[mesh.triangles[~part]] = True
    part &= ~_any(edge, mesh.triangles)
    corners = mesh.points[:, :2]
    for tool in tools:
        low, high = bounds(tool)[:, :2]
        # beside a box is what has all of its corners beyond one and the same side, a bit for each
        beyond = np.zeros(len(corners), dtype=np.uint8)
        for axis in range(2):
            beyond |= (corners[:, axis] < low[axis] - CLEAR).astype(np.uint8) << 2 * axis
            beyond |= (corners[:, axis] > high[axis] + CLEAR).astype(np.uint8) << 2 * axis + 1
        a, b, c = beyond[mesh.triangles.T]
        part &= (a & b & c) != 0
    while True:
        edges = _edges(mesh, part)
        pinched = np.bincount(edges[:, 0], minlength=len(mesh.points)) > 1
        if not pinched.any():
            return part
        part &= ~_any(pinched, mesh.triangles)


def _any(marked: BoolArray, triangles: IntArray) -> BoolArray:
    """(m,) which triangles have a marked point."""
    a, b, c = marked[triangles.T]
    return np.asarray(a | b | c)


def _edges(mesh: Mesh, part: BoolArray) -> IntArray:
    """(k, 2) the edges around a part (m,) of a closed mesh, as its own triangles run along them."""
    n = len(mesh.points)
    inside, outside = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    inside[mesh.triangles[part]] = True
    outside[mesh.triangles[~part]] = True
    runs = _runs(mesh.triangles[part], inside & outside)
    alone = ~np.isin(runs[:, 0] * n + runs[:, 1], runs[:, 1] * n + runs[:, 0])
    return np.asarray(runs[alone])


def _runs(triangles: IntArray, marked: BoolArray) -> IntArray:
    """(k, 2) the edges of triangles both of whose points are marked, as the triangles run them."""
    near = triangles[_any(marked, triangles)]
    runs = np.stack([near.ravel(), near[:, [1, 2, 0]].ravel()], 1)
    return np.asarray(runs[marked[runs].all(axis=1)])


def _loops(edges: IntArray) -> list[IntArray]:
    """Edges (k, 2), each point of which has one before and one after it, as closed loops."""
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


def _runs_once(triangles: IntArray, edges: IntArray) -> bool:
    """Whether exactly one of the triangles runs along each of edges (k, 2)."""
    n = int(max(triangles.max(), edges.max())) + 1
    marked = np.zeros(n, dtype=bool)
    marked[edges] = True
    runs = _runs(triangles, marked)
    wanted = edges[:, 0] * n + edges[:, 1]
    found = runs[:, 0] * n + runs[:, 1]
    found = found[np.isin(found, wanted)]
    return len(found) == len(wanted) and len(np.unique(found)) == len(wanted)
