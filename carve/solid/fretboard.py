"""The fretboard as a closed mesh: playing surface, edges, ends and glue face, its cuts taken out.

Everything that is cut into it is one tool of many pieces: they never touch (the rules see to
it), so one boolean takes them all out.
"""

from collections.abc import Sequence

import numpy as np

from carve.arrays import Array
from carve.design.values.circle import sagitta
from carve.design.values.fan import SlantedLine
from carve.shape.fretboard.shape import FretboardShape, Marker, Slot
from carve.solid.faces import Faces
from carve.solid.kit.boolean import cut, prism
from carve.solid.kit.tessellate import Grid, grid_triangles, sample
from carve.solid.mesh import Mesh

OVERCUT = 1.0  # mm that a tool stands out of the faces it opens, so that no faces coincide
UNBROKEN = 1e6  # mm; the surface is nearly straight along the board: rows stand where we put them

SURFACE, SLOTS, NUT_SLOT, MARKERS = "playing surface", "fret slots", "nut slot", "markers"
EDGES = ("bass edge", "treble edge")
NUT_END = "nut end"
SURFACES = (SURFACE, "glue face", *EDGES, NUT_END, "body end")

FACES = Faces(
    front=frozenset({SURFACE, SLOTS, NUT_SLOT, MARKERS}),
    back=frozenset({"glue face"}),
)


def fretboard_solid(shape: FretboardShape, chord_error: float) -> tuple[Mesh, float]:
    """Mesh a fretboard. chord_error: mm, the bound on its faces' distance from the shape.

    Returns the closed mesh and the greatest distance in mm that was measured.

    The grid's rows stand between the frets, slanting as they do, and never in a slot's wall;
    a column runs along the crown.
    """
    lines = (shape.plan.nut_end, *_clear_of_cuts(shape), SlantedLine(shape.end, 0.0))
    rows = np.array([line.at for line in lines])
    slants = np.array([line.slant for line in lines])

    def surface(x: Array, t: Array) -> Array:
        return shape.surface_along(np.interp(x, rows, slants), x, t)

    grid = sample(surface, tuple(rows), (-1.0, 0.0, 1.0), chord_error, UNBROKEN)
    body = _closed(grid)
    cuts = [(SLOTS, *_slot_tool(shape, slot, chord_error)) for slot in shape.slots]
    if shape.nut_slot is not None:
        cuts.append((NUT_SLOT, *_slot_tool(shape, shape.nut_slot, chord_error)))
    cuts += [
        (MARKERS, *_marker_tool(marker, shape.thickness, chord_error)) for marker in shape.markers
    ]
    if not cuts:
        return body, grid.error
    tool = _joined([(name, mesh) for name, mesh, _ in cuts])
    return cut(body, [tool]), max(grid.error, *(error for _, _, error in cuts))


def _clear_of_cuts(shape: FretboardShape) -> list[SlantedLine]:
    """Lines for rows of the grid: half way between frets."""
    return [before.halfway(after) for before, after in shape.plan.gaps()]


def _closed(grid: Grid) -> Mesh:
    """The grid, and under it flat edges, ends and a glue face at z = 0."""
    n, m = grid.points.shape[:2]
    top = grid_triangles(n, m)[:, ::-1]
    index = np.arange(n * m).reshape(n, m)
    bass, treble = index[:, 0], index[:, -1]
    low_bass, low_treble = n * m + np.arange(n), n * m + n + np.arange(n)
    foot = np.concatenate([grid.points[:, 0], grid.points[:, -1]])
    foot[:, 2] = 0.0

    def strip(one: Array, other: Array) -> Array:
        return np.concatenate(
            [
                np.stack([one[:-1], one[1:], other[1:]], 1),
                np.stack([one[:-1], other[1:], other[:-1]], 1),
            ]
        )

    def end(row: Array, left: int, right: int) -> Array:
        # fan from one foot over the arc; seen from the board's outside at its body end
        fan = [(left, a, b) for a, b in zip(row[1:], row[:-1], strict=True)]
        return np.array([*fan, (left, right, row[-1])])

    parts = [
        top,
        strip(low_treble, low_bass),
        strip(low_bass, bass),
        strip(treble, low_treble),
        end(index[0], low_bass[0], low_treble[0])[:, ::-1],
        end(index[-1], low_bass[-1], low_treble[-1]),
    ]
    return Mesh(
        np.concatenate([grid.points.reshape(-1, 3), foot]),
        np.concatenate(parts),
        np.repeat(np.arange(len(parts)), [len(part) for part in parts]),
        SURFACES,
    )


