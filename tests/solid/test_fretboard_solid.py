"""The fretboard's mesh as CAM programs want it, measured by libraries that are not ours."""

import numpy as np
import pytest
import pyvista
import shapely
import trimesh
from hypothesis import event, given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares

from carve.design import load, with_values
from carve.design.derived.board_plan import board_plan
from carve.errors import DesignError
from carve.shape.fretboard.shape import fretboard_shape
from carve.solid.as_written import as_written
from carve.solid.fretboard import fretboard_solid
from carve.solid.mesh import soundness, volume

BOUND = 0.02
NUT_IN_A_SLOT = {
    "fretboard.nut": "slot",
    "fretboard.behind": 9.0,
    "fretboard.nut_slot": {"width": 4.0, "depth": 3.0},
}


def solid_of(design, changes=None, bound=BOUND):
    shape = fretboard_shape(board_plan(with_values(design, changes or {})))
    return shape, fretboard_solid(shape, bound)[0]


def by_trimesh(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


def section(mesh, x):
    """(k, 2) y and z of the mesh's playing surface at x, cut by trimesh."""
    top = by_trimesh(mesh.only("playing surface"))
    segments = trimesh.intersections.mesh_plane(top, [1, 0, 0], [x, 0, 0])
    return np.unique(np.round(segments.reshape(-1, 3)[:, 1:], 9), axis=0)


def fitted_radius(points):
    """Radius of the circle nearest to points, by scipy's non-linear least squares."""

    def away(circle):
        y, z, radius = circle
        return np.hypot(points[:, 0] - y, points[:, 1] - z) - radius

    low, high = points[:, 1].min(), points[:, 1].max()
    start = np.ptp(points[:, 0]) ** 2 / 8 / (high - low)
    return least_squares(away, [0.0, high - start, start], x_scale=[1, start, start]).x[2]


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"fretboard.radius": "flat"},
        {"fretboard.radius": "7.25 in"},
        {"fretboard.slots.floor": "flat", "fretboard.slots.tang": None},
        {"fretboard.slots.blind": 2.5},
        {"fretboard.slots": None, "fretboard.markers": None},
        {"fretboard.binding": {"thickness": 1.6, "around": "sides and end"}},
        {"fretboard.nut": "zero fret", "fretboard.behind": 6.0},
        NUT_IN_A_SLOT,
    ],
    ids=["example", "flat", "round", "flat floor", "blind", "bare", "bound", "zero fret", "slot"],
)
def test_trimesh_and_vtk_find_it_closed_oriented_and_in_one_piece(design, changes):
    shape, mesh = solid_of(design, changes)
    written = as_written(mesh)
    assert soundness(written).sound
    theirs = by_trimesh(written)
    assert theirs.is_watertight
    assert theirs.is_winding_consistent
    assert theirs.body_count == 1
    assert theirs.volume == pytest.approx(volume(written), rel=1e-12)
    skin = theirs.area
    assert 0 < theirs.volume == pytest.approx(shape.volume(), abs=BOUND * skin)
    vtk = pyvista.PolyData.from_regular_faces(mesh.points, mesh.triangles)
    assert vtk.n_open_edges == 0
    assert vtk.is_manifold


@pytest.mark.parametrize("bound", [0.05, 0.01, 0.002])
def test_the_volume_comes_as_near_as_the_chords_let_it(design, bound):
    # chords of a round surface lie inside it, 2/3 of their rise on average (a parabola)
    shape, mesh = solid_of(design, bound=bound)
    top = by_trimesh(mesh.only("playing surface")).area
    assert 0 < shape.volume() - volume(mesh) < 0.75 * bound * top


