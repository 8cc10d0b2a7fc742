"""A patch that is detached while a solid is cut comes back whole, point for point."""

import numpy as np
import pytest
import trimesh

from carve.design import load, with_values
from carve.parts.job import shape_of
from carve.parts.neck import NECK
from carve.solid import neck as necks
from carve.solid.as_written import as_written
from carve.solid.kit.boolean import cut
from carve.solid.kit.detach import PLACEHOLDER, Cone, Walls, detach, detach_beside, reattach
from carve.solid.kit.prism import Skin, flat_skin, prism_upright, solid_between
from carve.solid.mesh import Mesh, soundness, volume

CHORD = 0.05  # mm
NAMES = ("top", "back", "sides")
LIDS = {"top": 30.0, "back": -30.0}


def loaded(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


def box(x, y, low, high, name="tool"):
    return prism_upright(
        np.array([[x[0], y[0]], [x[1], y[0]], [x[1], y[1]], [x[0], y[1]]]), low, high, name
    )


@pytest.fixture(scope="module")
def dome():
    """A round plate of 100 mm radius: a domed top of many triangles over a flat back."""
    turn = np.arange(120) / 120 * 2 * np.pi
    plan = 100 * np.stack([np.cos(turn), np.sin(turn)], 1)
    rings = [plan * share for share in np.linspace(0.98, 0.02, 60)]
    points = np.vstack([plan, *rings, np.zeros((1, 2))])
    here = np.arange(120)
    following = np.roll(here, -1)
    bands = [
        np.concatenate(
            [
                np.stack([here, following, following + 120], 1),
                np.stack([here, following + 120, here + 120], 1),
            ]
        )
        + 120 * ring
        for ring in range(60)
    ]
    centre = np.stack([here + 7200, following + 7200, np.full(120, 7320)], 1)
    heights = 15 * (1 - (points**2).sum(axis=1) / 100**2)
    top = Skin(np.column_stack([points, heights]), np.concatenate([*bands, centre]))
    return solid_between(120, top, flat_skin(plan, -20.0), NAMES)


TOOLS = {
    "a pocket": [box((-20, 30), (-15, 15), -5, 40)],
    "two pockets": [box((-60, -30), (-15, 15), -5, 40), box((30, 60), (-15, 15), -5, 40)],
    "a hole": [box((10, 20), (-5, 5), -40, 40)],
    "a cutaway": [box((50, 150), (-30, 30), -40, 40)],
}


@pytest.mark.parametrize("tools", TOOLS.values(), ids=TOOLS)
def test_a_carved_face_is_cut_as_if_nothing_had_been_detached(dome, tools):
    patch = detach_beside(dome, tools, LIDS)
    assert loaded(patch.remainder).is_watertight
    assert len(patch.remainder.triangles) < len(dome.triangles)
    mesh, whole = reattach(cut(patch.remainder, tools, PLACEHOLDER), [patch]), cut(dome, tools)
    assert PLACEHOLDER not in mesh.names
    assert set(mesh.names) == set(whole.names)
    assert loaded(mesh).is_watertight
    assert loaded(mesh).is_winding_consistent
    assert volume(mesh) == pytest.approx(volume(whole), rel=1e-12)
    for name in whole.names:
        areas = [one.only(name).doubled_areas.sum() for one in (mesh, whole)]
        assert areas[0] == pytest.approx(areas[1], rel=1e-9)
    # each point of the patch is there, to the last digit
    there = {tuple(point) for point in mesh.points}
    detached = dome.points[np.unique(dome.triangles[patch.detached])]
    assert all(tuple(point) in there for point in detached)


def test_a_volume_that_is_taken_out_may_have_a_patch_of_its_own(dome):
    # the dome as a chamber: its walls face inward in what is left, by trimesh's volume
    tools, around = TOOLS["a hole"], box((-150, 150), (-150, 150), -60, 60, "block")
    patch = detach_beside(dome, tools, {"top": -10.0})
    mesh = reattach(cut(around, [*tools, patch.remainder], PLACEHOLDER), [], [patch])
    whole = cut(around, [*tools, dome])
    assert loaded(mesh).is_watertight
    assert loaded(mesh).is_winding_consistent
    assert volume(mesh) == pytest.approx(volume(whole), rel=1e-12)
    assert volume(mesh) < volume(around)


def test_a_patch_that_is_too_small_stays(dome):
    everywhere = [box((-150, 150), (-150, 150), 5, 40)]
    assert detach_beside(dome, everywhere, LIDS) is None


@pytest.mark.parametrize("placeholder", [Cone(np.array([0.0, 0.0, 900.0])), Walls(40.0)])
def test_a_boundary_that_a_tool_has_cut_is_not_joined(dome, placeholder):
    on_top = dome.surface == dome.names.index("top")
    near = np.hypot(*dome.points[:, :2].T) <= 80
    patch = detach(dome, [(on_top & near[dome.triangles].all(axis=1), placeholder)])
    assert loaded(patch.remainder).is_watertight
    beside, across = box((86, 95), (-5, 5), 0, 60), box((70, 95), (-5, 5), 0, 60)
    assert reattach(cut(patch.remainder, [beside], PLACEHOLDER), [patch]) is not None
    assert reattach(cut(patch.remainder, [across], PLACEHOLDER), [patch]) is None


def test_a_boundary_whose_edge_is_gone_is_not_joined(dome):
    on_top = dome.surface == dome.names.index("top")
    near = np.hypot(*dome.points[:, :2].T) <= 80
    patch = detach(dome, [(on_top & near[dome.triangles].all(axis=1), Walls(40.0))])
    there = reattach(patch.remainder, [patch])
    assert loaded(there).is_watertight
    # every point stands, but the triangle outside of one of the edges is missing
    outside = np.flatnonzero(~patch.detached)
    start, stop = patch.boundary[0]
    wrong = [n for n in outside if {start, stop} <= set(dome.triangles[n])]
    assert len(wrong) == 1
    kept = np.arange(len(patch.remainder.triangles)) != np.flatnonzero(outside == wrong[0])[0]
    torn = patch.remainder
    torn = Mesh(torn.points, torn.triangles[kept], torn.surface[kept], torn.names)
    assert reattach(torn, [patch]) is None


@pytest.fixture(params=["wren", "siskin", "wheatear", "dunlin", "heron"])
def shape(request):
    return shape_of(NECK, load(request.config.rootpath / "examples" / f"{request.param}.toml"))


def test_a_neck_is_the_same_as_cut_whole(shape, monkeypatch):
    with_patch, _ = necks.neck_solid(shape, CHORD)
    monkeypatch.setattr(necks, "clear_rows", lambda grid, shape: None)
    whole, _ = necks.neck_solid(shape, CHORD)
    assert soundness(as_written(with_patch)).sound
    assert volume(with_patch) == pytest.approx(volume(whole), abs=1e-3)
    assert set(with_patch.names) == set(whole.names)
    assert PLACEHOLDER not in with_patch.names
    # trimesh: nothing of the cone is left, and the outer measures are the same
    theirs, other = loaded(with_patch), loaded(whole)
    assert theirs.is_watertight
    assert theirs.bounds == pytest.approx(other.bounds, abs=1e-9)
    assert theirs.area == pytest.approx(other.area, rel=1e-9)


def test_every_point_of_the_back_is_on_the_mesh(shape):
    grid = necks.back_grid(shape, CHORD)
    first, last = necks.clear_rows(grid, shape)
    mesh, _ = necks.neck_solid(shape, CHORD)
    there = {tuple(point) for point in mesh.points}
    assert all(tuple(point) in there for point in grid.points[first : last + 1].reshape(-1, 3))


def test_a_channel_that_comes_near_the_back_has_it_cut_whole(request):
    siskin = load(request.config.rootpath / "examples" / "siskin.toml")
    # 20.5 - 6 - 14.3: 0.2 mm of wood under the channel at the 1st fret
    thin = shape_of(NECK, with_values(siskin, {"neck.truss_rod.depth": 14.3}))
    assert necks.clear_rows(necks.back_grid(thin, CHORD), thin) is None
    assert soundness(as_written(necks.neck_solid(thin, CHORD)[0])).sound
