"""A heel end that slants: plane trigonometry by hand, plans by shapely, solids by trimesh."""

import io
import math

import ezdxf
import numpy as np
import pytest
import shapely
import trimesh

from carve.check.assembly import glue_faces
from carve.check.every_part import blank
from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load, with_values
from carve.errors import DesignError
from carve.export.formats.dxf import dxf
from carve.parts.job import make
from carve.parts.outbound import outbound_mesh
from carve.shape.neck.area import neck_volume
from carve.shape.neck.build import neck_shape
from carve.solid.as_written import as_written
from carve.solid.mesh import soundness
from carve.solid.neck import neck_solid

# plain end, plain end with a slanted nut, blocks with and without a width, a tenon
NAMES = ["wren", "kite", "siskin", "pipit", "dunlin", "wheatear"]
SLANTS = [-11.0, 7.0]


@pytest.fixture(scope="session")
def examples(pytestconfig):
    folder = pytestconfig.rootpath / "examples"
    return {name: load(folder / f"{name}.toml") for name in NAMES}


def slanted(design, slant, **changes):
    return with_values(design, {"neck.heel_slant": slant, **changes})


def as_trimesh(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


@pytest.mark.parametrize("slant", SLANTS)
@pytest.mark.parametrize("name", NAMES)
def test_everything_about_it_is_good_and_trimesh_finds_it_whole(examples, name, slant):
    job = make(slanted(examples[name], slant), 0.02)
    assert {f.check for f in inspect(job) if f.verdict is not Verdict.GOOD} == set()
    mesh = as_written(job.parts[0].mesh)
    assert soundness(mesh).sound
    solid = as_trimesh(mesh)
    assert solid.is_volume
    assert solid.body_count == 1


@pytest.mark.parametrize("name", NAMES)
def test_the_end_face_slants_by_the_angle_asked_about_its_place_on_the_centre_line(examples, name):
    design = slanted(examples[name], -11.0)
    mesh = make(design, 0.05, only=["neck"]).parts[0].mesh
    solid = as_trimesh(mesh)
    # by hand: square to the end is (cos 11, sin 11), and the line goes through (heel end, 0)
    normal = np.array([math.cos(math.radians(11)), math.sin(math.radians(11)), 0.0])
    facing = np.abs(solid.face_normals @ normal - 1) < 1e-9
    assert facing.any()
    there = mesh.points[mesh.triangles[facing]].reshape(-1, 3)
    end = design.place(design.neck.heel_end)
    assert (there - [end, 0, 0]) @ normal == pytest.approx(0, abs=1e-6)
    # more than half of the neck's width is end, the rest may be round corners
    assert np.ptp(there[:, 1]) > 15
    # nothing stands beyond it
    assert ((mesh.points - [end, 0, 0]) @ normal).max() < 1e-6


@pytest.mark.parametrize("name", NAMES)
def test_volume_by_the_mesh_meets_the_integral_ever_closer(examples, name):
    off = []
    for chord in (0.04, 0.0025):
        part = make(slanted(examples[name], 7.0), chord, only=["neck"]).parts[0]
        off.append(abs(as_trimesh(part.mesh).volume / part.integral - 1))
    assert off[1] < off[0] / 3
    assert off[1] < 2e-4


def test_the_slanted_end_alone_accounts_for_its_volume(examples):
    """A back fuller on one side gains more than it loses; two integrals against two meshes."""
    sides = {"bass": "D", "treble": "V"}
    changes = {"neck.stations[0].shape": sides, "neck.stations[1].shape": sides}
    shapes = []
    for slant in (0.0, -25.0):
        design = slanted(examples["wren"], slant, **changes)
        shapes.append(neck_shape(design.neck, design.scale_length, design.fretboard.thickness))
    meshed = [as_trimesh(neck_solid(shape, 0.002)[0]).volume for shape in shapes]
    gained = neck_volume(shapes[1]) - neck_volume(shapes[0])
    assert gained > 40  # mm^3
    assert meshed[1] - meshed[0] == pytest.approx(gained, abs=3.0)


@pytest.mark.parametrize("name", NAMES)
def test_the_plan_drawn_is_the_plan_cut(examples, name):
    design = slanted(examples[name], 7.0)
    part = make(design, 0.02, only=["neck"]).parts[0]
    plan = part.type.outlines(design, part.shape)["from-above"]
    space = ezdxf.read(io.StringIO(dxf(plan).decode())).modelspace()
    (outline,) = space.query('LWPOLYLINE[layer=="NECK OUTLINE"]')
    drawn = shapely.Polygon([point[:2] for point in outline.get_points()])
    assert drawn.is_valid
    # the mesh seen from above, its triangles laid together by shapely; drilled holes filled in
    end = design.place(design.neck.heel_end)
    triangles = part.mesh.points[part.mesh.triangles][..., :2]
    flat = shapely.polygons(triangles[triangles[..., 0].max(axis=1) > end - 40])
    shadow = shapely.union_all(flat[shapely.area(flat) > 1e-6]).buffer(0.001)
    beyond = shapely.box(end - 40, -99, end + 99, 99)
    cut = shapely.Polygon(shadow.exterior) & beyond
    assert (drawn & beyond).symmetric_difference(cut).area < 0.4


def test_the_bare_corner_beyond_a_square_board_is_found(examples):
    """By hand: a board that ends at the heel end leaves bare what its corner reaches beyond."""
    changes = {"fretboard.beyond_last_fret": None, "fretboard.frets": 18, "fretboard.markers": None}
    design = slanted(examples["wren"], 7.0, **changes)
    job = make(design, 0.05)
    length = next(f for f in glue_faces.check(job) if f.check.startswith("length"))
    half, end = design.neck.heel_width / 2, design.place(design.neck.heel_end)
    flare = (half - design.neck.nut_width / 2) / end
    lean = math.tan(math.radians(7))
    assert length.value == pytest.approx(lean * half / (1 - flare * lean), abs=1e-6)
    assert length.verdict is Verdict.WARNING


def test_the_blank_is_as_much_longer_as_the_corner_reaches(examples):
    square, job = (make(slanted(examples["wren"], slant), 0.05) for slant in (0.0, 7.0))
    lengths = [next(iter(blank.check(one))).value for one in (square, job)]
    reach = job.parts[0].shape.heel_corners()[:, 0].max() - job.parts[0].shape.length
    assert reach > 3
    assert lengths[0] - lengths[1] == pytest.approx(reach / 2, abs=1e-6)


def test_left_handed_the_other_corner_is_the_further_one(examples):
    for hand, further in (("right", 1), ("left", -1)):
        design = slanted(examples["wren"], 7.0, handed=hand)
        mesh = outbound_mesh(design, make(design, 0.05, only=["neck"]).parts[0])
        assert np.sign(mesh.points[np.argmax(mesh.points[:, 0]), 1]) == further


BAD = [
    ("wren", 45.0, {}, "neck.heel_slant", ["-30 to 30"]),
    ("wren", 0.05, {}, "neck.heel_slant", ["0.05°", "at least 0.2°"]),
    (
        "siskin",
        25.0,
        {"neck.heel.length": 12.0, "neck.heel.holes": []},
        "neck.heel_slant",
        ["bass"],
    ),
    ("siskin", 18.0, {"neck.heel.holes[0].from_end": 4.5}, "neck.heel.holes[0].from_end", ["18°"]),
    ("siskin", 25.0, {"neck.heel.corner_radius": 22.0}, "neck.heel", ["mm"]),
    ("kite", 20.0, {"neck.stations[1].at": "fret 21"}, "neck.stations[1].at", ["20°", "corner"]),
    ("kite", 20.0, {"joint.at": "fret 21"}, "joint.at", ["20°", "nearer corner"]),
    ("kite", 20.0, {"neck.truss_rod.end": 474.5}, "neck.truss_rod.end", ["20°", "at the heel end"]),
]


@pytest.mark.parametrize(("name", "slant", "changes", "key", "held"), BAD)
def test_each_mistake_is_one_sentence(examples, name, slant, changes, key, held):
    with pytest.raises(DesignError) as caught:
        slanted(examples[name], slant, **changes)
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].startswith(key)
    for part in held:
        assert part in caught.value.problems[0]


@pytest.mark.parametrize("slant", [-27.0, -3.0, 0.3, 14.0, 29.0])
@pytest.mark.parametrize("corner", [0.0, 6.35])
def test_any_slant_that_is_allowed_is_sound(examples, slant, corner):
    changes = {"neck.heel.holes": [], "neck.heel.corner_radius": corner}
    design = slanted(examples["siskin"], slant, **changes)
    part = make(design, 0.05, only=["neck"]).parts[0]
    assert soundness(as_written(part.mesh)).sound
    assert as_trimesh(part.mesh).volume == pytest.approx(part.integral, rel=1e-3)
