"""The body's volume, its wood through and its walls, reckoned by hand and by shapely."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from outlines import BLOCK
from scipy.spatial import cKDTree

from carve.design import with_values
from carve.errors import DesignError
from carve.parts.body import BODY
from carve.parts.job import shape_of
from carve.shape.body.thickness_map import least_wood, wood_grid
from carve.shape.body.volume import body_volume
from carve.shape.planar.grid import on_grid
from carve.shape.planar.rounded_polygon import CURVE_TOLERANCE


def box(name, x, y, length, width, depth, face="front", **more):
    sizes = {"x": x, "y": y, "length": length, "width": width, "depth": depth}
    return {"name": name, "shape": "rectangle", "face": face, **sizes, **more}


JACK = {
    **{"name": "jack", "x": 300.0, "y": 0.0, "angle": 180.0},
    **{"diameter": 20.0, "depth": 50.0, "below": 18.0},
}

WHOLE = 300 * 200 * 40


def test_pockets_that_overlap_are_taken_once(block):
    one, other = box("a", 100, 0, 60, 40, 10), box("b", 120, 0, 60, 40, 25)
    # together: the deeper one's 60 x 40 x 25, and of the other what it does not share, 20 x 40 x 10
    assert body_volume(block(one, other)) == pytest.approx(WHOLE - 60 * 40 * 25 - 20 * 40 * 10)


def test_a_recess_over_a_cavity_is_taken_once(block):
    cavity = box("cavity", 150, 0, 60, 40, 30, "back")
    recess = box("recess", 150, 0, 80, 60, 3, "back")
    assert body_volume(block(cavity, recess)) == pytest.approx(
        WHOLE - 80 * 60 * 3 - 60 * 40 * (30 - 3)
    )


def test_pockets_from_both_faces_that_meet_make_one_hole(block):
    one, other = box("a", 100, 0, 60, 40, 25), box("b", 120, 0, 60, 40, 25, "back")
    shared = 40 * 40 * 40 + 2 * 20 * 40 * 25
    assert body_volume(block(one, other)) == pytest.approx(WHOLE - shared)


def test_holes_go_through_and_count_once_in_a_pocket(block):
    hole = {"name": "hole", "shape": "circle", "x": 100.0, "diameter": 10.0, "depth": "through"}
    round_hole = math.pi * 25 * 40
    # plans are reckoned with chords, so walls stand out by no more than FINE
    assert body_volume(block(hole)) == pytest.approx(
        WHOLE - round_hole, abs=CURVE_TOLERANCE * 10 * math.pi * 40
    )
    pocket = box("a", 100, 0, 60, 40, 10)
    expected = WHOLE - 60 * 40 * 10 - math.pi * 25 * 30
    assert body_volume(block(pocket, hole)) == pytest.approx(
        expected, abs=CURVE_TOLERANCE * 10 * math.pi * 30
    )


def test_a_bore_takes_a_cylinder(block):
    assert body_volume(block(bores=[JACK])) == pytest.approx(WHOLE - math.pi * 100 * 50, abs=1.0)


def test_a_bore_into_a_pocket_takes_what_is_left_of_its_cylinder(block):
    # the pocket's wall is 30 mm in; its floor, at the bore's axis, leaves the lower half beyond
    pocket = box("a", 240, 0, 60, 60, 18)
    expected = WHOLE - 60 * 60 * 18 - math.pi * 100 * 30 - math.pi * 100 / 2 * 20
    assert body_volume(block(pocket, bores=[JACK])) == pytest.approx(expected, abs=1.0)


def test_a_sloping_floor_takes_a_wedge(block):
    # 50 mm of pocket in the wood, 15 mm deep at the edge, rising by tan 4 degrees
    neck = box("neck", 20, 0, 60, 50, 15.0, kind="neck", slope=4.0)
    rise = math.tan(math.radians(4.0))
    expected = WHOLE - 50 * 50 * (15 - rise * 25)
    assert body_volume(block(neck)) == pytest.approx(expected)


def test_a_chamber_leaves_rim_top_back_and_block(block):
    hollow = {"rim": 10.0, "top": 4.0, "back": 5.0, "centre_block": 60.0}
    chambers = 2 * 280 * (90 - 30) * 31
    shape = block(hollow=hollow)
    assert body_volume(shape) == pytest.approx(WHOLE - chambers)
    assert [cut.name for cut in shape.cuts] == ["chamber 1", "chamber 2"]
    hole = {"name": "hole", "kind": "sound hole", "shape": "circle", "depth": "through"}
    place = {"x": 150.0, "y": 60.0, "diameter": 40.0}
    with_hole = body_volume(block({**hole, **place}, hollow=hollow))
    walls = 40 * math.pi * 4
    assert with_hole == pytest.approx(
        WHOLE - chambers - math.pi * 400 * 4, abs=CURVE_TOLERANCE * walls
    )


def test_the_examples_volume_is_the_sum_of_many_thin_slices(linnet):
    # Cavalieri: the areas of many sections, by shapely, add up to the volume
    shape = shape_of(BODY, linnet)
    z = -shape.thickness * (np.arange(400) + 0.5) / 400
    slices = sum(shape.section(float(level)).area for level in z) * shape.thickness / 400
    assert body_volume(shape) == pytest.approx(slices, rel=2e-5)


def test_wood_through_the_body_is_what_lies_over_and_under_its_cuts(block):
    shape = block(
        box("front", 100, 0, 60, 40, 12),
        box("back", 110, 0, 20, 20, 20, "back"),
        bores=[{**JACK, "y": 60.0}],
    )
    points = np.array([[20.0, 0], [80, 0], [110, 0], [280, 60], [280, 66], [280, 75]])
    over_axis, beside = 18 - 10, 18 - 8.0  # the bore is 8 mm high 6 mm from its axis
    assert least_wood(shape, points) == pytest.approx([40, 28, 8, over_axis, beside, 40])


def test_the_map_is_the_wood_at_its_places(linnet):
    shape = shape_of(BODY, linnet)
    values, (x, y) = wood_grid(shape, 2.0)
    rows, columns = values.shape
    gx, gy = np.meshgrid(x + 2.0 * np.arange(columns), y + 2.0 * np.arange(rows))
    points = np.stack([gx.ravel(), gy.ravel()], 1)
    inside = shapely.contains_xy(shape.polygon, *points.T)
    clear = shapely.distance(shape.polygon.exterior, shapely.points(points)) > 0.1
    for taken in shape.removals:
        clear &= shapely.distance(taken.polygon.exterior, shapely.points(points)) > 0.1
    assert np.array_equal(np.isfinite(values.ravel())[clear], inside[clear])
    there = clear & inside
    assert values.ravel()[there] == pytest.approx(least_wood(shape, points[there]))


def test_a_grids_places_in_a_plan_are_those_shapely_finds():
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    away = np.where(np.arange(40) % 2, 17.3, 8.1)[:, None]
    star = np.stack([np.cos(turn), np.sin(turn)], 1) * away
    first, step, size = np.array([-20.0, -15.0]), 0.7, (44, 60)
    rows, columns = np.indices(size)
    gx, gy = first[0] + step * columns.ravel(), first[1] + step * rows.ravel()
    expected = np.flatnonzero(shapely.contains_xy(shapely.Polygon(star), gx, gy))
    assert np.array_equal(on_grid(star, first, step, size), expected)


def walls_of(shape):
    return {
        frozenset((shape.removals[w.one].name, shape.removals[w.other].name)): w
        for w in shape.walls
    }


def test_walls_side_by_side_are_as_thick_as_their_plans_are_apart(block):
    shape = block(box("a", 60, 0, 60, 40, 12), box("b", 120, 10, 50, 30, 20))
    (wall,) = shape.walls
    assert wall.wood == pytest.approx(95 - 90)
    assert not wall.over
    assert not wall.meets


def test_pockets_from_two_faces_are_as_far_apart_as_their_edges_in_space(block):
    # 3 mm apart from above and 4 mm in height: 5 mm from edge to edge
    shape = block(box("a", 60, 0, 60, 40, 16), box("b", 123, 0, 60, 40, 20, "back"))
    assert shape.walls[0].wood == pytest.approx(5.0)
    # one over the other: 4 mm straight down
    shape = block(box("a", 60, 0, 60, 40, 16), box("b", 80, 0, 60, 40, 20, "back"))
    assert shape.walls[0].wood == pytest.approx(4.0)
    assert shape.walls[0].over


def test_pockets_that_open_into_each_other_have_no_wall(block):
    shape = block(box("a", 60, 0, 60, 40, 22), box("b", 80, 0, 60, 40, 22, "back"))
    assert shape.walls[0].meets


def sampled_bore(y, z, radius, depth):
    """Points all over the skin of a bore that enters the block's tail at y and z."""
    u, turn = np.linspace(0, depth, 400), np.linspace(0, 2 * np.pi, 721)
    u, turn = (grid.ravel() for grid in np.meshgrid(u, turn))
    skin = np.stack([300 - u, y + radius * np.cos(turn), z + radius * np.sin(turn)], 1)
    share, turn = (g.ravel() for g in np.meshgrid(np.linspace(0, 1, 80), turn[::400]))
    flat = np.stack(
        [
            np.full_like(turn, 300 - depth),
            y + share * radius * np.cos(turn),
            z + share * radius * np.sin(turn),
        ],
        1,
    )
    return np.concatenate([skin, flat])


