"""The STL file, byte by byte, and as other programs read it.

The layout of binary STL: an 80-byte header that does not begin with "solid", the number of
triangles as a little-endian 32-bit integer, then 50 bytes a triangle: normal and three
corners as 32-bit floats, and two bytes that are zero.
"""

import io
import struct
from pathlib import Path

import numpy as np
import pytest
import pyvista
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from carve.design import load
from carve.export.formats.kinds import MeshLabel
from carve.export.formats.stl import header, write_stl
from carve.parts.job import make
from carve.solid.as_written import as_written
from carve.solid.mesh import Mesh, volume

WREN = Path(__file__).parents[3] / "examples" / "wren.toml"


def box(a: float = 30.0, b: float = 20.0, c: float = 10.0) -> Mesh:
    """A box at the origin, its twelve triangles counter-clockwise seen from outside."""
    corners = np.array([[x, y, z] for x in (0, a) for y in (0, b) for z in (0, c)], dtype=float)
    faces = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
    triangles = np.array([[f[i], f[j], f[k]] for f in faces for i, j, k in ((0, 1, 2), (0, 2, 3))])
    return Mesh(corners, triangles, np.zeros(12, dtype=int), ("all",))


def written(mesh: Mesh, words: str = "carve, unit mm") -> bytes:
    file = io.BytesIO()
    write_stl(file, mesh, words)
    return file.getvalue()


def unpacked(data: bytes) -> list[tuple[float, ...]]:
    """Each triangle's twelve floats and its two bytes, read by the layout alone."""
    (count,) = struct.unpack_from("<I", data, 80)
    return [struct.unpack_from("<12fH", data, 84 + 50 * n) for n in range(count)]


@pytest.fixture(scope="module")
def neck() -> Mesh:
    return as_written(make(load(WREN)).parts[0].mesh)


@pytest.fixture(scope="module")
def neck_file(neck: Mesh, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("stl") / "neck.stl"
    file.write_bytes(written(neck))
    return file


def test_twelve_triangles_make_684_bytes() -> None:
    assert len(written(box())) == 80 + 4 + 12 * 50 == 684


def test_the_count_stands_after_the_header_as_four_bytes_little_end_first() -> None:
    assert written(box())[80:84] == b"\x0c\x00\x00\x00"


def test_a_triangle_is_its_normal_its_corners_and_two_zero_bytes() -> None:
    mesh = box()
    for triangle, corners in zip(unpacked(written(mesh)), mesh.corners, strict=True):
        assert triangle[3:12] == tuple(corners.ravel())
        assert triangle[12] == 0


def test_normals_have_length_one_and_point_out_of_the_box() -> None:
    mesh = box()
    for triangle in unpacked(written(mesh)):
        normal = np.array(triangle[:3])
        assert np.linalg.norm(normal) == pytest.approx(1, abs=1e-6)
        out = np.reshape(triangle[3:12], (3, 3)).mean(axis=0) - [15, 10, 5]
        assert normal @ out > 0


def test_corners_run_counter_clockwise_about_the_normal(neck: Mesh) -> None:
    data = np.array(unpacked(written(neck)))
    normals, corners = data[:, :3], data[:, 3:12].reshape(-1, 3, 3)
    turned = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    assert (np.einsum("ij,ij->i", normals, turned) > 0).all()
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1, abs=1e-5)


@given(st.text(max_size=200), st.sampled_from(["mm", "in"]))
def test_the_header_is_80_bytes_and_never_begins_with_solid(title: str, unit: str) -> None:
    # programs take a file that begins with "solid" for the text form of STL
    labels = MeshLabel(title, "neck", unit), MeshLabel("solid", "solid", unit)  # type: ignore[arg-type]
    for words in map(header, labels):
        data = written(box(), words)
        assert len(data) == 684
        assert data[80:84] == b"\x0c\x00\x00\x00"
        assert not data.lower().lstrip().startswith(b"solid")
        assert f"unit {unit}".encode() in data[:80]


def test_the_header_tells_the_program_the_unit_the_part_and_the_title() -> None:
    head = written(box(), header(MeshLabel("Wren é", "neck", "in")))[:80]
    assert head.startswith(b"carve ")
    assert b"unit in, neck, Wren ?" in head


def test_the_same_mesh_makes_the_same_bytes(neck: Mesh) -> None:
    assert written(neck) == written(neck)


def test_trimesh_reads_a_closed_body_with_the_volume_of_the_mesh(
    neck: Mesh, neck_file: Path
) -> None:
    read = trimesh.load_mesh(neck_file)
    assert read.is_watertight
    assert read.is_winding_consistent
    assert len(read.faces) == len(neck.triangles)
    assert read.body_count == 1
    assert read.volume == pytest.approx(volume(neck), rel=1e-6)  # 32-bit floats: 6e-8 a figure
    assert read.bounds == pytest.approx(np.array([neck.points.min(0), neck.points.max(0)]))


def test_pyvista_reads_a_closed_body_with_the_volume_of_the_mesh(
    neck: Mesh, neck_file: Path
) -> None:
    read = pyvista.read(neck_file)
    assert read.n_open_edges == 0
    assert read.is_manifold
    assert read.n_cells == len(neck.triangles)
    assert read.volume == pytest.approx(volume(neck), rel=1e-5)


def test_a_mesh_inside_out_would_show() -> None:
    # so that the tests above can fail: the same box with its triangles turned over
    mesh = box()
    turned = Mesh(mesh.points, mesh.triangles[:, ::-1], mesh.surface, mesh.names)
    read = trimesh.load_mesh(io.BytesIO(written(turned)), file_type="stl")
    assert read.volume == pytest.approx(-6000)