def _slot_tool(shape: FretboardShape, slot: Slot, chord_error: float) -> tuple[Mesh, float]:
    """The volume to take out for a slot, and how far its floor is from the shape's in mm."""
    line = slot.line
    ends = np.array([shape.ends(slot, wall) for wall in slot.walls])
    bass, treble = float(ends[:, 0].min()), float(ends[:, 1].max())
    reach = (treble - bass) / 2
    radius = float(shape.radius(np.array([line.x(bass), line.x(treble)])).min())
    pieces = 1
    if slot.follows and np.isfinite(radius):
        step = np.sqrt(8 * radius * chord_error / 2)  # an arc's rise over a chord s is s^2 / 8R
        pieces = 2 * int(np.ceil(reach / step))
    y = np.linspace(bass, treble, pieces + 1)
    z = shape.floor(slot, y)
    if slot.inset == 0:  # level on beyond the edges: nothing is cut there
        y, z = np.r_[y[0] - OVERCUT, y, y[-1] + OVERCUT], np.r_[z[0], z, z[-1]]
    above = shape.thickness + OVERCUT
    outline = np.vstack([np.stack([y, z], 1), [[y[-1], above], [y[0], above]]])
    drawn = prism(outline, slot.width / 2, "")
    # a quarter turn about z lays the prism along the board; shear slants it with its line
    along = line.at + line.slant * drawn.points[:, 0] - line.stretch() * drawn.points[:, 1]
    points = np.stack([along, drawn.points[:, 0], drawn.points[:, 2]], 1)
    error = sagitta(radius, reach / pieces) if pieces > 1 else 0.0
    return Mesh(points, drawn.triangles, drawn.surface, drawn.names), error


def _marker_tool(marker: Marker, thickness: float, chord_error: float) -> tuple[Mesh, float]:
    """The volume to take out for a marker, and how far its wall is from a circle in mm."""
    # a chord over an angle a is r (1 - cos(a / 2)) from its arc
    half_angle = np.arccos(1 - min(chord_error / marker.radius, 0.5))
    sides = max(12, int(np.ceil(np.pi / half_angle)))
    # turned by a third of a side: no corner lies on the crown or on a row of the grid
    turn = (np.arange(sides) + 1 / 3) / sides * 2 * np.pi
    outline = np.stack([np.cos(turn), np.sin(turn)], 1) * marker.radius + [marker.x, marker.y]
    above = thickness + OVERCUT
    drawn = prism(outline, (above - marker.floor) / 2, "")
    # a quarter turn about x stands the prism up
    middle = (above + marker.floor) / 2
    points = np.stack([drawn.points[:, 0], drawn.points[:, 2], middle - drawn.points[:, 1]], 1)
    error = float(marker.radius * (1 - np.cos(np.pi / sides)))
    return Mesh(points, drawn.triangles, drawn.surface, drawn.names), error


def _joined(pieces: Sequence[tuple[str, Mesh]]) -> Mesh:
    """Meshes that don't touch as one, each the surface of its name."""
    names = tuple(dict.fromkeys(name for name, _ in pieces))
    starts = np.cumsum([0, *(len(mesh.points) for _, mesh in pieces[:-1])])
    triangles = [mesh.triangles + start for (_, mesh), start in zip(pieces, starts, strict=True)]
    return Mesh(
        np.concatenate([mesh.points for _, mesh in pieces]),
        np.concatenate(triangles),
        np.repeat([names.index(name) for name, _ in pieces], [len(some) for some in triangles]),
        names,
    )