@pytest.mark.parametrize(
    ("y", "depth", "face", "high"),
    [
        (0.0, 50.0, "front", 6.0),  # under a pocket's floor
        (34.0, 50.0, "front", 6.0),  # beside it and lower
        (34.0, 50.0, "front", 30.0),  # beside it, level
        (0.0, 20.0, "front", 20.0),  # its end before the pocket's wall
        (38.0, 14.0, "front", 5.0),  # before, beside and below
        (5.0, 50.0, "back", 10.0),  # over a pocket from the back
    ],
)
def test_a_bore_is_as_far_from_a_pocket_as_its_skin_is(block, y, depth, face, high):
    shape = block(
        box("pocket", 240, 0, 60, 40, high, face),
        bores=[{**JACK, "y": y, "depth": depth}],
    )
    points = sampled_bore(y, -18.0, 10.0, depth)
    low, top = (-high, np.inf) if face == "front" else (-np.inf, high - 40)
    beside = shapely.distance(shapely.box(210, -20, 270, 20), shapely.points(points[:, :2]))
    gap = np.maximum(np.maximum(low - points[:, 2], points[:, 2] - top), 0.0)
    (wall,) = shape.walls
    assert wall.wood == pytest.approx(np.hypot(beside, gap).min(), abs=0.01)


