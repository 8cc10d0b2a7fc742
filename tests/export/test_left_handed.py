"""A left-handed instrument is the right-handed one in a mirror, as other programs read it."""

import json
import re
import xml.etree.ElementTree as ET

import ezdxf
import numpy as np
import pytest
import shapely
import trimesh

from carve.check.report import inspect
from carve.design import load, with_values
from carve.export import export
from carve.lab.job_views import JobViews
from carve.parts.assembly import assembly_outlines
from carve.parts.job import make
from carve.parts.outbound import outbound_mesh, outbound_outlines, outbound_sections
from carve.solid.mesh import Mesh

HANDS = ("right", "left")
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="session")
def whinchat(pytestconfig):
    return load(pytestconfig.rootpath / "examples" / "whinchat.toml")


@pytest.fixture(scope="session")
def jobs(whinchat):
    return {hand: make(with_values(whinchat, {"handed": hand}), 0.05) for hand in HANDS}


@pytest.fixture(scope="session")
def folders(jobs, tmp_path_factory):
    """Both exports."""
    made = {}
    for hand, job in jobs.items():
        made[hand] = tmp_path_factory.mktemp(hand)
        export(job, made[hand], ("whinchat.toml", "title = 'Whinchat'\n"))
    return made


@pytest.mark.parametrize("name", ["whinchat-neck", "whinchat-fretboard"])
def test_the_stl_is_the_right_handed_one_mirrored(folders, name):
    right, left = (trimesh.load_mesh(folders[hand] / f"{name}.stl") for hand in HANDS)
    assert left.is_watertight
    assert left.is_winding_consistent
    assert left.volume > 0
    assert left.volume == pytest.approx(right.volume, rel=1e-6)
    # trimesh's own mirror, which turns the triangles for itself
    right.apply_transform(np.diag([1.0, -1.0, 1.0, 1.0]))
    assert right.volume > 0
    assert left.bounds == pytest.approx(right.bounds, abs=1e-6)
    points = (np.unique(mesh.vertices.round(5) + 0.0, axis=0) for mesh in (left, right))
    assert np.array_equal(*points)


def test_the_headstock_hangs_to_the_other_side(folders):
    """Six tuners on the bass side: lower y on the right-handed one."""
    sides = {}
    for hand in HANDS:
        mesh = trimesh.load_mesh(folders[hand] / "whinchat-neck.stl")
        tip = mesh.vertices[mesh.vertices[:, 0] < -150]
        sides[hand] = tip[:, 1].mean()
    assert sides["right"] < -10
    assert sides["left"] == pytest.approx(-sides["right"], abs=1e-4)


def test_the_fuller_side_of_the_back_stays_the_bass_side(jobs):
    """Half-areas of the section at the 1st fret as trimesh and shapely cut it."""
    for hand, job in jobs.items():
        part = job.parts[0]
        mesh = outbound_mesh(job.design, part)
        solid = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
        x = float(part.shape.stations[0])
        segments = trimesh.intersections.mesh_plane(solid, [1, 0, 0], [x, 0, 0])
        (section,) = shapely.polygonize(
            list(shapely.union_all([shapely.LineString(s[:, 1:].round(6)) for s in segments]).geoms)
        ).geoms
        low, high = (
            section.intersection(shapely.box(*box)).area
            for box in ((-99, -99, 0, 9), (0, -99, 99, 9))
        )
        assert (low > high) == (hand == "right")


@pytest.mark.parametrize("name", ["neck-from-above", "fretboard-from-above", "strings-from-above"])
def test_plans_are_mirrored_layer_by_layer(folders, name):
    right, left = (
        ezdxf.readfile(folders[hand] / f"whinchat-{name}.dxf").modelspace() for hand in HANDS
    )

    def chains(space, turn):
        return sorted(
            (
                line.dxf.layer,
                shapely.LineString([(x, turn * y) for x, y, *_ in line.get_points()])
                .normalize()
                .wkt,
            )
            for line in space.query("LWPOLYLINE")
            if not line.closed
        )

    def rings(space, turn):
        return [
            shapely.Polygon([(x, turn * y) for x, y, *_ in line.get_points()])
            for line in space.query("LWPOLYLINE")
            if line.closed
        ]

    def circles(space, turn):
        return sorted(
            (round(c.dxf.center.x, 6), round(turn * c.dxf.center.y, 6), c.dxf.radius)
            for c in space.query("CIRCLE")
        )

    assert chains(left, 1) == chains(right, -1)
    assert circles(left, 1) == circles(right, -1)
    assert len(rings(left, 1)) == len(rings(right, -1)) > 0
    for one, other in zip(rings(left, 1), rings(right, -1), strict=True):
        assert one.symmetric_difference(other).area < 1e-6
        assert shapely.LinearRing(one.exterior).is_ccw != shapely.LinearRing(other.exterior).is_ccw


