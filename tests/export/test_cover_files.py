"""The covers' files read back by libraries that are not ours: DXF by ezdxf, STL by trimesh."""

import json
import xml.etree.ElementTree as ET

import ezdxf
import numpy as np
import pdfplumber
import pytest
import shapely
import trimesh

from carve.design import load, parse, read_text, with_values
from carve.export import export
from carve.parts.job import make

NAME = "linnet-cover-controls"


@pytest.fixture(scope="module")
def file(request):
    return request.config.rootpath / "examples" / "linnet.toml"


@pytest.fixture(scope="module")
def folders(file, tmp_path_factory):
    """The example exported for either hand."""
    found = {}
    for hand in ("right", "left"):
        design = with_values(load(file), {"handed": hand})
        found[hand] = tmp_path_factory.mktemp(hand)
        job = make(design, 0.02, only=["body", "cover-controls"])
        export(job, found[hand], (file.name, read_text(file)))
    return found


@pytest.fixture(scope="module")
def folder(folders):
    return folders["right"]


def on_layer(document, name):
    return list(document.modelspace().query(f'*[layer=="{name}"]'))


def ring(entity):
    assert entity.closed
    return shapely.Polygon(entity.get_points("xy"))


def holes(document, name):
    return {(round(e.dxf.center.x, 4), round(e.dxf.center.y, 4)) for e in on_layer(document, name)}


def test_the_cover_has_every_file_that_a_part_has(folder):
    there = {path.name.removeprefix(NAME) for path in folder.glob(f"{NAME}*")}
    views = {f"-{view}.{kind}" for view in ("from-above", "from-behind") for kind in
             ("dxf", "svg", "pdf")}  # fmt: skip
    assert there == {".stl", "-front.stl", "-back.stl", *views}


def test_the_outline_and_its_holes_stand_on_layers_of_their_own(folder):
    plan = ezdxf.readfile(folder / f"{NAME}-from-above.dxf")
    assert plan.header["$INSUNITS"] == 4
    assert not plan.audit().errors
    used = {entity.dxf.layer for entity in plan.modelspace()}
    assert used == {"COVER OUTLINE", "SCREW HOLES", "COUNTERSINKS", "CENTRE LINE"}
    radii = {name: {e.dxf.radius for e in on_layer(plan, name)}
             for name in ("SCREW HOLES", "COUNTERSINKS")}  # fmt: skip
    assert radii == {"SCREW HOLES": {1.5}, "COUNTERSINKS": {2.7}}
    assert holes(plan, "SCREW HOLES") == holes(plan, "COUNTERSINKS")


def test_the_outline_is_shapelys_offset_of_the_recess_in_the_bodys_drawing(folder):
    body = ezdxf.readfile(folder / "linnet-body-from-above.dxf")
    plan = ezdxf.readfile(folder / f"{NAME}-from-above.dxf")
    (recess,) = (ring(e) for e in on_layer(body, "COVER RECESS FROM BACK"))
    (cover,) = (ring(e) for e in on_layer(plan, "COVER OUTLINE"))
    asked = recess.buffer(-0.3, quad_segs=64)
    # the drawing's origin is the middle of the box around the cover
    x0, y0, x1, y1 = asked.bounds
    centred = shapely.affinity.translate(asked, -(x0 + x1) / 2, -(y0 + y1) / 2)
    assert shapely.hausdorff_distance(cover.exterior, centred.exterior) < 0.03
    # and its holes lie over the body's, of 2 mm
    pilots = on_layer(body, "SCREW HOLE FROM BACK")
    assert {e.dxf.radius for e in pilots} == {1.0}
    over = {(round(x + (x0 + x1) / 2, 1), round(y + (y0 + y1) / 2, 1))
            for x, y in holes(plan, "SCREW HOLES")}  # fmt: skip
    assert over == {(round(e.dxf.center.x, 1), round(e.dxf.center.y, 1)) for e in pilots}


def test_the_view_from_behind_is_the_other_way_round(folder):
    above, behind = (
        ezdxf.readfile(folder / f"{NAME}-from-{view}.dxf") for view in ("above", "behind")
    )
    assert holes(behind, "SCREW HOLES") == {(x, -y) for x, y in holes(above, "SCREW HOLES")}