@pytest.mark.parametrize("fret", [1, 5, 7, 12, 17, 22])
def test_the_cones_radius_at_any_fret_by_a_circle_fit(design, fret):
    # 10 in at the nut to 16 in at the 22nd fret, evenly: the fit is scipy's, the cut trimesh's
    shape, mesh = solid_of(design, {"fretboard.radius": {"nut": "10 in", "end": "16 in"}}, 0.001)
    x = shape.frets[fret - 1] + 0.4  # beside the slot
    asked = 254.0 + 152.4 * x / shape.frets[21]
    assert fitted_radius(section(mesh, x)) == pytest.approx(asked, rel=0.003)


def test_a_cylinder_has_one_radius_from_end_to_end(design):
    shape, mesh = solid_of(design, {"fretboard.radius": "12 in"}, 0.001)
    found = [fitted_radius(section(mesh, x)) for x in np.linspace(3.0, shape.end - 3.0, 7)]
    assert found == pytest.approx([304.8] * 7, rel=0.003)


def test_slots_have_their_width_and_depth_at_the_edges_as_in_the_middle(design):
    # the board sawn lengthwise at y by trimesh; slots and wood measured in it by shapely
    shape, mesh = solid_of(design, {"fretboard.markers": None}, 0.001)
    solid = by_trimesh(mesh)
    for y in (0.3, 15.0, -20.9):
        cut = trimesh.intersections.mesh_plane(solid, [0, 1, 0], [0, y, 0])
        lines = shapely.linestrings(np.round(cut[..., [0, 2]], 7))
        (profile,) = shapely.polygonize(list(lines)).geoms
        level = profile.bounds[3] - 1.5
        line = shapely.LineString([(1.0, level), (shape.end - 1.0, level)])
        gaps = list(line.difference(profile).geoms)
        assert len(gaps) == 22
        for gap in gaps:
            assert gap.length == pytest.approx(0.58, abs=1e-6)
            middle = gap.centroid.x
            assert height_at(profile, middle + 0.4) - height_at(profile, middle) == pytest.approx(
                2.8, abs=0.003
            )


def height_at(profile, x):
    """How high a profile stands at x, measured with a plumb line."""
    return profile.intersection(shapely.LineString([(x, -1.0), (x, 9.0)])).bounds[3]


def test_a_flat_floor_is_level_and_shallower_at_the_edges(design):
    changes = {"fretboard.slots": {"depth": 2.8, "floor": "flat"}, "fretboard.markers": None}
    shape, mesh = solid_of(design, changes)
    slots = mesh.only("fret slots").points
    assert slots[:, 2].min() == pytest.approx(6.0 - 2.8)
    corners = slots[np.abs(slots[:, 1]) > shape.half_width(slots[:, 0]) - 1e-6]
    highest = corners[:, 2].max()
    assert 6.0 - highest > 0.5  # the surface has fallen away there, and the floor hasn't


def test_a_blind_slot_ends_inside_the_wood(design):
    shape, mesh = solid_of(design, {"fretboard.slots.blind": 2.5})
    slots = mesh.only("fret slots").points
    inside = shape.half_width(slots[:, 0]) - np.abs(slots[:, 1])
    assert inside.min() == pytest.approx(2.5, abs=0.02)
    sides = mesh.only("bass edge", "treble edge")
    assert np.isin(np.round(sides.points[:, 2], 6), 0.0).any()
    # nothing opens the edges: each is one quadrilateral strip from end to end
    assert sides.points[:, 2][sides.points[:, 2] > 0].min() > 4.9


def test_fret_slots_stand_where_the_published_formula_puts_the_frets(design):
    # L (1 - 2^(-n/12)), any acoustics text; read off the mesh by its upright walls
    _, mesh = solid_of(design)
    slots = by_trimesh(mesh.only("fret slots"))
    walls = slots.triangles[np.abs(slots.face_normals[:, 0]) > 0.999][:, :, 0]
    places = np.unique(np.round(walls, 6)).reshape(22, 2)
    assert np.diff(places)[:, 0] == pytest.approx(0.58)
    exact = 628.65 * (1 - 2 ** (-np.arange(1, 23) / 12))
    assert places.mean(axis=1) == pytest.approx(exact, abs=2e-6)