def test_under_a_sloping_floor_there_is_never_less_wood_than_is_said(block):
    neck = box("neck", 20, 0, 60, 50, 15.0, kind="neck", slope=5.0)
    shape = block(neck, box("b", 30, 0, 20, 20, 12, "back"))
    (wall,) = shape.walls
    # from the cavity's ceiling at z = -28 to the plane through (0, -15): least at x = 20
    slope = math.tan(math.radians(5.0))
    x = np.linspace(20, 40, 201)
    exact = min((-15 + slope * at + 28) * math.cos(math.radians(5.0)) for at in x)
    assert wall.wood <= exact + 1e-9
    assert wall.wood == pytest.approx(exact, abs=0.01)


def skin_of(cut, thickness, step=0.5):
    """Points all over the walls, the floor and the ceiling of an upright cut within the body."""
    low, high = max(cut.low, -thickness), min(cut.high, 0.0)
    rim = shapely.get_coordinates(shapely.segmentize(cut.polygon.exterior, step))
    z = np.linspace(low, high, int((high - low) / step) + 2)
    walls = np.column_stack([np.repeat(rim, len(z), axis=0), np.tile(z, len(rim))])
    x0, y0, x1, y1 = cut.polygon.bounds
    gx, gy = np.meshgrid(np.arange(x0, x1, step), np.arange(y0, y1, step))
    flat = np.stack([gx.ravel(), gy.ravel()], 1)
    flat = flat[shapely.contains_xy(cut.polygon, *flat.T)]
    ends = [np.column_stack([flat, np.full(len(flat), end)]) for end in (low, high)]
    return np.concatenate([walls, *ends])


places = st.tuples(st.floats(40, 200), st.floats(-50, 50), st.floats(-90, 90))
sizes = st.tuples(st.floats(8, 40), st.floats(8, 40), st.floats(0, 1))


@settings(max_examples=30)
@given(
    one=places,
    other=places,
    size=sizes,
    size2=sizes,
    depths=st.tuples(*[st.floats(2, 30)] * 2),
    faces=st.tuples(*[st.sampled_from(["front", "back"])] * 2),
)
def test_walls_between_random_pockets_are_as_thick_as_their_skins_are_apart(
    linnet, one, other, size, size2, depths, faces
):
    # nearest neighbours among half a million points (scipy), which knows nothing of prisms
    pockets = [
        box(
            name,
            x,
            y,
            length,
            width,
            depth,
            face,
            angle=angle,
            corner_radius=max(share * min(length, width) / 2, 0.2),
        )
        for name, (x, y, angle), (length, width, share), depth, face in zip(
            "ab", (one, other), (size, size2), depths, faces, strict=True
        )
    ]
    changes = {"body.outline": BLOCK, "body.thickness": 40.0, "body.pockets": pockets}
    try:
        shape = shape_of(BODY, with_values(linnet, {**changes, "body.bores": []}))
    except DesignError:
        return
    (wall,) = shape.walls
    if wall.meets:
        return
    here, there = (skin_of(cut, 40.0) for cut in shape.cuts)
    found = float(cKDTree(here).query(there)[0].min())
    # between two places half a millimetre apart each way the skins may be nearer by a little
    assert wall.wood <= found + 1e-6
    assert found <= math.hypot(wall.wood, 0.72) + 0.02
