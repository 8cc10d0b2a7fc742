"""Binary STL, by numpy-stl: an 80-byte header, a count, and 50 bytes a triangle."""

import io
from concurrent.futures import ThreadPoolExecutor
from typing import IO, Any

import numpy as np
import numpy.typing as npt
import stl
from stl.mesh import Mesh as StlMesh

from carve import __version__
from carve.export.formats.kinds import MeshFormat, MeshLabel
from carve.solid.mesh import Mesh

HEADER_BYTES = 80
CHUNK = 16384  # triangles filled in at a time: their figures stay in the processor's cache
THREADS = 2  # numpy lets go of the interpreter's lock; more threads only wait for the memory


class _Headed(StlMesh):
    """numpy-stl's mesh with a header that is the same for the same design."""

    def get_header(self, name: str | bytes) -> str:
        return str(name)[:HEADER_BYTES].ljust(HEADER_BYTES)


def header(label: MeshLabel) -> str:
    """What stands in the header. It never begins with 'solid', which would mean text STL."""
    plain = label.title.encode("ascii", "replace").decode()
    return f"carve {__version__}, unit {label.unit}, {label.part}, {plain}"[:HEADER_BYTES]


def write_stl(file: IO[bytes], mesh: Mesh, words: str) -> None:
    """Write a mesh. file: open in binary mode. words: the header."""
    data = np.empty(len(mesh.triangles), dtype=StlMesh.dtype)
    axes = np.ascontiguousarray(mesh.points.T)
    starts = range(0, len(data), CHUNK)

    def fill(start: int) -> None:
        here = slice(start, start + CHUNK)
        _fill(data[here], axes, mesh.triangles[here])

    if len(starts) > 1:
        with ThreadPoolExecutor(THREADS) as threads:
            list(threads.map(fill, starts))
    elif starts:
        fill(0)
    written = _Headed(data, remove_empty_areas=False, calculate_normals=False)
    written.name = words
    written.save(words, fh=file, mode=stl.Mode.BINARY, update_normals=False)


def _fill(
    records: npt.NDArray[Any], axes: npt.NDArray[np.float64], triangles: npt.NDArray[np.int64]
) -> None:
    """Corners and unit normals of triangles. axes: (3, n) the points' x, y and z in mm."""
    corners = np.ascontiguousarray(triangles.T)
    x, y, z = (axis.take(corners) for axis in axes)  # each (3, m)
    ux, uy, uz = (axis[1] - axis[0] for axis in (x, y, z))
    vx, vy, vz = (axis[2] - axis[0] for axis in (x, y, z))
    normal = (uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx)
    size = np.sqrt(normal[0] ** 2 + normal[1] ** 2 + normal[2] ** 2)
    records["attr"] = 0
    for i, axis in enumerate((x, y, z)):
        records["normals"][:, i] = normal[i] / size
        records["vectors"][:, :, i] = axis.T


def stl_content(mesh: Mesh, label: MeshLabel) -> bytes:
    """A mesh, its coordinates in the label's unit, as the content of an STL file."""
    buffer = io.BytesIO()
    write_stl(buffer, mesh, header(label))
    return buffer.getvalue()


FORMAT = MeshFormat(ending=".stl", holds="the mesh, for CAM", write=stl_content)
