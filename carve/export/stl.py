"""Binary STL, by numpy-stl: an 80-byte header, a count, and 50 bytes a triangle."""

from typing import IO

import numpy as np
import stl
from stl.mesh import Mesh as StlMesh

from carve import __version__
from carve.design.units import Unit
from carve.solid.mesh import Mesh

HEADER_BYTES = 80


class _Headed(StlMesh):
    """numpy-stl's mesh with a header that is the same for the same design."""

    def get_header(self, name: str | bytes) -> str:
        return str(name)[:HEADER_BYTES].ljust(HEADER_BYTES)


def header(title: str, part: str, unit: Unit) -> str:
    """What stands in the header. It never begins with 'solid', which would mean text STL."""
    plain = title.encode("ascii", "replace").decode()
    return f"carve {__version__}, unit {unit}, {part}, {plain}"[:HEADER_BYTES]


def write_stl(file: IO[bytes], mesh: Mesh, words: str) -> None:
    """Write a mesh. file: open in binary mode. words: the header."""
    corners = mesh.corners
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    data = np.zeros(len(corners), dtype=StlMesh.dtype)
    data["vectors"], data["normals"] = corners, normals
    written = _Headed(data, remove_empty_areas=False, calculate_normals=False)
    written.name = words
    written.save(words, fh=file, mode=stl.Mode.BINARY, update_normals=False)
