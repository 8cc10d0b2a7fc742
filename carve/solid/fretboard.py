"""The fretboard as a closed mesh: playing surface, edges, ends and glue face, its cuts taken out.

Everything that is cut into it is one tool of many pieces: they never touch (the rules see to
it), so one boolean takes them all out.
"""

import numpy as np

from carve.arrays import Array
from carve.design.values.circle import sagitta
from carve.design.values.fan import SlantedLine
from carve.shape.fretboard.shape import FretboardShape, Marker, Slot
from carve.solid.faces import Faces
from carve.solid.kit.boolean import OVERCUT, cut, joined_meshes
from carve.solid.kit.drill import circle
from carve.solid.kit.prism import prism_across, prism_upright
from carve.solid.kit.tessellate import Grid, grid_triangles, sample, strip
from carve.solid.mesh import Mesh

UNBROKEN = 1e6  # mm; the surface is nearly straight along the board: rows are only those asked for

SURFACE, SLOTS, NUT_SLOT, MARKERS = "playing surface", "fret slots", "nut slot", "markers"
EDGES = ("bass edge", "treble edge")
NUT_END = "nut end"
SURFACES = (SURFACE, "glue face", *EDGES, NUT_END, "body end")

FRETBOARD_FACES = Faces(
    front=frozenset({SURFACE, SLOTS, NUT_SLOT, MARKERS}),
    back=frozenset({"glue face"}),
)


def fretboard_solid(shape: FretboardShape, chord_error: float) -> tuple[Mesh, float]:
    """Mesh a fretboard. chord_error: mm, the bound on its faces' distance from the shape.

    Returns the closed mesh and the greatest distance in mm that was measured.

    The grid's rows are half way between frets, with their slant, and never in a slot's wall. A
    column runs along the crown.
    """
    lines = (shape.plan.nut_end, *_clear_of_cuts(shape), SlantedLine(shape.end, 0.0))
    rows = np.array([line.at for line in lines])
    slants = np.array([line.slant for line in lines])

    def surface(x: Array, t: Array) -> Array:
        return shape.surface_along(np.interp(x, rows, slants), x, t)

    grid = sample(surface, tuple(rows), (-1.0, 0.0, 1.0), chord_error, UNBROKEN)
    body = _closed(grid)
    tools = [_slot_tool(shape, slot, chord_error, SLOTS) for slot in shape.slots]
    if shape.nut_slot is not None:
        tools.append(_slot_tool(shape, shape.nut_slot, chord_error, NUT_SLOT))
    tools += [_marker_tool(marker, shape.thickness, chord_error) for marker in shape.markers]
    if not tools:
        return body, grid.error
    tool = joined_meshes([mesh for mesh, _ in tools])
    return cut(body, [tool]), max(grid.error, *(error for _, error in tools))


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


def _slot_tool(
    shape: FretboardShape, slot: Slot, chord_error: float, name: str
) -> tuple[Mesh, float]:
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
    drawn = prism_across(outline, slot.width / 2, name)
    # a quarter turn about z aligns the prism with the board; shear slants it with its line
    along = line.at + line.slant * drawn.points[:, 0] - line.stretch() * drawn.points[:, 1]
    points = np.stack([along, drawn.points[:, 0], drawn.points[:, 2]], 1)
    error = sagitta(radius, reach / pieces) if pieces > 1 else 0.0
    return drawn.moved(points), error


def _marker_tool(marker: Marker, thickness: float, chord_error: float) -> tuple[Mesh, float]:
    """The volume to take out for a marker, and how far its wall is from a circle in mm."""
    # turned by a third of a side: no corner lies on the crown or on a row of the grid
    ring, error = circle(marker.radius, chord_error, first=1 / 3)
    outline = ring + np.array([marker.x, marker.y])
    return prism_upright(outline, marker.floor, thickness + OVERCUT, MARKERS), error
