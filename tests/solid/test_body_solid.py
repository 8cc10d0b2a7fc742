"""The body's mesh against trimesh: closed, as large as asked, and as thick as the map says."""

import math

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from carve.design import load, with_values
from carve.errors import DesignError
from carve.parts.body import BODY
from carve.parts.job import make, shape_of
from carve.parts.neck import NECK
from carve.shape.body.thickness_map import least_wood, wood_grid
from carve.shape.body.volume import body_volume
from carve.solid.as_written import as_written
from carve.solid.body import BACK, SIDES, TOP, body_solid, surface_of
from carve.solid.kit.prism import Skin, flat_skin, solid_between
from carve.solid.mesh import soundness


@pytest.fixture(scope="module")
def linnet(request):
    return load(request.config.rootpath / "examples" / "linnet.toml")


@pytest.fixture(scope="module")
def body(linnet):
    (part,) = make(linnet, 0.02, only=["body"]).parts
    return part


def loaded(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


def test_the_body_is_watertight_and_its_volume_is_the_shapes(body):
    mesh = loaded(as_written(body.mesh))
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    # a skin nowhere further off than e misses no more than e times its area
    assert mesh.volume == pytest.approx(body.integral, abs=0.025 * mesh.area)


def test_top_back_and_sides_are_where_they_are_asked(body):
    assert np.all(body.mesh.only(TOP).points[:, 2] == 0.0)
    assert np.all(body.mesh.only(BACK).points[:, 2] == -44.0)
    sides = shapely.points(body.mesh.only(SIDES).points[:, :2])
    away = shapely.distance(body.shape.polygon.exterior, sides)
    # corners of the mesh lie on the outline, and where a pocket runs out of it on a chord
    assert away.max() <= body.chord_error + 0.005


@pytest.mark.parametrize("number", range(19))
def test_each_cut_has_a_surface_with_its_floor_and_its_walls(body, number):
    taken = body.shape.removals[number]
    points = body.mesh.only(surface_of(taken)).points
    rim = taken.polygon.exterior
    if number == 18:
        off = np.hypot((points[:, :2] - taken.start) @ taken.aside, points[:, 2] - taken.axis)
        assert off.max() <= taken.radius + 1e-9
        return
    assert shapely.distance(taken.polygon, shapely.points(points[:, :2])).max() < 0.006
    floor = taken.low if math.isfinite(taken.low) else -44.0
    ceiling = taken.high if math.isfinite(taken.high) else 0.0
    assert points[:, 2].min() >= floor - 1e-9
    assert points[:, 2].max() <= ceiling + 1e-9
    assert shapely.distance(rim, shapely.points(points[:, :2])).min() < 0.006


def cast(mesh, points):
    """Least thickness of wood along z over points (n, 2), by rays through a mesh."""
    origins = np.column_stack([points, np.full(len(points), 10.0)])
    down = np.tile([0.0, 0.0, -1.0], (len(points), 1))
    where, rays, _ = loaded(mesh).ray.intersects_location(origins, down, multiple_hits=True)
    found = []
    for number in range(len(points)):
        z = np.unique(np.round(where[rays == number, 2], 7))
        gaps = -np.diff(z[::-1])[::2]
        found.append(gaps.min() if len(gaps) else 0.0)
    return np.array(found)


def clear_places(shape, count, seed, clear=0.3):
    """Places in the outline that lie clear of every wall, where a ray could run along it."""
    generator = np.random.default_rng(seed)
    x0, y0, x1, y1 = shape.polygon.bounds
    points = generator.uniform((x0, y0), (x1, y1), (count, 2))
    points = points[shapely.contains_xy(shape.polygon, *points.T)]
    spots = shapely.points(points)
    away = [shapely.distance(shape.polygon.exterior, spots)]
    away += [shapely.distance(taken.polygon.exterior, spots) for taken in shape.removals]
    return points[np.min(away, axis=0) > clear]


def test_the_map_says_what_rays_through_the_mesh_find(body):
    values, (x, y) = wood_grid(body.shape)
    points = clear_places(body.shape, 1200, 1)
    # at the map's own places, each the nearest to one of these
    column, row = np.rint(points - [x, y]).astype(int).T
    places = np.stack([x + column, y + row], 1)
    again = shapely.points(places)
    rims = [body.shape.polygon.exterior, *(t.polygon.exterior for t in body.shape.removals)]
    clear = np.min([shapely.distance(rim, again) for rim in rims], axis=0) > 0.3
    places, row, column = places[clear], row[clear], column[clear]
    assert len(places) > 500
    rays = cast(body.mesh, places)
    found = values[row, column]
    bores = shapely.union_all([bore.polygon for bore in body.shape.bores])
    bored = shapely.contains_xy(bores, *places.T)
    assert found[~bored] == pytest.approx(rays[~bored], abs=1e-6)
    # the bore's facets lie within the round hole by up to a chord's error, square to its wall
    assert found[bored] == pytest.approx(rays[bored], abs=0.15)
    assert bored.sum() > 5


def test_a_hollow_body_is_sound_and_as_thick_as_its_plates(linnet):
    hollow = {"rim": 9.0, "top": 4.0, "back": 3.5, "centre_block": 110.0}
    hole = {"name": "hole", "kind": "sound hole", "shape": "slot", "depth": "through"}
    place = {"x": 200.0, "y": -100.0, "length": 90.0, "width": 25.0}
    changes = {"body.pockets": [{**hole, **place}], "body.bores": [], "body.hollow": hollow}
    (part,) = make(with_values(linnet, changes), 0.05, only=["body"]).parts
    mesh = loaded(as_written(part.mesh))
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(part.integral, abs=0.06 * mesh.area)
    points = clear_places(part.shape, 600, 2)
    rays = cast(part.mesh, points)
    assert least_wood(part.shape, points) == pytest.approx(rays, abs=1e-6)
    assert {3.5, 44.0} <= set(np.round(rays, 6))
    # the chamber on the treble side has no hole: a closed skin within the body's
    assert mesh.body_count == 2


def test_a_neck_that_leans_back_has_a_pocket_that_slopes_with_it(linnet):
    changes = {"joint": {"at": "fret 16", "angle": 3.0}, "body.pockets[0].depth": 17.0}
    changes |= {"bridge.height_highest": 40.0, "body.bores": []}
    (part,) = make(with_values(linnet, changes), 0.02, only=["body"]).parts
    points = part.mesh.only("neck pocket (neck)").points
    floor = points[points[:, 2] < -12]
    slope = np.polyfit(floor[:, 0], floor[:, 2], 1)
    assert math.degrees(math.atan(slope[0])) == pytest.approx(3.0, abs=1e-3)
    assert slope[1] == pytest.approx(-17.0, abs=1e-3)
    mesh = loaded(as_written(part.mesh))
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(part.integral, abs=0.025 * mesh.area)


def test_the_heel_goes_into_its_pocket_and_no_wood_meets(linnet):
    # the two meshes put together as they will stand share no volume (boolean by trimesh)
    neck, body = make(linnet, 0.05, only=["neck", "body"]).parts
    placed = loaded(body.mesh).apply_transform(
        BODY.to_instrument(linnet, BODY.instances(linnet)[0])
    )
    shared = trimesh.boolean.intersection([loaded(neck.mesh), placed], engine="manifold")
    assert shared.is_empty or abs(shared.volume) < 1e-6
    # and the heel stands on the floor but for its film of 0.1 mm
    heel = neck.mesh.points[neck.mesh.points[:, 0] > 400]
    floor = placed.vertices[np.isclose(body.mesh.points[:, 2], -15.1)]
    assert heel[:, 2].min() - floor[:, 2].max() == pytest.approx(0.1, abs=1e-6)


@pytest.mark.parametrize("angle", [0.0, 2.5])
@pytest.mark.parametrize("lean", [0.0, 3.0])
def test_a_tenon_goes_into_its_mortise_and_stands_on_its_floor(linnet, angle, lean):
    tenon = {"kind": "tenon", "length": 54.5, "depth": 20.0, "blend": 38.0, "width": 42.0}
    changes = {
        "neck.heel": {**tenon, "angle": angle},
        "neck.truss_rod.end": "fret 15",
        "joint": {"at": "fret 16", "angle": lean, "height": 3.0, "glue_line": 0.1},
        "bridge": {"height_lowest": 5.0, "height_highest": 40.0},
        "body.pockets[0].bolts": None,
        "body.outline": {"points": [[0, -90], [380, -90], [380, 140], [0, 140]]},
        # so deep that the tenon's back, straight down, lies on its floor
        "body.pockets[0].depth": 20.0 / math.cos(math.radians(lean)) - 3.0,
    }
    design = with_values(linnet, changes)
    neck, body = make(design, 0.03, only=["neck", "body"]).parts
    mesh = loaded(body.mesh)
    assert mesh.is_watertight
    placed = loaded(neck.mesh).apply_transform(
        np.linalg.inv(BODY.to_instrument(design, BODY.instances(design)[0]))
    )
    shared = trimesh.boolean.intersection([placed, mesh], engine="manifold")
    # faces that lie in one plane share nothing, but for rounding; wood would share cubic mm
    assert shared.is_empty or abs(shared.volume) < 0.01
    # lowered by less than the film of a plane it meets the floor over all of the tenon's back
    sunk = placed.copy().apply_translation([0.0, 0.0, -0.05])
    sunk = trimesh.boolean.intersection([sunk, mesh], engine="manifold")
    back = 42.0 * 53.0 - math.tan(math.radians(angle)) * 53.0**2
    assert sunk.volume == pytest.approx(back * 0.05, rel=0.03)


@pytest.mark.parametrize("angle", [0.0, 3.0])
def test_bolts_go_through_body_and_heel_in_one(linnet, angle):
    # where a hole of the heel comes out of its back, a hole of the body goes on
    changes = {"joint": {"at": "fret 16", "angle": angle}, "bridge.height_highest": 40.0}
    design = with_values(linnet, changes)
    shape, forth = (
        shape_of(BODY, design),
        np.linalg.inv(BODY.to_instrument(design, BODY.instances(design)[0])),
    )
    neck = shape_of(NECK, design)
    bolts = [cut for cut in shape.cuts if "bolt" in cut.name]
    assert len(bolts) == 4
    for hole, bolt in zip(neck.heel.holes, bolts, strict=True):
        x, y, _ = (forth @ [hole.x, hole.y, -neck.heel.depth, 1.0])[:3]
        assert bolt.plan.circle is not None
        assert bolt.plan.circle[:2] == pytest.approx([x, y])


def test_any_two_faces_over_one_plan_make_a_closed_mesh():
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    plan = np.stack([60 * np.cos(turn), 40 * np.sin(turn)], 1)
    dome = Skin(
        np.vstack([np.column_stack([plan, np.zeros(24)]), [[0.0, 0.0, 15.0]]]),
        np.stack([np.arange(24), np.roll(np.arange(24), -1), np.full(24, 24)], 1),
    )
    mesh = loaded(solid_between(24, dome, flat_skin(plan, -10.0), ("top", "back", "sides")))
    assert mesh.is_watertight
    base = shapely.Polygon(plan).area
    # a prism with a pyramid on it: base times height, and a third of base times height
    assert mesh.volume == pytest.approx(base * 10 + base * 15 / 3)


# Random bodies

sizes = st.floats(5, 60)


@st.composite
def random_pockets(draw):
    found = []
    for number in range(draw(st.integers(1, 6))):
        shape = draw(st.sampled_from(["rectangle", "slot", "circle", "polygon"]))
        pocket = {
            "name": f"p{number}",
            "shape": shape,
            "face": draw(st.sampled_from(["front", "back"])),
            "x": draw(st.floats(110, 230)),
            "y": draw(st.floats(-60, 60)),
            "angle": draw(st.floats(-180, 180)),
            "depth": draw(st.one_of(st.floats(0.5, 43), st.just("through"))),
        }
        if shape == "circle":
            pocket["diameter"] = draw(sizes)
        elif shape == "polygon":
            count = draw(st.integers(3, 7))
            turn = (np.arange(count) + draw(st.floats(0, 0.8))) / count * 2 * np.pi
            away = draw(st.floats(8, 40))
            pocket["points"] = [[away * math.cos(t), away * math.sin(t)] for t in turn]
        else:
            pocket["length"], pocket["width"] = draw(sizes), draw(sizes)
            if shape == "rectangle":
                pocket["corner_radius"] = (
                    draw(st.floats(0, 1)) * min(pocket["length"], pocket["width"]) / 2
                )
        found.append(pocket)
    return found


@st.composite
def random_outline(draw):
    count = draw(st.integers(6, 16))
    away = draw(st.lists(st.floats(110, 200), min_size=count, max_size=count))
    turn = np.arange(count) / count * 2 * np.pi
    return [[170 + a * math.cos(t), a * math.sin(t)] for a, t in zip(away, turn, strict=True)]


bores = st.lists(
    st.fixed_dictionaries(
        {
            "name": st.just("jack"),
            "x": st.floats(100, 240),
            "y": st.floats(-80, 80),
            "angle": st.floats(-180, 180),
            "diameter": st.floats(3, 25),
            "depth": st.floats(5, 120),
            "below": st.floats(13, 31),
        }
    ),
    max_size=1,
)
hollows = st.one_of(
    st.none(),
    st.none(),
    st.fixed_dictionaries(
        {
            "rim": st.floats(4, 30),
            "top": st.floats(2, 8),
            "back": st.floats(2, 8),
            "centre_block": st.one_of(st.none(), st.floats(20, 120)),
        }
    ),
)


@settings(
    max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)
@given(
    outline=random_outline(),
    pockets=random_pockets(),
    bore=bores,
    hollow=hollows,
    smooth=st.booleans(),
)
def test_random_bodies_are_sound_and_as_large_as_their_shapes(
    linnet, outline, pockets, bore, hollow, smooth
):
    changes = {
        "body.outline": {"points": outline, "smooth": smooth},
        "body.pockets": pockets,
        "body.bores": bore,
        "body.hollow": hollow,
    }
    try:
        shape = shape_of(BODY, with_values(linnet, changes))
    except DesignError:
        return  # what is said then is another test's business
    mesh, error = body_solid(shape, 0.05)
    assert error <= 0.05
    written = as_written(mesh)
    assert soundness(written).sound
    outside = loaded(written)
    assert outside.is_watertight
    assert outside.volume == pytest.approx(body_volume(shape), abs=0.06 * outside.area)
    points = clear_places(shape, 60, 3, clear=0.5)
    if len(points):
        assert least_wood(shape, points) == pytest.approx(cast(mesh, points), abs=0.15)


def test_the_body_is_made_again_only_when_something_of_its_own_changes(linnet):
    def made(changes):
        return make(with_values(linnet, changes), 0.05, only=["body"]).parts[0].mesh

    first = made({})
    for same in ({"action.bass": 2.0}, {"neck.stations[0].thickness": 21.0}, {"joint.height": 3.9}):
        assert made(same) is first
    for other in ({"neck.heel.length": 61.0}, {"joint.at": "fret 15"}, {"body.thickness": 43.0}):
        assert made(other) is not first
