"""Carved plates as closed meshes: a triangulated plan, lifted to the plate's two surfaces.

The plan has points on the outline, on lines beside it that are dense where the rim is curved, and
on rows and columns that are dense where the arch is; Delaunay's triangulation joins them. There
is a row through every station and a column on the centre line, so what a caliper reads there is
on the mesh exactly. Heights are a function of the points alone. So a plan serves any heights for
which its measured error is small enough.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import shapely
from scipy.spatial import Delaunay, cKDTree

from carve.arrays import Array, IntArray
from carve.errors import SolidError
from carve.shape.planar.offset import inset, signed_distance, spaced
from carve.shape.plate.relief import Relief
from carve.solid.kit.prism import Skin, triangulated
from carve.solid.kit.tessellate import graded_lines
from carve.solid.mesh import Mesh

PROBE_STEP = 2.0  # mm between the places where curvature is read before the plan is made
LONGEST_STEP = 8.0  # mm between neighbouring points at most: triangles must not become needles
SHORTEST_STEP = 0.25  # mm between neighbouring points at least: 32-bit files hold no finer slivers
NEAR_LINE = 0.45  # of the spacing: a point of a row that is nearer to a line's points is left out
BULGE = 1e-3  # of a straight side's length; a quarter of it is the bulge in the side's middle
COLLINEAR_TOLERANCE = 1e-9  # mm
MOST_PLANS = 12  # that are tried
LINE_SHARE = 0.75  # of the chord error, for the lines' spacing: points are joined across lines too
REFINE_SHARE = 0.9  # of the chord error: points are added where the error exceeds it
TIGHT_BEND = 30.0  # mm, the radius of a bend of the outline for which its points are spaced
MOST_PLAN_POINTS = 2_000_000


class Refinement(NamedTuple):
    """What a plan lacks for a chord error.

    needed: whether the error is exceeded anywhere. points: (k, 2) mm inside the outline, where it
    is nearly reached. rim: whether it is exceeded on the outline.
    """

    needed: bool
    points: Array
    rim: bool


@dataclass(frozen=True, eq=False)
class TriangulatedPlan:
    """Triangles that fill an outline, seen from above.

    points: (n, 2) mm, those on the outline first and in its order. rim: how many those are.
    triangles: (m, 3) indices of points, counter-clockwise.
    """

    points: Array
    rim: int
    triangles: IntArray

    @cached_property
    def _probed(self) -> tuple[Array, IntArray, IntArray]:
        """The places where a chord over a smooth arc is farthest from it.

        Returns (k, 2) mm, the middles of triangles and then of edges; (e, 2) the two corners of
        each edge; and (k,) the triangle of each place.
        """
        # of an edge's two triangles that one counts which runs from the lower index to the higher;
        # on the rim there is one triangle, which runs so for all edges but the last
        starts, stops = self.triangles.T, np.roll(self.triangles, -1, axis=1).T
        once = starts < stops
        edges = np.stack([starts[once], stops[once]], axis=1)
        every = np.arange(len(self.triangles))
        number = np.concatenate([every, *(every[chosen] for chosen in once)])
        middles = self.points[self.triangles].mean(axis=1)
        return np.concatenate([middles, self.points[edges].mean(axis=1)]), edges, number

    @property
    def probes(self) -> Array:
        """(k, 2) mm: the middles of triangles and edges, where errors are measured."""
        return self._probed[0]

    def errors(self, heights: Array, probed: Array) -> Array:
        """(k,) mm: distances at the probes between a surface and the lifted triangles.

        heights: (n,) mm of the surface at the points. probed: (k,) mm of it at ``probes``.
        """
        _, edges, number = self._probed
        (x0, y0), (x1, y1), (x2, y2) = self.points[self.triangles].transpose(1, 2, 0)
        z0, z1, z2 = heights[self.triangles].T
        ux, uy, uz, vx, vy, vz = x1 - x0, y1 - y0, z1 - z0, x2 - x0, y2 - y0, z2 - z0
        upright = ux * vy - uy * vx
        lean = np.hypot(uy * vz - uz * vy, uz * vx - ux * vz)
        cosine = upright / np.hypot(upright, lean)  # of a triangle's slope
        lifted = np.concatenate([(z0 + z1 + z2) / 3, heights[edges].mean(axis=1)])
        return np.asarray(np.abs(probed - lifted) * cosine[number])

    def error(self, surface: Relief, heights: Array) -> float:
        """Greatest distance in mm found between a surface and the lifted triangles.

        heights: (n,) mm, the surface at the points.
        """
        return float(self.errors(heights, surface(*self.probes.T)).max())

    def lifted(self, heights: Array) -> Skin:
        """The triangles at heights (n,) mm."""
        return Skin(np.column_stack([self.points, heights]), self.triangles)

    def flat(self, height: float) -> Skin:
        """A flat face over the same outline, at a height in mm."""
        rim = self.points[: self.rim]
        return Skin(np.column_stack([rim, np.full(len(rim), height)]), self._filled)

    @cached_property
    def _filled(self) -> IntArray:
        rim = self.points[: self.rim]
        return triangulated(rim, np.arange(len(rim)))

    def refinement(self, surface: Relief, chord_error: float) -> Refinement:
        """What the plan lacks for a chord error in mm."""
        errors = self.errors(surface(*self.points.T), surface(*self.probes.T))
        _, edges, _ = self._probed
        on_rim = np.concatenate(
            [np.zeros(len(self.triangles), dtype=bool), (edges < self.rim).all(axis=1)]
        )
        missed = errors > chord_error
        points = self.probes[(errors > REFINE_SHARE * chord_error) & ~on_rim]
        return Refinement(bool(missed.any()), np.asarray(points), bool((missed & on_rim).any()))


def triangulated_plan(
    outline: Array,
    surfaces: Iterable[Relief],
    chord_error: float,
    rim_width: float,
    through: tuple[tuple[float, float], ...] = (),
    depths: tuple[float, ...] = (),
) -> TriangulatedPlan:
    """A plan that meets each of the surfaces within a chord error.

    outline: (k, 2) mm, closed, counter-clockwise, within its own chord error. chord_error: mm.
    rim_width: mm inside the outline up to which points follow it. through: x and y in mm of
    points that the plan must have. depths: mm inside the outline of lines that it must have.
    Raises SolidError where the bound cannot be held.
    """
    surfaces = tuple(surfaces)
    (rim_at, rim_density), along, across = _densities(outline, surfaces, chord_error, rim_width)
    fixed = np.array(through).reshape(-1, 2)
    lines = graded_lines(np.array([0.0, *depths, rim_width]), rim_at, rim_density)[1:]
    x = graded_lines(_lines_apart(along[0], fixed[:, 0]), *along)
    y = graded_lines(_lines_apart(across[0], np.zeros(1)), *across)
    spacing = float(np.clip(np.sqrt(8 * chord_error * TIGHT_BEND), SHORTEST_STEP, LONGEST_STEP / 2))
    inside = np.vstack([fixed, _inner_points(outline, lines, spacing, x, y)])
    rim_step, before = spacing, 0
    for _ in range(MOST_PLANS):
        plan = _triangulate(outline, inside, rim_step)
        lacking = [plan.refinement(surface, chord_error) for surface in surfaces]
        if not any(one.needed for one in lacking):
            return plan
        if any(one.rim for one in lacking):  # a pad that reaches the outline bends it in height
            rim_step /= 2
        more = np.vstack([one.points for one in lacking])
        # points too near to earlier ones are left out: where that leaves out all of them, a flat
        # triangle has its third corner close to where its longest side lacks a point, and gives way
        first = len(inside) if len(plan.points) != before else len(fixed)
        inside = np.vstack([inside[:first], more, inside[first:]])
        before = len(plan.points)
        if len(inside) > MOST_PLAN_POINTS:
            break
    raise SolidError(
        f"the plate could not be meshed within {chord_error:g} mm with {len(inside):,} points; "
        "allow a larger chord error"
    )


def _densities(
    outline: Array, surfaces: tuple[Relief, ...], chord_error: float, rim_width: float
) -> tuple[tuple[Array, Array], tuple[Array, Array], tuple[Array, Array]]:
    """How many lines a mm keep half of the error: by depth in the rim, along x and along y.

    Returns the (k,) mm of the places and the (k,) lines a mm there, for each of the three.
    """
    low, high = outline.min(axis=0), outline.max(axis=0)
    x, y = (
        np.linspace(a, b, int((b - a) / PROBE_STEP) + 2) for a, b in zip(low, high, strict=True)
    )
    depth = signed_distance(
        outline, np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    ).reshape(len(x), len(y))
    bend_x, bend_y, any_way = (np.zeros_like(depth) for _ in range(3))
    for surface in surfaces:
        jet = surface.grid_jet(x, y)
        level = np.sqrt(1 + jet.steepness**2)
        # a cell's diagonal bends by both directions and by the twist, which is shared out
        bend_x = np.maximum(bend_x, (np.abs(jet.zxx) + np.abs(jet.zxy)) / level)
        bend_y = np.maximum(bend_y, (np.abs(jet.zyy) + np.abs(jet.zxy)) / level)
        any_way = np.maximum(any_way, np.maximum(*np.abs(jet.curvatures)))
    arch = depth > rim_width
    levels = np.linspace(0.0, rim_width, 2 + int(rim_width / (PROBE_STEP / 2)))
    level_of = np.clip(np.digitize(depth, levels) - 1, 0, len(levels) - 1)
    worst = np.zeros(len(levels))
    in_rim = (depth >= 0) & ~arch
    np.maximum.at(worst, level_of[in_rim], any_way[in_rim])
    worst = np.maximum(worst, np.maximum(np.r_[worst[1:], 0], np.r_[0, worst[:-1]]))

    def density(bend: Array) -> Array:
        return np.asarray(
            np.clip(
                np.sqrt(bend / (4 * LINE_SHARE * chord_error)), 1 / LONGEST_STEP, 1 / SHORTEST_STEP
            )
        )

    by_row, by_column = np.where(arch, bend_x, 0), np.where(arch, bend_y, 0)
    return (
        (levels, density(worst)),
        (x, density(by_row.max(axis=1))),
        (y, density(by_column.max(axis=0))),
    )


def _lines_apart(probes: Array, wanted: Array) -> Array:
    """(k,) mm, rising: both ends, and of the wanted lines those that are not too near others."""
    lines: list[float] = [float(probes[0]), float(probes[-1])]
    for place in wanted:
        if all(abs(place - other) > SHORTEST_STEP for other in lines):
            lines.append(float(place))
    return np.array(sorted(lines))


def _inner_points(outline: Array, depths: Array, spacing: float, x: Array, y: Array) -> Array:
    """(n, 2) mm: points ``spacing`` mm apart on lines at ``depths``, and a grid inside of them."""
    rings = [
        spaced(_corners(part.exterior), spacing)[0]
        for depth in depths
        for part in inset(outline, float(depth))
    ]
    on_rings = np.concatenate([np.zeros((0, 2)), *rings])
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    inner = shapely.union_all(inset(outline, float(depths[-1])))
    shapely.prepare(inner)
    grid = grid[shapely.contains_xy(inner, grid)]
    if len(on_rings) and len(grid):
        away, _ = cKDTree(on_rings).query(grid)
        grid = grid[away > NEAR_LINE * spacing]
    return np.vstack([on_rings, grid])


def _triangulate(outline: Array, inside: Array, spacing: float) -> TriangulatedPlan:
    """Triangles over an outline, its segments ``spacing`` mm at most, and points inside it."""
    # points in one line on the rim would make triangles of no width once they are rounded: those
    # of the outline are dropped, and those on a straight side bulge out of it while they are joined
    region = shapely.Polygon(outline).simplify(COLLINEAR_TOLERANCE)
    step = spacing
    for _ in range(MOST_PLANS):
        rim, bulged = _subdivided(_corners(region.exterior), step)
        points = _without_close(np.vstack([rim, inside]), len(rim))
        triangles = _delaunay(np.vstack([bulged, points[len(rim) :]]), region)
        if _keeps_outline(triangles, len(rim)):
            return TriangulatedPlan(points, len(rim), triangles)
        step /= 2  # a triangle reached across the outline
    raise SolidError("the outline is too crowded to be meshed; look for a fold or a spike in it")


def _corners(ring: shapely.LinearRing) -> Array:
    """(k, 2) mm, the first not repeated, counter-clockwise."""
    return np.asarray(shapely.get_coordinates(shapely.LinearRing(ring).normalize())[:-1][::-1])


def _subdivided(outline: Array, step: float) -> tuple[Array, Array]:
    """A closed line in steps of ``step`` mm at most, and the same with its sides bulged out."""
    along = np.roll(outline, -1, axis=0) - outline
    lengths = np.hypot(*along.T)
    counts = np.maximum(1, np.ceil(lengths / step - 1e-9)).astype(np.int64)
    side = np.repeat(np.arange(len(outline)), counts)
    share = (np.arange(len(side)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[side]
    points = outline[side] + share[:, None] * along[side]
    outward = np.stack([along[:, 1], -along[:, 0]], axis=1)[side]
    return points, points + (BULGE * share * (1 - share))[:, None] * outward


def _without_close(points: Array, rim: int) -> Array:
    """Points without those too near to one that comes before; the rim's all stay."""
    pairs = cKDTree(points).query_pairs(SHORTEST_STEP, output_type="ndarray")
    dropped = np.zeros(len(points), dtype=bool)
    for first, second in pairs[np.lexsort(np.sort(pairs, axis=1).T[::-1])]:
        first, second = min(first, second), max(first, second)
        if not dropped[first] and second >= rim:
            dropped[second] = True
    return np.asarray(points[~dropped])