def test_markers_take_their_own_volume_out(design):
    # flat board: a cylinder of diameter 6 and depth 2, ten of them
    flat = {"fretboard.radius": "flat"}
    _, plain = solid_of(design, {**flat, "fretboard.markers": None}, 0.001)
    _, marked = solid_of(design, flat, 0.001)
    assert volume(plain) - volume(marked) == pytest.approx(10 * np.pi * 9 * 2, rel=1e-3)


def test_a_nut_slot_lies_behind_the_scales_start_and_runs_across(design):
    shape, mesh = solid_of(design, NUT_IN_A_SLOT)
    points = mesh.only("nut slot").points
    assert np.ptp(points[:, 0]) == pytest.approx(4.0)
    assert points[:, 0].max() == pytest.approx(0.0)
    assert points[:, 2].min() == pytest.approx(3.0)
    assert np.abs(points[:, 1]).max() == pytest.approx(float(shape.half_width(np.zeros(1))[0]))
    assert mesh.points[:, 0].min() == pytest.approx(-9.0)


def test_every_surface_is_where_its_name_says(design):
    shape, mesh = solid_of(design)
    assert mesh.only("glue face").points[:, 2] == pytest.approx(0)
    assert mesh.only("nut end").points[:, 0] == pytest.approx(0)
    assert mesh.only("body end").points[:, 0] == pytest.approx(shape.end)
    for name, side in (("bass edge", -1), ("treble edge", 1)):
        points = mesh.only(name).points
        assert points[:, 1] == pytest.approx(side * shape.half_width(points[:, 0]))
    top = mesh.only("playing surface").points
    assert (shape.height(top[:, 0], top[:, 1]) - top[:, 2]).max() < BOUND
    assert (shape.height(top[:, 0], top[:, 1]) - top[:, 2]).min() > -1e-9


lengths = st.floats(150, 1000)


@settings(max_examples=60, deadline=None)
@given(
    radius=st.one_of(
        st.just("flat"), lengths, st.builds(lambda a, b: {"nut": a, "end": b}, lengths, lengths)
    ),
    frets=st.integers(0, 26),
    beyond=st.floats(2, 60),
    scale=st.floats(330, 900),
    slots=st.fixed_dictionaries(
        {
            "width": st.floats(0.4, 1.2),
            "depth": st.floats(1.0, 4.0),
            "floor": st.sampled_from(["radius", "flat"]),
            "blind": st.sampled_from([0.0, 0.3, 3.0]),
        }
    ),
    binding=st.one_of(st.none(), st.floats(0.5, 3).map(lambda t: {"thickness": t})),
    nut=st.sampled_from([{}, NUT_IN_A_SLOT, {"fretboard.nut": "zero fret", "fretboard.behind": 5}]),
    diameter=st.one_of(st.none(), st.floats(1, 9)),
)
def test_any_valid_board_is_sound(
    radius, frets, beyond, scale, slots, binding, nut, diameter, wren
):
    changes = {
        "scale_length": scale,
        "neck.heel_end": 0.6 * scale,
        "neck.truss_rod": None,
        "fretboard.radius": radius,
        "fretboard.frets": frets,
        "fretboard.beyond_last_fret": beyond if frets else 0.7 * scale,
        "fretboard.slots": slots if frets else None,
        "fretboard.binding": binding,
        "fretboard.markers": diameter
        and {"frets": list(range(1, frets + 1, 2))[:8], "diameter": diameter},
        **nut,
    }
    try:
        shape, mesh = solid_of(wren, changes, 0.06)
    except DesignError:
        event("a contradiction in the design")  # the rules' own business
        return
    written = as_written(mesh)
    assert soundness(written).sound
    theirs = by_trimesh(written)
    assert theirs.is_watertight
    assert theirs.volume == pytest.approx(shape.volume(), abs=0.06 * theirs.area)


@pytest.fixture(scope="session")
def wren(request):
    """The example once for all random designs."""
    return load(request.config.rootpath / "examples" / "wren.toml")
