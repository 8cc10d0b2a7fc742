"""The body's files read back by libraries that are not ours: DXF by ezdxf, STL by trimesh."""

import json
import math

import ezdxf
import numpy as np
import pytest
import shapely
import trimesh
from scipy.interpolate import CubicSpline

from carve.design import load, read_text
from carve.export import export
from carve.parts.job import make
from carve.shape.views.body_drawings import body_section


@pytest.fixture(scope="module")
def file(request):
    return request.config.rootpath / "examples" / "linnet.toml"


@pytest.fixture(scope="module")
def job(file):
    return make(load(file))


@pytest.fixture(scope="module")
def folder(job, file, tmp_path_factory):
    folder = tmp_path_factory.mktemp("cut")
    export(job, folder, (file.name, read_text(file)))
    return folder


@pytest.fixture(scope="module")
def plan(folder):
    return ezdxf.readfile(folder / "linnet-body-from-above.dxf")


def on_layer(document, name):
    return list(document.modelspace().query(f'*[layer=="{name}"]'))


def ring(entity):
    assert entity.closed
    return shapely.Polygon(entity.get_points("xy"))


def test_the_plan_is_sound_and_in_millimetres(plan):
    assert plan.header["$INSUNITS"] == 4
    assert not plan.audit().errors


def test_the_outline_goes_through_the_points_of_the_file(plan, job):
    (outline,) = on_layer(plan, "BODY OUTLINE")
    points = shapely.points(job.design.body.outline.points)
    assert shapely.distance(ring(outline).exterior, points).max() < 0.011


def test_pockets_stand_on_layers_by_what_they_are_and_the_face_they_are_cut_from(plan):
    used = {entity.dxf.layer for entity in plan.modelspace()}
    assert used == {
        *("BODY OUTLINE", "NECK FROM FRONT", "PICKUP FROM FRONT", "POCKET FROM FRONT"),
        *("CONTROL FROM BACK", "COVER RECESS FROM BACK", "HOLE THROUGH", "SWITCH THROUGH"),
        *("SCREW HOLE FROM BACK", "BORES FROM THE SIDE", "CENTRE LINE"),
    }


def test_pickups_and_holes_are_where_and_as_large_as_asked(plan):
    neck, bridge = sorted(
        (ring(e) for e in on_layer(plan, "PICKUP FROM FRONT")), key=lambda r: r.centroid.x
    )
    assert neck.bounds == pytest.approx((66, -44, 104, 44), abs=0.01)
    assert (bridge.centroid.x, bridge.centroid.y) == pytest.approx((216, 0), abs=1e-6)
    area = 38 * 88 - (4 - math.pi) * 25
    assert [neck.area, bridge.area] == pytest.approx([area, area], rel=1e-4)
    holes = on_layer(plan, "HOLE THROUGH")
    assert {e.dxftype() for e in holes} == {"CIRCLE"}
    assert sorted(e.dxf.radius for e in holes) == pytest.approx([2.5] * 4 + [4.8] * 2)


def test_the_necks_pocket_runs_out_of_the_outline(plan):
    (pocket,) = on_layer(plan, "NECK FROM FRONT")
    (outline,) = on_layer(plan, "BODY OUTLINE")
    outside = ring(pocket).difference(ring(outline))
    assert outside.bounds[0] < -2.0
    assert shapely.get_num_geometries(ring(pocket).intersection(ring(outline))) == 1


def test_the_section_along_the_centre_line_has_the_depths_of_its_pockets(folder):
    document = ezdxf.readfile(folder / "linnet-body-along-the-centre-line.dxf")
    wood = shapely.union_all([ring(e) for e in on_layer(document, "WOOD")])
    heights = np.round(shapely.get_coordinates(wood)[:, 1], 6)
    wires = {-11.4 + 3.5, -11.4 - 3.5}  # top and bottom of the bore between the pickups
    assert set(heights) == {0.0, -15.1, -19.0, -44.0, *np.round(list(wires), 6)}


@pytest.mark.parametrize(
    "line",
    [
        ((-90.0, 0.0), (390.0, 0.0)),
        ((250.0, -160.0), (250.0, 165.0)),
        ((300.0, 60.0), (345.0, 140.0)),
        ((-20.0, -100.0), (330.0, 120.0)),
    ],
)
def test_any_section_is_what_trimesh_cuts_out_of_the_mesh(job, line):
    (body,) = (part for part in job.parts if part.name == "body")
    mesh = trimesh.Trimesh(body.mesh.points, body.mesh.triangles, process=False)
    start, along = np.array(line[0]), np.subtract(line[1], line[0])
    along = along / np.hypot(*along)
    normal = np.array([-along[1], along[0], 0.0])
    segments = trimesh.intersections.mesh_plane(mesh, normal, [*start, 0.0])
    flat = np.stack([(segments[..., :2] - start) @ along, segments[..., 2]], axis=-1)
    rings = shapely.polygonize([shapely.union_all(shapely.linestrings(np.round(flat, 5)))])
    # a place in the middle of each ring says whether it is wood: the mesh holds it or not
    parts = [part for part in shapely.get_parts(rings) if part.area > 1.0]
    spots = np.array([part.representative_point().coords[0] for part in parts])
    inside = mesh.contains(np.column_stack([start + spots[:, :1] * along, spots[:, 1]]))
    cut = shapely.union_all([part for part, wood in zip(parts, inside, strict=True) if wood])
    cut = shapely.intersection(cut, shapely.box(0, -60, math.dist(*line), 10))
    ours = body_section(body.shape, line)
    assert ours.symmetric_difference(cut).area < 0.001 * ours.area


def test_the_manifest_says_in_which_frame_each_part_lies(folder):
    manifest = json.loads((folder / "linnet-manifest.json").read_text(encoding="utf-8"))
    frames = {entry["part"]: entry["frame"] for entry in manifest["parts"]}
    assert frames["neck"] == frames["fretboard"] == manifest["frame"]
    assert "body's edge where the neck meets it" in frames["body"]
    (body,) = (entry for entry in manifest["parts"] if entry["part"] == "body")
    assert body["highest"][2] == 0.0
    assert body["lowest"][2] == -44.0


def test_the_stl_is_in_the_bodys_frame(folder, job):
    mesh = trimesh.load(folder / "linnet-body.stl")
    assert mesh.is_watertight
    assert mesh.bounds[:, 2] == pytest.approx([-44.0, 0.0])
    # scipy's periodic spline through the design's points, by the square roots of their distances
    points = np.array([*job.design.body.outline.points, job.design.body.outline.points[0]])
    knots = np.cumsum([0.0, *np.sqrt(np.hypot(*np.diff(points, axis=0).T))])
    drawn = CubicSpline(knots, points, bc_type="periodic")(np.linspace(0, knots[-1], 20_000))
    assert mesh.bounds[:, :2] == pytest.approx(np.array([drawn.min(0), drawn.max(0)]), abs=0.02)


def test_the_side_view_shows_the_body_under_the_neck(folder):
    document = ezdxf.readfile(folder / "linnet-side-view.dxf")
    # in pieces, since a bore for wires runs along it
    wood = shapely.union_all([ring(e) for e in on_layer(document, "BODY")])
    assert wood.bounds == pytest.approx((0, -44, 388, 0), abs=0.2)
    # the neck stands in it: 53.03 mm from the body's edge to the heel's end, 15.1 mm down
    assert not wood.contains(shapely.Point(40, -10))
    assert wood.contains(shapely.Point(40, -16))
