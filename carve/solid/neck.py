"""The neck as a closed mesh: back, sides, glue face and ends, its channels and holes cut out."""

from functools import partial

import numpy as np

from carve.arrays import Array, IntArray
from carve.shape.neck.channel import ROD, ROD_ACCESS
from carve.shape.neck.heel import HeelShape
from carve.shape.neck.shape import NeckShape
from carve.shape.neck.slanted_end import leaning_rows, square_from, square_to
from carve.solid.faces import Faces
from carve.solid.kit.boolean import cut
from carve.solid.kit.detach import PLACEHOLDER, Cone, DetachedPatch, detach, reattach
from carve.solid.kit.prism import EndSlab, end_slab, triangulated
from carve.solid.kit.tessellate import Grid, between_rows, grid_triangles, sample, strip
from carve.solid.mesh import Mesh
from carve.solid.neck_tools import (
    BLOCK,
    BODY_TOP,
    CAP,
    FACE,
    HEEL_END,
    HEEL_FACE,
    SHOULDERS,
    neck_tools,
)

LONGEST_ROW_STEP = 10.0  # mm between rows: keeps triangles from growing into needles
BLEND_ROWS = 8  # rows a blend has at least: its curvature is more than the probes may see
SAME_ROW = 1e-6  # mm
LEAST_APART = 0.3  # mm between rows that only help; triangles between nearer ones are slivers
LOWEST_SIDE = 1e-6  # mm; a lower one is no face, and a file's 32 bits could not hold it
CHANNEL_CLEARANCE = 0.2  # mm between a channel and the back where the back is detached
FEWEST_ROWS = 8  # of the back that are worth detaching
APEX_DEPTH = 2000.0  # mm; seen from so far below the boundary of the back is as simple as in plan

BACK, SIDES, GLUE_FACE, NUT_END = "back", "sides", "glue face", "nut end"
HEAD_BACK, HEAD_EDGE = "headstock back", "headstock edge"

NECK_FACES = Faces(
    front=frozenset({GLUE_FACE, FACE, BODY_TOP, ROD, ROD_ACCESS}),
    back=frozenset({BACK, HEAD_BACK, BLOCK, CAP, HEEL_FACE}),
)


def neck_solid(shape: NeckShape, chord_error: float) -> tuple[Mesh, float]:
    """Mesh a neck. chord_error: mm, the bound on the back's distance from the shape.

    Returns the closed mesh and the greatest distance in mm that was measured.
    """
    grid = back_grid(shape, chord_error)
    tools, holes = neck_tools(shape, chord_error)
    ends = [end.rim_error(chord_error) for end in (shape.heel, shape.head) if end is not None]
    error = max(grid.error, holes, *ends)
    whole = _closed(grid, shape, chord_error)
    if not tools:
        return whole, error
    patch = _detach_back(whole, grid, shape)
    if patch is not None:
        mesh = reattach(cut(patch.remainder, tools, PLACEHOLDER), [patch])
        if mesh is not None:
            return mesh, error
    return cut(whole, tools), error


def _detach_back(whole: Mesh, grid: Grid, shape: NeckShape) -> DetachedPatch | None:
    """The neck without the rows of its back that no tool comes near, None where there are few."""
    clear = clear_rows(grid, shape)
    if clear is None:
        return None
    first, last = clear
    back = np.zeros(len(whole.triangles), dtype=bool)
    cells = between_rows(len(grid.rows), len(grid.columns), first, last)
    back[: len(cells)] = cells  # the grid's triangles are the mesh's first
    middle = float(grid.points[[first, last], :, 0].mean())
    return detach(whole, [(back, Cone(np.array([middle, 0.0, -APEX_DEPTH])))])


