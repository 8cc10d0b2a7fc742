"""The same neck by build123d, a general CAD kernel: lofted, cut, meshed and written.

The kernel is given every advantage that leaves the result the same neck:

- as few sections, and as few points on each, as keep its loft within the chord error of
  our surface (`loft_deviation` measures that in every run);
- once more with our own control points, so that each section is two exact Bezier curves
  and the kernel has nothing to fit; a user who has only a drawing cannot do that;
- an angular tolerance so wide that the chord error alone decides how fine the mesh is.

The mesh is asked for by the kernel's own call and not by build123d's `export_stl`, which
takes the chord error as a share of each edge's length: on a neck that is off by a
millimetre. `mesh_error` measures what came of it.
"""

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from build123d import Edge, Face, GeomType, Solid, Vector, Wire, loft
from OCP.BRep import BRep_Tool
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.gp import gp_Pnt
from OCP.ShapeAnalysis import ShapeAnalysis_Surface
from OCP.StlAPI import StlAPI_Writer

from carve.arrays import Array
from carve.shape.neck.channel import Channel
from carve.shape.neck.shape import NeckShape

# with a section fewer between two stations the loft is 0.2 mm off, with 13 points 0.035 mm
SPACING = 30.0  # mm, the greatest distance between sections
POINTS = 15  # on each section
ANGLE = 3.0  # rad; wide enough that the chord error alone decides the mesh
STANDS_OUT = 1.0  # mm that the tool stands out of the faces it opens, as ours does
ON_BACK = 0.05  # mm; a mesh point this near to the back's surface is a point of the back


def section_places(shape: NeckShape) -> Array:
    """(n,) mm from the nut: both ends, every station, and as many between as the loft needs."""
    fixed = np.unique(np.r_[0.0, shape.stations, shape.length])
    between = [
        np.linspace(a, b, int(np.ceil((b - a) / SPACING)) + 1)[1:] for a, b in pairwise(fixed)
    ]
    return np.concatenate([fixed[:1], *between])


def through_points(shape: NeckShape) -> Callable[[], list[Any]]:
    """Drawing the sections as a user would: one smooth spline through points, and a line."""
    points = shape.surface(section_places(shape), np.linspace(-1, 1, POINTS)).tolist()

    def draw() -> list[Any]:
        faces = []
        for section in points:
            back = Edge.make_spline([Vector(*point) for point in section])
            front = Edge.make_line(Vector(*section[-1]), Vector(*section[0]))
            faces.append(Face(Wire([back, front])))
        return faces

    return draw


def by_control_points(shape: NeckShape) -> Callable[[], list[Any]]:
    """Drawing the sections with our own control points: two exact Bezier curves, and a line."""
    places = section_places(shape)
    bass, treble = (side.tolist() for side in shape.controls(places))

    def draw() -> list[Any]:
        faces = []
        for x, left, right in zip(places.tolist(), bass, treble, strict=True):
            down = Edge.make_bezier(*(Vector(x, -y, z) for y, z in left))
            up = Edge.make_bezier(*(Vector(x, y, z) for y, z in reversed(right)))
            front = Edge.make_line(up @ 1, down @ 0)
            faces.append(Face(Wire([down, up, front])))
        return faces

    return draw


def lofted(sections: list[Any]) -> Any:
    """The solid through the sections."""
    return loft(sections)


def cut(solid: Any, shape: NeckShape) -> Any:
    """The solid with the neck's channels taken out."""
    for channel in shape.channels:
        solid = solid - _tool(channel, shape.length)
    return solid


def _tool(channel: Channel, length: float) -> Any:
    start = channel.start - (STANDS_OUT if channel.start <= 1e-9 else 0.0)
    end = channel.end + (STANDS_OUT if channel.end >= length - 1e-9 else 0.0)
    floor = channel.floor.copy()
    floor[[0, -1], 0] = start, end
    side_view = [*floor.tolist(), [end, STANDS_OUT], [start, STANDS_OUT]]
    outline = Wire.make_polygon([Vector(x, -channel.half_width, z) for x, z in side_view])
    return Solid.extrude(Face(outline), Vector(0, 2 * channel.half_width, 0))


def write(solid: Any, path: Path, chord_error: float) -> None:
    """Mesh the solid within a chord error in mm and write it as binary STL."""
    BRepMesh_IncrementalMesh(solid.wrapped, chord_error, False, ANGLE, True).Perform()
    writer = StlAPI_Writer()
    writer.ASCIIMode = False
    writer.Write(solid.wrapped, str(path))


def volume(solid: Any) -> float:
    """Volume in mm^3 by the kernel's own integration."""
    return float(solid.volume)


def loft_deviation(solid: Any, shape: NeckShape) -> float:
    """Greatest distance in mm of points on our back from the kernel's uncut loft."""
    x, t = np.linspace(0, shape.length, 43)[1:-1], np.linspace(-1, 1, 23)[1:-1]
    surfaces = [
        ShapeAnalysis_Surface(BRep_Tool.Surface_s(face.wrapped))
        for face in solid.faces()
        if face.geom_type != GeomType.PLANE
    ]
    worst = 0.0
    for point in shape.surface(x, t).reshape(-1, 3).tolist():
        gaps = []
        for surface in surfaces:
            surface.ValueOfUV(gp_Pnt(*point), 1e-6)
            gaps.append(float(surface.Gap()))
        worst = max(worst, min(gaps))
    return worst


def _corners(path: Path) -> Array:
    """(m, 3, 3) mm: the corners of the triangles in a binary STL."""
    content = path.read_bytes()[84:]
    fields = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
    return np.frombuffer(content, fields)["corners"].astype(np.float64)


def mesh_error(path: Path, shape: NeckShape) -> tuple[float, int]:
    """How far in mm the back's triangles in an STL are from our back, and how many there are.

    Looks at the middle of every triangle and of its edges, each in its own section.
    """
    corners = _corners(path)
    count = len(corners)
    low, high = corners.min(axis=1), corners.max(axis=1)
    slanted = (high[:, 0] - low[:, 0] > 1e-6) & (low[:, 2] < -1e-6)  # not an end, nor the top
    corners = corners[slanted]
    on_back = _to_back(corners.reshape(-1, 3), shape).reshape(-1, 3) < ON_BACK
    corners = corners[on_back.all(axis=1)]
    edges = (corners + np.roll(corners, 1, axis=1)) / 2
    looked_at = np.concatenate([corners.mean(axis=1), edges.reshape(-1, 3)])
    return float(_to_back(looked_at, shape).max()), count


def _to_back(points: Array, shape: NeckShape) -> Array:
    """(n,) distance in mm of points (n, 3) from our back, in each point's own section."""
    t = np.linspace(-1, 1, 161)
    distances = []
    for start in range(0, len(points), 2000):
        some = points[start : start + 2000]
        chain = shape.surface(np.clip(some[:, 0], 0, shape.length), t)[..., 1:]
        first, along = chain[:, :-1], np.diff(chain, axis=1)
        offset = some[:, None, 1:] - first
        share = np.clip((offset * along).sum(-1) / (along**2).sum(-1), 0, 1)
        away = offset - share[..., None] * along
        distances.append(np.sqrt((away**2).sum(-1).min(axis=1)))
    return np.concatenate(distances)
