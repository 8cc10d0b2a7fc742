"""Block and tenon as meshes, read back by libraries that are not ours."""

import numpy as np
import pytest
import trimesh

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load, with_values
from carve.parts.job import make
from carve.solid.as_written import as_written
from carve.solid.mesh import soundness, volume


@pytest.fixture(params=["siskin", "wheatear", "dunlin"])
def heeled(request):
    """Each family of heel."""
    return load(request.config.rootpath / "examples" / f"{request.param}.toml")


def neck_of(design, bound=0.02):
    return make(design, bound).parts[0]


def test_trimesh_finds_it_watertight_in_one_piece_with_the_integrals_volume(heeled):
    part = neck_of(heeled)
    theirs = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    assert theirs.is_watertight
    assert theirs.is_winding_consistent
    assert theirs.body_count == 1
    assert theirs.volume == pytest.approx(part.integral, abs=0.02 * theirs.area)
    assert theirs.volume == pytest.approx(part.integral, rel=1e-3)


def test_every_finding_about_the_example_is_good(heeled):
    findings = inspect(make(heeled, 0.05))
    assert [f.check for f in findings if f.verdict is not Verdict.GOOD] == []


def test_a_section_through_the_block_is_a_rectangle(siskin):
    # trimesh's own plane section, between the holes
    part = neck_of(siskin)
    x = siskin.place(siskin.neck.heel_end) - 30.0
    theirs = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    cut = theirs.section(plane_origin=[x, 0, 0], plane_normal=[1, 0, 0])
    low, high = cut.bounds
    width = 2 * part.shape.half_width(np.array([x]))[0]
    assert high[1] - low[1] == pytest.approx(width, abs=1e-6)
    assert high[2] - low[2] == pytest.approx(19.0, abs=1e-6)


def test_holes_go_through_where_they_are_asked(siskin):
    mesh = neck_of(siskin).mesh.only("bolt holes")
    end = siskin.place(siskin.neck.heel_end)
    for hole in siskin.neck.heel.holes:
        away = np.hypot(mesh.points[:, 0] - end + hole.from_end, mesh.points[:, 1] - hole.aside)
        wall = mesh.points[away < hole.diameter]
        assert np.hypot(wall[:, 0] - end + hole.from_end, wall[:, 1] - hole.aside) == pytest.approx(
            hole.diameter / 2, abs=1e-6
        )
        assert np.ptp(wall[:, 2]) == pytest.approx(19.0)


def test_a_tenon_has_shoulders_square_to_the_centre_line(wheatear):
    part = neck_of(wheatear)
    walls = part.mesh.only("shoulders")
    shoulder = wheatear.place(wheatear.neck.heel_end) - 75.0
    at_shoulder = walls.points[np.abs(walls.points[:, 0] - shoulder) < 1e-6]
    assert np.abs(at_shoulder[:, 1]).min() == pytest.approx(21.0)
    beyond = part.mesh.points[part.mesh.points[:, 0] > shoulder + 1e-6]
    assert np.abs(beyond[:, 1]).max() < 21.0


def test_wood_beside_the_channel_in_a_tenon_is_half_of_what_is_left(wheatear):
    # by hand: the channel through to the heel end leaves (36.762 - 6) / 2 there
    longer = with_values(wheatear, {"neck.truss_rod.end": wheatear.neck.heel_end})
    found = next(f for f in inspect(make(longer, 0.05)) if "wood beside" in f.check)
    assert found.curve.values[-1] == pytest.approx((36.7619 - 6) / 2, abs=1e-3)


@pytest.mark.parametrize("radius", [0.0, 25.0])
@pytest.mark.parametrize("depth", [12.0, 45.0])
def test_any_depth_and_corner_gives_a_sound_mesh(heeled, radius, depth):
    radius = min(radius, 16.0) if heeled.neck.heel.kind == "tenon" else radius
    changed = with_values(
        heeled, {"neck.heel.depth": depth, "neck.heel.corner_radius": radius, "neck.heel.holes": []}
    )
    part = neck_of(changed, 0.05)
    written = as_written(part.mesh)
    assert soundness(written).sound
    assert volume(written) == pytest.approx(part.integral, rel=2e-3)


@pytest.fixture
def siskin(request):
    return load(request.config.rootpath / "examples" / "siskin.toml")


@pytest.fixture
def wheatear(request):
    return load(request.config.rootpath / "examples" / "wheatear.toml")