def clear_rows(grid: Grid, shape: NeckShape) -> tuple[int, int] | None:
    """The first and last row of the back's grid between which no tool comes near the back.

    None where a tool does, or where the rows are too few to be worth detaching.
    """
    if shape.nut_slant != 0:
        return None
    points = grid.points
    first, last = int(np.searchsorted(grid.rows, 0.0)), len(points) - 1
    heel = shape.heel
    if heel is not None:
        last -= 1  # a tenon's shoulders are sawn along the last row
    if heel is not None and (heel.cap is not None or heel.body is not None):
        # a cap's plane, a leaning face and a body's top cut the back from the blend on
        last = min(last, int(np.searchsorted(grid.rows, heel.blend, "right")) - 1)
    if last - first < FEWEST_ROWS:
        return None
    x, y, z = np.moveaxis(points[first : last + 1], -1, 0)
    gap = float(np.abs(np.diff(y, axis=1)).max())  # from a column to the next
    for channel in shape.channels:
        near = np.abs(y) <= channel.half_width + gap + CHANNEL_CLEARANCE
        near &= (x >= channel.start - LONGEST_ROW_STEP) & (x <= channel.end + LONGEST_ROW_STEP)
        floor = np.interp(x, channel.floor[:, 0], channel.floor[:, 1])
        if (z[near] > floor[near] - CHANNEL_CLEARANCE).any():
            return None
    return first, last


def back_grid(shape: NeckShape, chord_error: float) -> Grid:
    """The back as a grid of points, within a chord error in mm.

    It has a row at every station and a column on the keel, so what a caliper reads there is on
    the mesh exactly.
    """
    rows = partial(leaning_rows, shape)
    return sample(rows, _rows(shape), (-1.0, 0.0, 1.0), chord_error, LONGEST_ROW_STEP)


def _rows(shape: NeckShape) -> tuple[float, ...]:
    """Lines across that the grid must contain, none of them next to another."""
    heel, head, volute = shape.heel, shape.head, shape.volute
    # a tenon's shoulders are a step: the grid ends on the nut's side of it
    end = shape.length if heel is None else float(np.nextafter(heel.start, 0.0))
    corner = 0.0 if head is None else -head.reach
    leaning = square_from(shape), square_to(shape)
    wanted = [shape.start, end, *shape.stations, 0.0, *leaning, corner]
    if head is not None:
        wanted += [*np.linspace(shape.start, corner, BLEND_ROWS + 1)]
    if heel is not None:
        wanted += [heel.cap.nose, heel.cap.foot] if heel.cap is not None else []
        wanted += [*np.linspace(heel.blend, end, BLEND_ROWS + 1)]
    if volute is not None:
        wanted += [*np.linspace(*volute.reach, BLEND_ROWS + 1)]
    rows: list[float] = []
    for number, x in enumerate(wanted):
        # ends and stations first: what comes later keeps its distance from them
        apart = SAME_ROW if number < 6 + len(shape.stations) else LEAST_APART
        if shape.start <= x <= end and all(abs(x - other) > apart for other in rows):
            rows.append(float(x))
    return tuple(sorted(rows))


class _MeshBuilder:
    """Points and named triangles of a mesh that is being put together."""

    def __init__(self, points: Array) -> None:
        self.points = points
        self._triangles: list[IntArray] = []
        self._names: list[str] = []

    def add(self, name: str, triangles: IntArray) -> None:
        if len(triangles):
            self._triangles.append(triangles)
            self._names.append(name)

    def add_points(self, points: Array) -> IntArray:
        first = len(self.points)
        self.points = np.vstack([self.points, points])
        return np.arange(first, len(self.points))

    def add_slab(self, slab: EndSlab, back: str, sides: str) -> None:
        self.add_points(slab.points)
        self.add(back, slab.back)
        self.add(GLUE_FACE, slab.top)
        self.add(sides, slab.sides)

    def mesh(self) -> Mesh:
        names = tuple(dict.fromkeys(self._names))
        surface = [
            np.full(len(triangles), names.index(name))
            for name, triangles in zip(self._names, self._triangles, strict=True)
        ]
        return Mesh(self.points, np.concatenate(self._triangles), np.concatenate(surface), names)


