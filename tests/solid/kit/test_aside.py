"""A back that is put aside during the cuts comes back whole, point for point."""

import numpy as np
import pytest
import trimesh
from carve.solid.kit.aside import STAND_IN, Stretch, others, sewn_in

from carve.design import load, with_values
from carve.parts.job import shape_of
from carve.parts.neck import NECK
from carve.solid import neck as necks
from carve.solid.as_written import as_written
from carve.solid.kit.boolean import cut
from carve.solid.mesh import soundness, volume

CHORD = 0.05  # mm


@pytest.fixture(params=["wren", "siskin", "wheatear", "dunlin", "heron"])
def shape(request):
    return shape_of(NECK, load(request.config.rootpath / "examples" / f"{request.param}.toml"))


def both_ways(shape, monkeypatch):
    """The neck with its back put aside, and cut as a whole."""
    aside, _ = necks.neck_solid(shape, CHORD)
    monkeypatch.setattr(necks, "_far_from_tools", lambda grid, shape: None)
    return aside, necks.neck_solid(shape, CHORD)[0]


def rows_of(shape):
    return necks.sample(shape.rows, necks._rows(shape), (-1.0, 0.0, 1.0), CHORD, necks.LONGEST)


def test_the_neck_is_the_same_as_cut_whole(shape, monkeypatch):
    aside, whole = both_ways(shape, monkeypatch)
    assert soundness(as_written(aside)).sound
    assert volume(aside) == pytest.approx(volume(whole), abs=1e-3)
    assert set(aside.names) == set(whole.names)
    assert STAND_IN not in aside.names
    # trimesh: nothing of the cone is left, and the outer measures are the same
    theirs, other = (
        trimesh.Trimesh(mesh.points, mesh.triangles, process=False) for mesh in (aside, whole)
    )
    assert theirs.is_watertight
    assert theirs.bounds == pytest.approx(other.bounds, abs=1e-9)
    assert theirs.area == pytest.approx(other.area, rel=1e-9)


def test_every_point_of_the_back_is_on_the_mesh(shape):
    grid = rows_of(shape)
    stretch = necks._far_from_tools(grid, shape)
    assert stretch is not None
    mesh, _ = necks.neck_solid(shape, CHORD)
    there = {tuple(point) for point in mesh.points}
    wanted = stretch.points[stretch.first : stretch.last + 1].reshape(-1, 3)
    assert all(tuple(point) in there for point in wanted)


def test_a_channel_that_comes_near_the_back_has_it_cut_whole(request):
    siskin = load(request.config.rootpath / "examples" / "siskin.toml")
    # 20.5 - 6 - 14.3: 0.2 mm of wood under the channel at the 1st fret
    thin = shape_of(NECK, with_values(siskin, {"neck.truss_rod.depth": 14.3}))
    assert necks._far_from_tools(rows_of(thin), thin) is None
    assert soundness(as_written(necks.neck_solid(thin, CHORD)[0])).sound


def test_a_rim_that_a_tool_has_cut_is_not_sewn(request):
    # a box as a grid: its lower face put aside, and a tool that bites off a corner of the rim
    x, y = np.linspace(0, 40, 5), np.linspace(-10, 10, 5)
    points = np.stack(np.broadcast_arrays(x[:, None], y[None], -8.0), axis=-1)
    stretch = Stretch(points, 0, 4)
    wren = shape_of(NECK, load(request.config.rootpath / "examples" / "wren.toml"))
    grid = rows_of(wren)
    aside = necks._far_from_tools(grid, wren)
    body = necks._closed(grid, wren, CHORD, aside)
    bite = necks._upright(np.array([[-5, 0], [5, 0], [5, 90], [-5, 90]]), -90, 9, "bite")
    assert sewn_in(cut(body, [bite], STAND_IN), aside, "back") is None
    assert len(stretch.rim()) == 16
    assert len(others(stretch, 5, 5)) == 0
