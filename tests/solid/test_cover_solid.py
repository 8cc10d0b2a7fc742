"""Covers as meshes, by trimesh: closed, as large as asked, and lying in the body without touching.

Areas are shapely's, intersections manifold's by trimesh.
"""

import numpy as np
import pytest
import shapely
import svgelements
import trimesh
from covers import COVER, SCREWS, SHAPES, THICK, cavity, drawn, recess, slab
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from carve.design import load
from carve.errors import DesignError
from carve.parts.job import make
from carve.shape.assembly.frames import inverse_rigid, moved
from carve.shape.body.pocket_plans import PocketOnBody, pocket_plans
from carve.solid.as_written import as_written
from carve.solid.cover import INSIDE, OUTSIDE
from carve.solid.mesh import soundness

CHORD = 0.02


@pytest.fixture(scope="module")
def linnet(request):
    return load(request.config.rootpath / "examples" / "linnet.toml")


def loaded(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


def in_body(job, body, cover):
    """The cover's mesh moved by both parts' own frames into the body's."""
    way = inverse_rigid(body.to_instrument(job.design)) @ cover.to_instrument(job.design)
    return trimesh.Trimesh(moved(cover.mesh.points, way), cover.mesh.triangles, process=False)


def lies_free(job, body, cover):
    """That a cover shares no volume with the body and does when it is let sink."""
    placed, wood = in_body(job, body, cover), loaded(body.mesh)
    shared = trimesh.boolean.intersection([placed, wood], engine="manifold")
    assert shared.is_empty or abs(shared.volume) < 0.05  # its inside rests on the floor: a plane
    sunk = placed.copy().apply_translation([0, 0, -0.1 * cover.shape.up])
    assert trimesh.boolean.intersection([sunk, wood], engine="manifold").volume > 1.0


@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize("head", [None, 6.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_a_cover_of_any_recess_is_closed_and_lies_in_it(linnet, shape, head, face):
    screws = {**SCREWS, **({"head": head} if head else {})}
    keys = {**SHAPES[shape], "face": face}
    pocket = recess("controls cover", 150.0, 20.0, {"gap": 0.3, "screws": screws}, **keys)
    hole = cavity("controls", 150.0, 20.0, face=face, length=30.0, width=10.0)
    job = make(slab(linnet, hole, pocket), CHORD, only=["body", "cover-controls"])
    body, cover = job.parts
    mesh = loaded(as_written(cover.mesh))
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert mesh.euler_number == 2 - 2 * 4  # four holes through it
    assert mesh.volume == pytest.approx(cover.shape.volume(), abs=CHORD * mesh.area)
    assert cover.chord_error <= CHORD
    lies_free(job, body, cover)
    # flush with the slab's face, and all of it within the recess in plan
    placed = in_body(job, body, cover)
    outside = 0.0 if face == "front" else -THICK
    assert (placed.bounds[1] if face == "front" else placed.bounds[0])[2] == pytest.approx(outside)
    (plan,) = pocket_plans(PocketOnBody(job.design.body.pockets[1], "body.pockets[1]"))
    wall = shapely.Polygon(plan.points(0.001))
    plan = shapely.MultiPoint(placed.vertices[:, :2])
    assert wall.exterior.distance(plan) == pytest.approx(0.3, abs=2 * CHORD)
    assert wall.contains(plan)


def test_the_volume_is_shapelys_area_times_thickness_less_holes(linnet):
    job = make(slab(linnet, recess("lid", 150.0, 0.0)), 0.002, only=["cover-lid"])
    (cover,) = job.parts
    plan = shapely.box(-40, -25, 40, 25).buffer(-6).buffer(6, quad_segs=512).buffer(-0.3)
    holes = 4 * np.pi * 1.5**2
    assert loaded(cover.mesh).volume == pytest.approx((plan.area - holes) * 2.5, rel=1e-4)


def test_its_two_sides_are_what_each_clamping_reaches(linnet):
    screws = {**SCREWS, "head": 6.0}
    for face, side in (("front", "front"), ("back", "back")):
        pocket = recess("lid", 150.0, 0.0, {"gap": 0.3, "screws": screws}, face=face)
        (cover,) = make(slab(linnet, pocket), CHORD, only=["cover-lid"]).parts
        faces = cover.type.faces(cover.shape)
        other = "back" if side == "front" else "front"
        assert OUTSIDE in faces.named(cover.mesh, side)
        assert "countersink 1" in faces.named(cover.mesh, side)
        assert INSIDE not in faces.named(cover.mesh, side)
        assert INSIDE in faces.named(cover.mesh, other)
        assert "countersink 1" not in faces.named(cover.mesh, other)
        # the outside looks out of the body: up from the front, down from the back
        normals = loaded(cover.mesh.only(OUTSIDE)).face_normals
        assert np.allclose(normals, [0, 0, 1 if face == "front" else -1])


def test_a_countersink_is_a_cone_of_its_angle(linnet):
    screws = {**SCREWS, "head": 6.0, "head_angle": 82.0}
    pocket = recess("lid", 150.0, 0.0, {"gap": 0.3, "screws": screws}, face="front")
    (cover,) = make(slab(linnet, pocket), 0.005, only=["cover-lid"]).parts
    cone = cover.mesh.only("countersink 1").points
    depth = np.ptp(cone[:, 2])
    assert 2 * np.degrees(np.arctan(1.5 / depth)) == pytest.approx(82.0)
    assert cone[:, 2].max() == 0.0


CURVED = [
    "M -60 60 C -60 30 10 30 10 60 C 10 80 20 90 10 120 C 0 140 -60 130 -60 60 Z",
    "M -50 200 H 40 V 250 Q -5 230 -50 250 Z",  # a hollow side and sharp corners
    "M 90 300 A 30 30 0 0 1 30 300 A 30 30 0 0 1 90 300 Z",  # a circle
]


def test_each_closed_curve_of_a_drawn_recess_has_a_cover_of_its_own(linnet):
    job = make(drawn(linnet, CURVED), CHORD)
    body = next(part for part in job.parts if part.name == "body")
    covers = [part for part in job.parts if part.name.startswith("cover")]
    assert [part.name for part in covers] == ["cover-hatch-1", "cover-hatch-2", "cover-hatch-3"]
    assert len({part.instance for part in covers}) == 3
    assert {part.instance.key for part in covers} == {"body.pockets[0].cover"}
    assert covers[2].shape.plan.circle is not None
    for cover in covers:
        assert loaded(as_written(cover.mesh)).is_watertight
        assert cover.chord_error <= CHORD
        lies_free(job, body, cover)


@pytest.mark.parametrize("gap", [0.05, 0.5, 2.0])
@pytest.mark.parametrize("chord", [0.001, 0.02, 0.1])
def test_a_drawn_covers_chords_keep_to_the_error_they_say(linnet, gap, chord):
    # svgelements' own points of the drawing, whose page is the body seen with its neck up
    design = drawn(linnet, CURVED[:2], cover={"gap": gap})
    parts = make(design, chord, only=["cover-hatch-1", "cover-hatch-2"]).parts
    for part, path in zip(parts, CURVED, strict=False):
        page = svgelements.Path(path).npoint(np.linspace(0, 1, 20_001))
        edge = shapely.segmentize(shapely.LinearRing(part.shape.plan.points(chord)), 0.2)
        places = shapely.points(shapely.get_coordinates(edge))
        away = shapely.distance(shapely.LinearRing(page[:, ::-1]), places)
        assert np.abs(away - gap).max() <= part.chord_error + 5e-5
        assert part.chord_error <= chord


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    corners=st.lists(st.floats(25.0, 60.0), min_size=3, max_size=8),
    radius=st.sampled_from([0.0, 0.3, 3.0, 6.0]),
    gap=st.floats(0.05, 2.0),
    count=st.integers(1, 6),
    head=st.sampled_from([None, 5.0]),
    turn=st.floats(-180, 180),
)
def test_any_polygons_cover_is_closed_and_lies_free(
    linnet, corners, radius, gap, count, head, turn
):
    angle = 2 * np.pi * np.arange(len(corners)) / len(corners)
    points = (np.array(corners)[:, None] * np.stack([np.cos(angle), np.sin(angle)], 1)).tolist()
    screws = {**SCREWS, "count": count, **({"head": head} if head else {})}
    keys = {"shape": "polygon", "points": points, "angle": turn, "corner_radius": radius}
    pocket = recess("lid", 150.0, 0.0, {**COVER, "gap": gap, "screws": screws}, **keys)
    try:
        job = make(slab(linnet, pocket), CHORD, only=["body", "cover-lid"])
    except DesignError:
        return  # round corners, or screws, that find no room
    body, cover = job.parts
    mesh = loaded(as_written(cover.mesh))
    assert mesh.is_watertight
    assert soundness(cover.written).sound
    area = shapely.Polygon(cover.shape.plan.points(0.0005)).area
    sink = 0.0 if head is None else np.pi * 1.0 * ((2.5**2 + 2.5 * 1.5 + 1.5**2) / 3 - 1.5**2)
    whole = (area - count * np.pi * 1.5**2) * 2.5 - count * sink
    assert mesh.volume == pytest.approx(whole, abs=CHORD * mesh.area)
    lies_free(job, body, cover)