def _closed(grid: Grid, shape: NeckShape, chord_error: float) -> Mesh:
    """The grid closed by sides where it has some, a flat glue face and two ends.

    The grid's triangles are the first of the mesh.
    """
    n, m = grid.points.shape[:2]
    built = _MeshBuilder(grid.points.reshape(-1, 3))
    built.add(BACK, grid_triangles(n, m))
    index = np.arange(n * m).reshape(n, m)
    bass, treble = index[:, 0], index[:, -1]
    high_bass, high_treble = _top_edge(built, bass), _top_edge(built, treble)
    built.add(SIDES, strip(bass, high_bass))
    built.add(SIDES, strip(high_treble, treble))
    tongued = shape.heel is not None and shape.heel.cap is not None and not shape.heel.butts
    # where a tongue goes on, the last piece of the glue face is joined to it
    rows = slice(None, -1 if tongued else None)
    built.add(GLUE_FACE, strip(high_bass[rows], high_treble[rows]))
    if shape.head is None:
        built.add(NUT_END, index[0][_ladder(grid.points[0, :, 1:])][:, ::-1])
    else:
        rim = shape.head.rim(chord_error)
        edges = (int(high_treble[0]), int(high_bass[0]))
        depth = -shape.head.back_depth(rim[:, 0])
        slab = end_slab(index[0][::-1], edges, built.points, rim, depth)
        built.add_slab(slab, HEAD_BACK, HEAD_EDGE)
    if shape.heel is None:
        built.add(HEEL_END, index[-1][_ladder(grid.points[-1, :, 1:])])
    elif shape.heel.cap is not None:
        _butt(built, grid, index, (high_bass, high_treble), shape.heel, chord_error)
    else:
        heel = shape.heel
        # a tenon is sawn out of a block that is as wide as the neck
        rim = heel.rim(chord_error)
        if heel.kind == "tenon":
            rim = _square_end(shape.furthest, heel.neck_half)
        edges = (int(high_bass[-1]), int(high_treble[-1]))
        depth = -heel.back_depth(rim[:, 0])
        built.add_slab(end_slab(index[-1], edges, built.points, rim, depth), BLOCK, HEEL_END)
    return built.mesh()


def _butt(
    built: _MeshBuilder,
    grid: Grid,
    index: IntArray,
    edges: tuple[IntArray, IntArray],
    heel: HeelShape,
    chord_error: float,
) -> None:
    """A carved heel's flat face against the body, and the tongue that stands out of it."""
    section = grid.points[-1, :, 1:]
    if heel.butts:
        built.add(HEEL_END, index[-1][_ladder(section)])
        return
    rim = heel.rim(chord_error)
    plan = np.vstack([[[heel.start, -heel.half]], rim, [[heel.start, heel.half]]])
    high = built.add_points(np.column_stack([plan, np.zeros(len(plan))]))
    low = built.add_points(np.column_stack([plan, np.full(len(plan), -heel.depth)]))
    # around the wood of the face, seen from the body: y to the right, z up
    around = np.concatenate([index[-1], [high[-1], low[-1], low[0], high[0]]])
    built.add(SHOULDERS, triangulated(built.points[:, 1:], around))
    (bass, treble) = edges
    top = np.concatenate([bass[-2:], high, treble[-1:], treble[-2:-1]])
    built.add(GLUE_FACE, triangulated(built.points[:, :2], top))
    built.add(BLOCK, triangulated(built.points[:, :2], low)[:, ::-1])
    built.add(HEEL_END, strip(low, high))


def _top_edge(built: _MeshBuilder, edge: IntArray) -> IntArray:
    """The glue face's edge over the back's: the same points where no side stands between."""
    below = built.points[edge]
    stands = below[:, 2] < -LOWEST_SIDE
    top = edge.copy()
    top[stands] = built.add_points(below[stands] * [1.0, 1.0, 0.0])
    return top


def _square_end(end: float, half: float) -> Array:
    return np.array([[end, -half], [end, half]])


def _ladder(outline: Array) -> IntArray:
    """Triangles over a section: a ladder between its bass and its treble side.

    outline: (m, 2) from the bass edge over the keel to the treble edge.
    Advances on the side that lies higher, so that no triangle is thinner than it must be.
    """
    low, high = 0, len(outline) - 1
    triangles = []
    while high - low > 1:
        if outline[low + 1, 1] >= outline[high - 1, 1]:
            triangles.append((low, low + 1, high))
            low += 1
        else:
            triangles.append((low, high - 1, high))
            high -= 1
    return np.array(triangles, dtype=np.int64)
