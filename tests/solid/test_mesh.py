"""That the soundness check finds each kind of fault, and that slices measure true."""

import numpy as np
import pytest
import trimesh

from carve.solid.as_written import as_written
from carve.solid.measure import slice_at, to_segments
from carve.solid.mesh import Mesh, Soundness, soundness, volume


def of(solid):
    return Mesh(
        np.array(solid.vertices),
        np.array(solid.faces),
        np.zeros(len(solid.faces), dtype=np.int64),
        ("skin",),
    )


def altered(mesh, triangles):
    triangles = np.array(triangles)
    return Mesh(mesh.points, triangles, np.zeros(len(triangles), dtype=np.int64), mesh.names)


@pytest.fixture
def box():
    return of(trimesh.creation.box((30, 20, 10)))


def test_a_box_is_sound_and_holds_its_volume(box):
    assert soundness(box) == Soundness(0, 0, 0)
    assert volume(box) == pytest.approx(6000)


def test_a_hole_is_found(box):
    assert soundness(altered(box, box.triangles[1:])).open_edges == 3


def test_a_triangle_turned_over_is_found(box):
    turned = box.triangles.copy()
    turned[0] = turned[0, ::-1]
    assert soundness(altered(box, turned)).open_edges > 0


def test_a_triangle_laid_twice_is_found(box):
    state = soundness(altered(box, np.vstack([box.triangles, box.triangles[:1]])))
    assert state.twins == 1
    assert state.open_edges > 0


def test_a_fin_of_two_triangles_back_to_back_is_found(box):
    fin = box.triangles[:1]
    state = soundness(altered(box, np.vstack([box.triangles, fin, fin[:, ::-1]])))
    assert not state.sound


def test_a_triangle_without_area_is_found(box):
    a, b, _ = box.triangles[0]
    assert soundness(altered(box, np.vstack([box.triangles, [[a, b, b]]]))).flat == 1


def test_a_mesh_inside_out_has_negative_volume(box):
    assert volume(altered(box, box.triangles[:, ::-1])) == pytest.approx(-6000)


def test_points_that_a_file_cannot_tell_apart_are_joined():
    ball = of(trimesh.creation.icosphere(2, 50))
    ball = Mesh(ball.points + 600, ball.triangles, ball.surface, ball.names)
    near = ball.points.copy()
    near = np.vstack([near, near[:1] + 1e-7])  # less than 32-bit floats resolve at 600 mm
    triangles = ball.triangles.copy()
    which = np.argwhere(triangles == 0)[0]
    triangles[which[0], which[1]] = len(near) - 1
    split = Mesh(near, triangles, ball.surface, ball.names)
    assert not soundness(split).sound
    assert soundness(as_written(split)).sound


@pytest.mark.parametrize("x", [-9.0, 0.0, 3.7, 12.0])
def test_a_slice_of_a_bar_is_its_section(x):
    # reference: trimesh's own section
    bar = trimesh.creation.cylinder(8, 30, sections=64)
    bar.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, [0, 1, 0]))
    segments = slice_at(of(bar), x)
    theirs = bar.section((1, 0, 0), (x, 0, 0))
    lengths = np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1)
    assert lengths.sum() == pytest.approx(theirs.length, rel=1e-9)
    assert np.abs(segments).max() <= 8 + 1e-9


def test_a_slice_through_mesh_points_still_closes():
    ball = of(trimesh.creation.icosphere(3, 10))
    segments = slice_at(ball, 0.0)  # runs through a ring of points
    ends = np.round(segments.reshape(-1, 2), 9)
    _, counts = np.unique(ends, axis=0, return_counts=True)
    assert (counts % 2 == 0).all()


def test_distance_to_segments():
    square = np.array([[0, 0], [4, 0], [4, 4], [0, 4.0]])
    segments = np.stack([square, np.roll(square, -1, axis=0)], 1)
    away = to_segments(np.array([[2, 1], [2, -3], [7, 8], [4, 2.0]]), segments)
    assert away == pytest.approx([1, 3, 5, 0])


def test_a_triangle_that_rounding_lays_in_a_line_gives_its_point_to_its_neighbour():
    # a box whose lid has a corner to spare on one edge, a hair off it: less than 32 bits tell
    # at 1000 mm, so on the file the sliver between is a line
    box = trimesh.creation.box((1000.0, 500.0, 100.0))
    points = np.vstack([box.vertices, [[0.0, 250.0 + 1e-9, 50.0]]])
    low, high = (
        int(np.flatnonzero((box.vertices == corner).all(axis=1))[0])
        for corner in ([-500.0, 250.0, 50.0], [500.0, 250.0, 50.0])
    )
    on_edge = [set(t) >= {low, high} for t in box.faces.tolist()]
    top = next(n for n, on in enumerate(on_edge) if on and (box.face_normals[n][2] > 0.5))
    a, b, c = np.roll(
        box.faces[top],
        -next(k for k in range(3) if {box.faces[top][k], box.faces[top][k - 2]} == {low, high}),
    )
    spare = len(points) - 1
    side = [t for n, t in enumerate(box.faces.tolist()) if n != top]
    # the lid's triangle in two, and a sliver between it and the side
    triangles = np.array([*side, (a, spare, c), (spare, b, c), (a, b, spare)])
    mesh = Mesh(points, triangles, np.zeros(len(triangles), dtype=np.int64), ("box",))
    assert soundness(mesh).open_edges == 0
    written = as_written(mesh)
    assert soundness(written).sound
    assert volume(written) == pytest.approx(1000 * 500 * 100)


def test_two_triangles_in_a_line_back_to_back_cancel_each_other(box):
    # a boolean left such a pair at the bottom of a channel: (a, b, m) and (a, m, b), m between
    a, b = box.triangles[0][:2]
    middle = len(box.points)
    points = np.vstack([box.points, box.points[[a, b]].mean(axis=0)])
    fin = [[a, b, middle], [a, middle, b]]
    triangles = np.vstack([box.triangles, fin])
    spoilt = Mesh(points, triangles, np.zeros(len(triangles), dtype=np.int64), box.names)
    assert not soundness(spoilt).sound
    mended = as_written(spoilt)
    assert soundness(mended).sound
    assert len(mended.triangles) == 12
    assert volume(mended) == pytest.approx(6000)