def _delaunay(points: Array, region: shapely.Polygon) -> IntArray:
    triangles = np.asarray(Delaunay(points).simplices, dtype=np.int64)
    a, b, c = points[triangles].transpose(1, 0, 2)
    turn = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    triangles[turn < 0] = triangles[turn < 0][:, ::-1]
    shapely.prepare(region)
    return np.asarray(triangles[shapely.contains_xy(region, (a + b + c) / 3)])


def _keeps_outline(triangles: IntArray, rim: int) -> bool:
    """Whether each of the outline's segments is the side of exactly one triangle."""
    starts, stops = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    on_rim = (starts < rim) & (stops < rim) & (stops == (starts + 1) % rim)
    return bool((np.bincount(starts[on_rim], minlength=rim)[:rim] == 1).all())


def plate_solid(
    plan: TriangulatedPlan,
    top: Array,
    bottom: Array,
    names: tuple[str, str, str] = ("top", "back", "sides"),
) -> Mesh:
    """The closed mesh between two heights over a plan.

    top, bottom: (n,) mm at the plan's points, the bottom below the top everywhere.
    Raises SolidError where it is not.
    """
    gap = top - bottom
    if gap.min() <= 0:
        x, y = plan.points[int(np.argmin(gap))]
        raise SolidError(
            f"{names[0]} and {names[1]} meet at x = {x:.1f}, y = {y:.1f} mm: no wood is left there"
        )
    n = len(plan.points)
    low = plan.triangles[:, ::-1] + n
    here = np.arange(plan.rim)
    following = np.roll(here, -1)
    sides = np.concatenate(
        [
            np.stack([here, here + n, following + n], 1),
            np.stack([here, following + n, following], 1),
        ]
    )
    parts = (plan.triangles, low, sides)
    return Mesh(
        np.vstack([np.column_stack([plan.points, z]) for z in (top, bottom)]),
        np.concatenate(parts),
        np.repeat(np.arange(3), [len(part) for part in parts]),
        names,
    )
