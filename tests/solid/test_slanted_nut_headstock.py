"""A headstock behind a slanted nut: plane geometry by hand and by shapely, solids by trimesh."""

import io
import math
from dataclasses import replace

import ezdxf
import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from carve.check.assembly import glue_faces
from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load, with_values
from carve.errors import DesignError
from carve.export.formats.dxf import dxf
from carve.parts.job import make
from carve.shape.neck.build import neck_shape
from carve.solid.as_written import as_written
from carve.solid.mesh import Mesh, soundness
from carve.solid.neck import neck_solid

TILT = math.radians(9)


@pytest.fixture(scope="session")
def pipit(pytestconfig):
    return load(pytestconfig.rootpath / "examples" / "pipit.toml")


@pytest.fixture(scope="session")
def job(pipit):
    return make(pipit, 0.02)


@pytest.fixture(scope="session")
def neck(job):
    return as_trimesh(job.parts[0].mesh)


def as_trimesh(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


def nut_corners(design):
    """Where the nut's line meets the finished neck's two edges, by shapely: x and y each."""
    end, neck = design.place(design.neck.heel_end), design.neck
    growth = (neck.heel_width - neck.nut_width) / 2 / end
    far = 40.0
    nut = shapely.LineString([(design.nut_line.slant * y, y) for y in (-far, far)])
    corners = []
    for sign in (-1, 1):
        edge = [(x, sign * (neck.nut_width / 2 + growth * x)) for x in (-far, far)]
        point = nut.intersection(shapely.LineString(edge))
        corners.append((point.x, point.y))
    return corners


def straight_down(solid, x, y):
    """Height of the uppermost skin at x and y."""
    hits, _, _ = solid.ray.intersects_location([[x, y, 50.0]], [[0, 0, -1]])
    return hits[:, 2].max()


def test_everything_about_the_example_is_good(job):
    assert {finding.verdict for finding in inspect(job)} == {Verdict.GOOD}


def test_trimesh_finds_it_closed_with_the_volume_of_its_sections(pipit):
    part = make(pipit, 0.0025, only=["neck"]).parts[0]
    solid = as_trimesh(part.mesh)
    assert solid.is_watertight
    assert solid.body_count == 1
    assert solid.volume == pytest.approx(part.integral, rel=1e-4)


def test_the_glue_face_is_level_to_the_rear_corner_and_as_far_on_as_the_seat(pipit, neck):
    (rear, _), _ = nut_corners(pipit)
    assert rear < -5
    seat = pipit.neck.headstock.seat
    for y in (-18.3, 0.7, 17.1):
        assert straight_down(neck, rear - seat + 0.01, y) == pytest.approx(0, abs=1e-9)
        # by hand: 20 mm behind the seat a face that leans by 9 degrees is 3.168 mm lower
        lower = straight_down(neck, rear - seat - 20, y)
        assert lower == pytest.approx(-3.168, abs=1e-3)


def test_the_boards_corners_lie_on_the_necks_edges(pipit, job):
    """The neck's wood stands back by its film of 0.12 mm (neck sides)."""
    neck, board = (part.mesh.only("glue face").points for part in job.parts)
    for (x, y), outermost in zip(nut_corners(pipit), (np.argmin, np.argmax), strict=True):
        near = board[np.abs(board[:, 0] - x) < 0.5]
        corner = near[outermost(near[:, 1])]
        assert corner[:2] == pytest.approx((x, y), abs=1e-6)
        edge = neck[np.sign(neck[:, 1]) == np.sign(y)]
        edge = edge[np.argsort(edge[:, 0])]
        width = pytest.approx(abs(y) - 0.12, abs=1e-3)
        assert np.interp(x, edge[:, 0], np.abs(edge[:, 1])) == width


def test_a_wider_neck_is_found_at_the_corners(job):
    part = job.parts[0]
    wider = Mesh(
        part.mesh.points * [1.0, 1.004, 1.0],
        part.mesh.triangles,
        part.mesh.surface,
        part.mesh.names,
    )
    wrong = type(job)(job.design, (replace(part, mesh=wider), *job.parts[1:]))
    *_, corners = glue_faces.check(wrong)
    assert corners.check == "slanted nut's corners of the glue faces"
    assert corners.value == pytest.approx(0.004 * 24.1, abs=0.002)
    assert corners.verdict is Verdict.FAILED


def test_tuners_and_length_are_measured_on_the_centre_line_from_the_nut(pipit, job):
    # by hand: level to the corner, and from there along a face that leans by 9 degrees
    (rear, _), _ = nut_corners(pipit)
    head = job.parts[0].shape.head
    behind = [place[0] for row in pipit.neck.headstock.tuners for place in row.holes()]
    seen = [rear - (along + rear) * math.cos(TILT) for along in behind]
    assert [hole.x for hole in head.holes] == pytest.approx(seen, abs=1e-6)
    # before its corners are rounded the bass side ends at the length asked
    length = pipit.neck.headstock.outline.length
    assert head.bass.x[0] == pytest.approx(rear - (length + rear) * math.cos(TILT), abs=1e-6)


def test_between_the_corners_the_sides_are_the_taper(pipit, job):
    (rear, _), (front, _) = nut_corners(pipit)
    shape = job.parts[0].shape
    x = np.linspace(rear, front, 20)
    for edge in shape.edges:
        assert edge(x) == pytest.approx(shape.taper(x), abs=1e-9)
    assert shape.upright(x) == pytest.approx(0, abs=1e-9)


def test_the_nut_is_drawn_slanted_from_corner_to_corner(pipit, job):
    part = job.parts[0]
    plan = part.type.outlines(pipit, part.shape)["from-above"]
    space = ezdxf.read(io.StringIO(dxf(plan).decode())).modelspace()
    (line,) = space.query('LWPOLYLINE[layer=="NUT LINE"]')
    (x0, y0), (x1, y1) = (point[:2] for point in line.get_points())
    assert (x1 - x0) / (y1 - y0) == pytest.approx(pipit.nut_line.slant, abs=1e-9)
    outline = space.query('LWPOLYLINE[layer=="NECK OUTLINE"]')[0]
    around = shapely.Polygon([point[:2] for point in outline.get_points()])
    assert around.is_valid
    for end in ((x0, y0), (x1, y1)):
        assert around.exterior.distance(shapely.Point(end)) < 1e-3


def test_without_headstock_the_neck_is_drawn_with_its_slanted_end(kite):
    part = make(kite, 0.05, only=["neck"]).parts[0]
    plan = part.type.outlines(kite, part.shape)["from-above"]
    outline = shapely.Polygon(plan.lines[0].points)
    assert outline.is_valid
    # the back's triangles seen from above, laid together by shapely
    back = part.mesh.only("back")
    shadow = shapely.union_all(shapely.polygons(back.points[back.triangles][..., :2]))
    assert outline.area == pytest.approx(shadow.area, rel=1e-4)
    assert outline.symmetric_difference(shadow).area < 1e-4 * shadow.area


VARIATIONS = [
    {"neck.headstock.tilt": 0.0, "neck.headstock.drop": 4.0},
    {"neck.headstock.tilt": 0.0, "neck.headstock.drop": 6.0, "neck.headstock.ramp": 0.0},
    {"neck.headstock.tilt": 13.0, "neck.headstock.joint": "scarfed"},
    {"neck.headstock.seat": 0.0, "neck.headstock.tilt": 4.0},
    {"neck.headstock.volute": {"height": 2.5, "length": 44.0, "width": 32.0, "behind": 24.0}},
    {
        "fretboard.treble_scale_length": 26.5 * 25.4,
        "scale_length": 25.25 * 25.4,
        "neck.headstock.outline.slant": 14.0,
    },
    {"fretboard.perpendicular_fret": 15.0, "neck.headstock.outline.flare": 40.0},
    {"neck.truss_rod.access": {"at": "nut", "length": 12.0, "width": 9.0, "depth": 8.0}}
    | {"neck.headstock.outline.flare": 45.0},
]


@pytest.mark.parametrize("changes", VARIATIONS, ids=lambda changes: ", ".join(changes))
def test_other_headstocks_behind_a_slanted_nut_are_sound_too(pipit, changes):
    design = with_values(pipit, changes)
    job = make(design, 0.05)
    mesh = as_written(job.parts[0].mesh)
    assert soundness(mesh).sound
    assert as_trimesh(mesh).is_volume
    for finding in inspect(job):
        if finding.check in ("volume", "slanted nut's corners of the glue faces"):
            assert finding.verdict is Verdict.GOOD


def test_a_slant_that_fades_ends_in_the_square_nuts_headstock(pipit):
    """The less the nut slants, the nearer both meshes' volumes, to the first order."""
    needs = (pipit.placed_neck(), pipit.saddle_line.at, pipit.fretboard.thickness)
    square = neck_solid(neck_shape(*needs), 0.01)[0]
    off = []
    for slant in (0.04, 0.01):
        slanted = neck_solid(neck_shape(*needs, nut_slant=slant), 0.01)[0]
        off.append(abs(as_trimesh(slanted).volume - as_trimesh(square).volume))
    assert off[1] < off[0] / 2


heads = st.fixed_dictionaries(
    {
        "tilt": st.one_of(st.just(0.0), st.floats(1, 18)),
        "thickness": st.floats(9, 20),
        "blend_radius": st.floats(8, 120),
        "transition": st.floats(10, 55),
        "seat": st.one_of(st.just(0.0), st.floats(0.2, 8)),
        "outline": st.fixed_dictionaries(
            {
                "length": st.floats(140, 240),
                "width": st.floats(56, 110),
                "end_width": st.floats(24, 100),
                "flare": st.floats(15, 60),
                "aside": st.floats(-12, 12),
                "slant": st.floats(-40, 40),
                "corner_radius": st.one_of(st.just(0.0), st.floats(1, 14)),
            }
        ),
    }
)


@settings(max_examples=25, deadline=None)
@given(
    head=heads,
    shorter=st.floats(-40, 45),
    square=st.sampled_from([0, 3, 7, 12]),
    heel_slant=st.floats(-20, 20).filter(lambda slant: abs(slant) > 0.2),
)
def test_any_headstock_behind_any_slanted_nut_is_sound(pipit, head, shorter, square, heel_slant):
    changes = {
        "neck.headstock": head,
        "neck.heel": {"kind": "bolted", "length": 70.0, "depth": 19.0, "blend": 36.0},
        "neck.heel_slant": heel_slant,
        "fretboard.treble_scale_length": pipit.scale_length - shorter,
        "fretboard.perpendicular_fret": square,
    }
    try:
        part = make(with_values(pipit, changes), 0.1, only=["neck"]).parts[0]
    except DesignError:
        return  # such a contradiction is the design's own business
    mesh = as_written(part.mesh)
    assert soundness(mesh).sound
    skin = float(mesh.doubled_areas.sum()) / 2
    assert as_trimesh(mesh).volume == pytest.approx(part.integral, abs=0.1 * skin)


BAD = [
    ({"neck.headstock.outline.flare": 120.0, "neck.headstock.outline.length": 149.0}, "flare"),
    ({"neck.headstock.blend_radius": 1500.0, "neck.headstock.tuners": []}, "blend_radius"),
    ({"neck.headstock.tuners[0].behind": 30.0}, "behind"),
]


@pytest.mark.parametrize(("changes", "key"), BAD)
def test_what_finds_no_room_behind_the_corner_is_said_in_one_sentence(pipit, changes, key):
    with pytest.raises(DesignError) as caught:
        make(with_values(pipit, changes), 0.05)
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].split(": ")[0].endswith(key)