def test_the_mesh_is_a_plate_and_lies_under_its_drawing(folder):
    mesh = trimesh.load_mesh(folder / f"{NAME}.stl")
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    # the outside of a back's cover looks down and lies at its frame's zero
    assert mesh.bounds[:, 2] == pytest.approx([0.0, 2.5])
    plan = ezdxf.readfile(folder / f"{NAME}-from-above.dxf")
    (cover,) = (ring(e) for e in on_layer(plan, "COVER OUTLINE"))
    cut = trimesh.intersections.mesh_plane(mesh, [0.0, 0, 1], [0.0, 0, 2.4])[:, :, :2]
    lines = shapely.set_precision(shapely.multilinestrings(shapely.linestrings(cut)), 1e-5)
    whole = max(shapely.polygonize(shapely.get_parts(lines)).geoms, key=shapely.area)
    middle, area = shapely.Polygon(whole.exterior), whole
    assert middle.area == pytest.approx(cover.area, abs=0.03 * cover.length)
    assert len(area.interiors) == 5
    assert area.area == pytest.approx(cover.area - 5 * np.pi * 1.5**2, abs=0.03 * cover.length)


def test_the_sides_overlap_on_the_walls_alone(folder):
    whole, front, back = (
        trimesh.load_mesh(folder / f"{NAME}{side}.stl") for side in ("", "-front", "-back")
    )
    level = np.abs(whole.face_normals[:, 2]) > 0.999
    upright = np.abs(whole.face_normals[:, 2]) < 0.001
    inside = level & (whole.triangles_center[:, 2] > 1)
    assert front.area == pytest.approx(whole.area_faces[upright | inside].sum(), rel=1e-5)
    assert back.area == pytest.approx(whole.area_faces[~inside].sum(), rel=1e-5)


def test_the_manifest_tells_of_the_cover(folder):
    manifest = json.loads((folder / "linnet-manifest.json").read_text(encoding="utf-8"))
    (entry,) = (part for part in manifest["parts"] if part["part"] == "cover-controls")
    assert "origin in the middle of the box around the cover" in entry["frame"]
    mesh = trimesh.load_mesh(folder / entry["file"])
    assert entry["volume"] == pytest.approx(mesh.volume, rel=1e-6)
    assert entry["size"] == pytest.approx(mesh.extents, abs=1e-5)
    faces = {face["face"]: set(face["surfaces"]) for face in entry["faces"]}
    assert faces["front"] - faces["back"] == {"inside"}
    assert faces["back"] - faces["front"] == {"outside", *(f"countersink {n}" for n in range(1, 6))}
    found = {one["check"] for one in manifest["findings"] if one["part"] == "cover-controls"}
    assert {"gap around the cover", "flush with the face around it"} < found
    assert manifest["verdict"] == "good"


def test_the_template_is_at_true_scale_on_paper_and_says_where_the_cover_lies(folder):
    svg = ET.parse(folder / f"{NAME}-from-behind.svg").getroot()
    assert svg.get("width").endswith("mm")
    with pdfplumber.open(folder / f"{NAME}-from-behind.pdf") as pdf:
        text = " ".join(page.extract_text() for page in pdf.pages)
    assert "Linnet, controls cover, from behind" in text
    assert "from the body's edge" in text
    assert "2.5 mm thick" in text


def test_a_left_handed_cover_is_the_right_handed_one_in_a_mirror(folders):
    right, left = (trimesh.load_mesh(folders[hand] / f"{NAME}.stl") for hand in ("right", "left"))
    assert left.volume == pytest.approx(right.volume, rel=1e-6)
    assert left.vertices[:, 1].max() == pytest.approx(-right.vertices[:, 1].min(), abs=1e-5)
    plans = (ezdxf.readfile(folders[hand] / f"{NAME}-from-above.dxf") for hand in ("right", "left"))
    one, other = (holes(plan, "SCREW HOLES") for plan in plans)
    assert other == {(x, -y) for x, y in one}


def test_what_was_exported_is_read_again_with_its_cover(folder):
    text = read_text(folder / "linnet-as-exported.toml")
    assert parse(text, "again", folder).body.pockets[5].cover.gap == 0.3