@pytest.mark.parametrize("name", ["neck-from-the-side", "neck-gauges"])
def test_side_view_and_gauges_are_the_same_for_either_hand(folders, name):
    right, left = ((folders[hand] / f"whinchat-{name}.dxf").read_bytes() for hand in HANDS)
    assert right == left


def test_words_stay_readable_and_outside_the_board(folders):
    """Fret numbers stand beyond the treble edge, which is now the lower one, and are not turned."""
    numbers = {}
    for hand in HANDS:
        root = ET.parse(folders[hand] / "whinchat-fretboard-from-above.svg").getroot()
        words = [e for e in root.iter(f"{SVG}text") if re.fullmatch(r"\d+", e.text or "")]
        assert not [e for e in root.iter() if "transform" in e.attrib]
        outline = next(g for g in root.iter(f"{SVG}g") if g.get("id") == "board-outline")
        ring = [tuple(map(float, pair.split(","))) for pair in outline[0].attrib["points"].split()]
        board = shapely.Polygon(ring)
        # a digit is no taller than seven tenths of its size (from memory)
        tall = 0.7 * float(words[0].attrib["font-size"])
        for word in words:
            x, y = float(word.attrib["x"]), float(word.attrib["y"])
            assert not board.intersects(shapely.box(x - 0.5, y - tall, x + 0.5, y))
        numbers[hand] = (float(words[0].attrib["y"]) < board.centroid.y, len(words))
    assert numbers == {"right": (True, 22), "left": (False, 22)}


def test_findings_point_at_the_mesh_that_leaves(jobs):
    found = {hand: inspect(job) for hand, job in jobs.items()}
    aside = 0
    for right, left in zip(found["right"], found["left"], strict=True):
        assert (right.check, right.verdict, right.place) == (left.check, left.verdict, left.place)
        assert left.value == pytest.approx(right.value, rel=1e-9)
        if right.point is not None:
            assert left.point == (right.point[0], -right.point[1], right.point[2])
            aside += abs(right.point[1]) > 1
    assert aside >= 5


def test_the_manifest_says_which_hand_and_where_y_points(folders):
    said = {
        hand: json.loads((folders[hand] / "whinchat-manifest.json").read_text()) for hand in HANDS
    }
    assert [said[hand]["handed"] for hand in HANDS] == ["right", "left"]
    assert "y to the treble side" in said["right"]["frame"]
    assert "y to the bass side" in said["left"]["frame"]
    for right, left in zip(said["right"]["parts"], said["left"]["parts"], strict=True):
        assert left["lowest"][1] == pytest.approx(-right["highest"][1])
        assert left["volume"] == pytest.approx(right["volume"])


def test_the_picture_shows_the_mesh_of_the_file_with_its_colours(jobs):
    neck = jobs["right"].parts[0]
    for colour in neck.type.colour_fields(jobs["right"].design, neck.shape):
        right, left = (
            [one for one in JobViews().layers(jobs[hand], None, colour) if "neck" in one.name]
            for hand in HANDS
        )
        for one, other in zip(right, left, strict=True):
            assert np.array_equal(one.points * [1, -1, 1], other.points)
            if one.values is not None:
                assert np.array_equal(one.values, other.values)


def test_twice_mirrored_is_as_before(jobs):
    job = jobs["right"]
    for part in job.parts:
        twice = part.mesh.mirrored().mirrored()
        assert np.array_equal(twice.points, part.mesh.points)
        assert np.array_equal(twice.triangles, part.mesh.triangles)
        drawings = [
            *outbound_outlines(job.design, part).values(),
            *outbound_sections(job.design, part),
        ]
        for drawing in drawings:
            again = drawing.mirrored().mirrored()
            assert again.treble == drawing.treble
            for one, other in zip(again.lines, drawing.lines, strict=True):
                assert np.array_equal(one.points, other.points)
            for word, as_before in zip(again.words, drawing.words, strict=True):
                assert (word.x, word.y) == pytest.approx((as_before.x, as_before.y))


def test_every_view_from_above_knows_its_treble_side(jobs):
    job = jobs["right"]
    views = dict(assembly_outlines(job.design))
    for part in job.parts:
        views |= {f"{part.name} {k}": v for k, v in outbound_outlines(job.design, part).items()}
    above = {name: view.treble for name, view in views.items() if "above" in name}
    assert len(above) == 3
    assert set(above.values()) == {"up"}


def test_a_mirrored_cube_is_still_the_right_way_out():
    box = trimesh.creation.box((1, 2, 3))
    box.apply_translation((0, 5, 0))
    ours = Mesh(np.array(box.vertices), np.array(box.faces), np.zeros(12, int), ("box",)).mirrored()
    theirs = trimesh.Trimesh(ours.points, ours.triangles, process=False)
    assert theirs.volume == pytest.approx(6)
    assert theirs.center_mass == pytest.approx([0, -5, 0])
