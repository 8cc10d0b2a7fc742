"""The neck's mesh as CAM programs want it, read back by libraries that are not ours."""

import numpy as np
import pytest
import pyvista
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from carve.design import load, with_values
from carve.design.values.profile import Dials, Profile
from carve.errors import DesignError
from carve.shape.neck.area import neck_volume
from carve.shape.neck.build import neck_shape
from carve.solid.as_written import as_written
from carve.solid.mesh import soundness, volume
from carve.solid.neck import neck_solid


def solid_of(design, bound=0.02):
    shape = neck_shape(design.neck, design.scale_length, design.fretboard.thickness)
    return shape, neck_solid(shape, bound)[0]


def test_trimesh_finds_it_watertight_and_oriented_with_our_volume(design):
    _, mesh = solid_of(design)
    theirs = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    assert theirs.is_watertight
    assert theirs.is_winding_consistent
    assert theirs.volume == pytest.approx(volume(mesh), rel=1e-12)
    assert theirs.volume > 0
    assert theirs.body_count == 1


def test_vtk_finds_no_open_edge_and_our_volume(design):
    _, mesh = solid_of(design)
    theirs = pyvista.PolyData.from_regular_faces(mesh.points, mesh.triangles)
    assert theirs.n_open_edges == 0
    assert theirs.is_manifold
    assert theirs.volume == pytest.approx(volume(mesh), rel=1e-6)


def test_the_channel_takes_its_own_volume_out(design):
    _, mesh = solid_of(design)
    bare = design.model_copy(update={"neck": design.neck.model_copy(update={"truss_rod": None})})
    _, whole = solid_of(bare)
    rod = design.neck.truss_rod
    length = design.place(rod.end) - design.place(rod.start)
    assert volume(whole) - volume(mesh) == pytest.approx(rod.width * rod.depth * length, rel=1e-9)
    assert mesh.names[-1] == "truss-rod channel"
    # floor, two walls and the closed end; at the nut the channel runs out of the end face
    channel = mesh.only("truss-rod channel")
    area = float(channel.doubled_areas.sum()) / 2
    assert area == pytest.approx(
        length * (rod.width + 2 * rod.depth) + rod.width * rod.depth, rel=1e-9
    )


def test_every_surface_is_where_its_name_says(design):
    shape, mesh = solid_of(design)
    assert mesh.only("glue face").points[:, 2] == pytest.approx(0)
    assert mesh.only("nut end").points[:, 0] == pytest.approx(0)
    assert mesh.only("heel end").points[:, 0] == pytest.approx(shape.length)
    assert len(mesh.only("back").triangles) > 0.9 * len(mesh.triangles)


shares = st.floats(0, 1)
sides = st.builds(Dials, shares, shares)
profiles = st.one_of(sides.map(lambda d: Profile(d, d)), st.builds(Profile, sides, sides))


@settings(max_examples=40, deadline=None)
@given(
    thickness=st.tuples(*[st.floats(17.5, 32)] * 3),
    shape=st.tuples(profiles, profiles, profiles),
    nut=st.floats(34, 60),
    heel=st.floats(40, 69),
    depth=st.floats(3, 11),
    middle=st.one_of(st.none(), st.floats(5, 11)),
    width=st.floats(3, 12),
)
def test_any_valid_design_gives_a_sound_mesh(
    thickness, shape, nut, heel, depth, middle, width, wren
):
    changes = {f"neck.stations[{n}].thickness": value for n, value in enumerate(thickness)}
    changes |= {f"neck.stations[{n}].shape": value for n, value in enumerate(shape)}
    changes |= {
        "neck.nut_width": nut,
        "neck.heel_width": heel,
        "neck.truss_rod.depth": depth,
        "neck.truss_rod.width": width,
    }
    if middle is not None:
        changes["neck.truss_rod.depth_middle"] = middle
    try:
        design = with_values(wren, changes)
    except DesignError:
        return  # such a contradiction is the design's own business
    made, mesh = solid_of(design, 0.1)
    written = as_written(mesh)
    assert soundness(written).sound
    assert trimesh.Trimesh(written.points, written.triangles, process=False).is_watertight
    skin = float(written.doubled_areas.sum()) / 2
    assert volume(written) == pytest.approx(neck_volume(made), abs=0.1 * skin)


@pytest.fixture(scope="session")
def wren(request):
    """The example once for all random designs."""
    return load(request.config.rootpath / "examples" / "wren.toml")


def test_an_access_pocket_and_a_curved_floor_are_cut_too(design):
    changed = with_values(
        design,
        {
            "neck.truss_rod.depth_middle": 10.5,
            "neck.truss_rod.access": {"at": "nut", "length": 18.0, "width": 11.0, "depth": 9.5},
        },
    )
    shape, mesh = solid_of(changed)
    assert soundness(as_written(mesh)).sound
    skin = float(mesh.doubled_areas.sum()) / 2
    assert volume(mesh) == pytest.approx(neck_volume(shape), abs=0.02 * skin)
    assert "access pocket" in mesh.names


def test_a_channel_through_both_ends_leaves_a_sound_mesh(design):
    changed = with_values(design, {"neck.truss_rod.end": design.neck.heel_end})
    _, mesh = solid_of(changed)
    assert soundness(as_written(mesh)).sound
    assert np.ptp(mesh.only("truss-rod channel").points[:, 0]) == pytest.approx(
        design.place(design.neck.heel_end)
    )
