"""The chord error held on surfaces whose true distance is known, and triangles well spent."""

import numpy as np
import pytest
import trimesh

from carve.errors import SolidError
from carve.shape.neck.build import neck_shape
from carve.solid.kit.tessellate import grid_triangles, sample
from carve.solid.neck import neck_solid


def barrel(x, t):
    """A round bar of 20 mm radius along x, half of it: t from -1 to 1."""
    angle = np.pi * t / 2
    ring = np.stack([20 * np.sin(angle), -20 * np.cos(angle)], 1)
    points = np.empty((len(x), len(t), 3))
    points[..., 0], points[..., 1:] = x[:, None], ring
    return points


def ball(x, t):
    """Part of a sphere of 40 mm radius about the origin, over latitude and longitude."""
    up, around = x[:, None] / 40, t[None, :]
    return 40 * np.stack(
        [np.sin(up) + 0 * around, np.cos(up) * np.sin(around), -np.cos(up) * np.cos(around)], -1
    )


@pytest.mark.parametrize("bound", [0.1, 0.02, 0.005])
def test_a_round_bar_takes_as_many_chords_as_its_sagitta_asks(bound):
    # sagitta of a chord, R - sqrt(R^2 - c^2/4): Machinery's Handbook, circular segments
    grid = sample(barrel, (0.0, 300.0), (-1.0, 0.0, 1.0), bound, 1000.0)
    assert len(grid.rows) == 2  # straight along its length: no row is wasted
    chords = np.linalg.norm(np.diff(grid.points[0], axis=0), axis=1)
    sagittas = 20 - np.sqrt(20**2 - chords**2 / 4)
    assert sagittas.max() <= bound
    assert grid.error == pytest.approx(sagittas.max(), rel=1e-6)
    fewest = np.pi / (2 * np.arccos(1 - bound / 20))
    assert len(grid.columns) - 1 <= 1.5 * fewest + 2


@pytest.mark.parametrize("bound", [0.1, 0.02])
def test_a_sphere_is_met_within_the_bound_everywhere(bound):
    grid = sample(ball, (-30.0, 30.0), (-1.0, 1.0), bound, 1000.0)
    flat = grid.points.reshape(-1, 3)
    corners = flat[grid_triangles(len(grid.rows), len(grid.columns))]
    shares = np.random.default_rng(3).dirichlet([1, 1, 1], 60)
    inside = np.einsum("sk,mkc->msc", shares, corners)
    off = 40 - np.linalg.norm(inside, axis=-1)
    assert off.max() <= bound * 1.02  # measured at edges' middles; the very worst lies close by
    assert off.min() >= -1e-9


@pytest.mark.parametrize("bound", [0.1, 0.02, 0.005])
def test_the_neck_mesh_is_within_the_bound_of_the_shape(design, bound):
    # reference: trimesh.proximity from points of the shape to the finished, cut mesh
    shape = neck_shape(design.neck, design.scale_length, design.fretboard.thickness)
    mesh, measured = neck_solid(shape, bound)
    generator = np.random.default_rng(11)
    x = np.sort(generator.uniform(0, shape.length, 60))
    t = np.sort(generator.uniform(-1, 1, 60))
    points = shape.surface(x, t).reshape(-1, 3)
    solid = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    _, away, _ = trimesh.proximity.closest_point(solid, points)
    assert measured <= bound
    assert away.max() <= bound
    assert away.max() >= 0.2 * measured  # the figure stated is no mere upper bound


def test_the_mesh_spends_its_columns_where_the_section_is_curved(design):
    shape = neck_shape(design.neck, design.scale_length, design.fretboard.thickness)
    columns = np.sort(
        sample(shape.surface, (0.0, shape.length), (-1.0, 0.0, 1.0), 0.02, 10.0).columns
    )
    at = shape.surface(np.array([30.0]), columns)[0]
    steps = np.linalg.norm(np.diff(at, axis=0), axis=1)
    # a C is rounder at its shoulders than at its keel
    assert steps[np.abs(columns[:-1]) < 0.15].min() > 1.3 * steps.min()


def test_a_torn_surface_is_refused_in_a_sentence():
    def step(x, t):
        points = barrel(x, t)
        points[..., 2] += 3.0 * (x[:, None] > 100 / 3)
        return points

    with pytest.raises(SolidError, match="could not be meshed within"):
        sample(step, (0.0, 100.0), (-1.0, 1.0), 1e-6, 50.0)


def test_a_bound_just_below_what_the_fewest_columns_give_is_held():
    # chords over halves of an arc 2w wide are w^2 / 8R off: 0.0601 mm, a hair beyond the bound
    radius, half = 1660.0, 28.25

    def arc(x, t):
        y = half * t + 0 * x[:, None]
        return np.stack([x[:, None] + 0 * y, y, np.sqrt(radius**2 - y**2) - radius], axis=-1)

    grid = sample(arc, (0.0, 400.0), (-1.0, 0.0, 1.0), 0.06, 1e6)
    assert grid.error <= 0.06
    assert len(grid.columns) > 3
