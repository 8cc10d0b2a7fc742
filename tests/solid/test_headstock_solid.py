"""Headstocks as meshes, read back by libraries that are not ours; and any valid whole neck."""

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load, with_values
from carve.errors import DesignError, ShapeError
from carve.parts.job import make
from carve.shape.neck.area import neck_volume
from carve.shape.neck.build import neck_shape
from carve.solid.as_written import as_written
from carve.solid.mesh import soundness, volume
from carve.solid.neck import neck_solid

# by hypothesis, with its own liking for edges; over all keys: test_random_necks.py
NECKS = 40
EXAMPLES = ["siskin", "wheatear", "dunlin"]


def example(request, name):
    return load(request.config.rootpath / "examples" / f"{name}.toml")


@pytest.fixture(params=EXAMPLES)
def headed(request):
    """Each family of headstock."""
    return example(request, request.param)


@pytest.fixture(scope="session")
def siskin(request):
    return example(request, "siskin")


@pytest.fixture(scope="session")
def wheatear(request):
    return example(request, "wheatear")


def neck_of(design, bound=0.02):
    return make(design, bound).parts[0]


def test_every_finding_about_the_example_is_good(headed):
    findings = inspect(make(headed, 0.05))
    assert [f.check for f in findings if f.verdict is not Verdict.GOOD] == []


def test_trimesh_finds_it_watertight_in_one_piece_with_the_integrals_volume(headed):
    part = neck_of(headed)
    theirs = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    assert theirs.is_watertight
    assert theirs.is_winding_consistent
    assert theirs.body_count == 1
    assert theirs.volume == pytest.approx(part.integral, rel=1e-3)


def test_the_face_lies_below_the_glue_face_by_the_drop(siskin):
    face = neck_of(siskin).mesh.only("headstock face").points
    beyond = face[face[:, 0] < -siskin.neck.headstock.seat - siskin.neck.headstock.ramp - 1e-6]
    assert beyond[:, 2] == pytest.approx(-siskin.neck.headstock.drop, abs=1e-9)


def test_the_face_drops_by_the_tilt_about_the_seat(wheatear):
    # by hand: 13 degrees over 100 mm from the seat is 23.087 mm
    face = neck_of(wheatear).mesh.only("headstock face").points
    slope = math.tan(math.radians(13))
    assert 100 * slope == pytest.approx(23.087, abs=1e-3)
    top = face[face[:, 2] > -slope * (-face[:, 0] - 5) - 1e-6]
    assert top[:, 2] == pytest.approx(slope * (top[:, 0] + 5), abs=1e-9)
    assert len(top) > 50


def test_the_headstock_is_as_thick_as_asked_square_to_its_face(headed):
    # trimesh shoots a ray square to the face from above: in at the face, out at the back
    part = neck_of(headed)
    head = part.shape.head
    theirs = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    x = head.flat - 8.0
    face = np.array([x, 3.0, -float(head.face_depth(np.array([x]))[0])])
    normal = np.array([-math.sin(head.tilt), 0.0, math.cos(head.tilt)])
    hits, _, _ = theirs.ray.intersects_location([face + 5 * normal], [-normal])
    depths = sorted(5 - (hits - face) @ normal)
    assert depths[-1] - depths[0] == pytest.approx(headed.neck.headstock.thickness, abs=1e-6)


def test_tuner_holes_are_square_to_the_face_and_where_asked(headed):
    part = neck_of(headed)
    head = part.shape.head
    axis = np.array([-math.sin(head.tilt), 0.0, math.cos(head.tilt)])
    walls = part.mesh.only("tuner holes").points
    rows = headed.neck.headstock.tuners
    places = [(row, place) for row in rows for place in row.holes()]
    for row, (behind, aside) in places:
        x = -behind * math.cos(head.tilt)
        at = np.array([x, aside, -float(head.face_depth(np.array([x]))[0])])
        away = np.linalg.norm(np.cross(walls - at, axis), axis=1)
        assert (np.abs(away - row.diameter / 2) < 1e-6).sum() >= 24
    assert len(places) == len(head.holes)


def test_a_pocket_runs_on_into_the_headstock(wheatear):
    pocket = neck_of(wheatear).mesh.only("access pocket").points
    assert pocket[:, 0].min() == pytest.approx(-wheatear.neck.truss_rod.access.behind)


def test_the_sections_before_the_nut_are_measured_as_asked(headed):
    findings = inspect(make(headed, 0.02))
    profiles = [f for f in findings if f.check.startswith("profile at")]
    assert len(profiles) == len(headed.neck.stations)
    assert all(f.value < 0.025 for f in profiles)


heads = st.fixed_dictionaries(
    {
        "thickness": st.floats(9, 20),
        "blend_radius": st.floats(8, 120),
        "transition": st.floats(10, 55),
        "seat": st.one_of(st.just(0.0), st.floats(0.2, 8)),
        "ramp": st.one_of(st.just(0.0), st.floats(4, 30)),
    }
)
faces = st.one_of(
    st.just({}),
    st.floats(1, 18).map(lambda tilt: {"tilt": tilt}),
    st.floats(0.5, 10).map(lambda drop: {"drop": drop}),
)
outlines = st.fixed_dictionaries(
    {
        "length": st.floats(120, 230),
        "width": st.floats(50, 110),
        "end_width": st.floats(24, 100),
        "flare": st.floats(15, 60),
        "aside": st.floats(-18, 18),
        "end_aside": st.floats(-40, 40),
        "slant": st.floats(-40, 40),
        "corner_radius": st.one_of(st.just(0.0), st.floats(1, 20)),
        "waist": st.one_of(st.none(), st.floats(40, 90)),
    }
)
volutes = st.one_of(
    st.none(),
    st.fixed_dictionaries(
        {
            "height": st.floats(0.5, 6),
            "length": st.floats(20, 60),
            "width": st.floats(12, 36),
            "behind": st.floats(8, 35),
        }
    ),
)
heels = st.one_of(
    st.none(),
    st.fixed_dictionaries(
        {
            "kind": st.just("bolted"),
            "length": st.floats(20, 75),
            "depth": st.floats(8, 50),
            "blend": st.floats(6, 60),
            "width": st.one_of(st.none(), st.floats(46, 62)),
            "corner_radius": st.one_of(st.just(0.0), st.floats(1, 18)),
        }
    ),
    st.fixed_dictionaries(
        {
            "kind": st.just("tenon"),
            "length": st.floats(20, 90),
            "depth": st.floats(8, 50),
            "blend": st.floats(6, 60),
            "width": st.floats(20, 50),
            "angle": st.floats(0, 4),
            "corner_radius": st.one_of(st.just(0.0), st.floats(1, 8)),
        }
    ),
)
shares = st.floats(0, 1)
behind = st.one_of(st.just(0.0), st.floats(2, 30))


@settings(max_examples=NECKS, deadline=None)
@given(
    head=heads,
    face=faces,
    outline=outlines,
    volute=volutes,
    heel=heels,
    shoulder=shares,
    keel=shares,
    thickness=st.floats(18.5, 28),
    pocket=behind,
)
def test_any_valid_neck_gives_a_sound_mesh(
    head, face, outline, volute, heel, shoulder, keel, thickness, pocket, siskin
):
    family = "straight" if outline["waist"] is None else "waisted"
    whole = {**head, **face, "outline": {**outline, "family": family}, "volute": volute}
    changes = {
        "neck.headstock": whole,
        "neck.heel": heel,
        "neck.stations[0].shape": {"shoulder": shoulder, "keel": keel},
        "neck.stations[0].thickness": thickness,
        "neck.truss_rod.access": {
            "at": "nut",
            "length": 10.0,
            "width": 9.0,
            "depth": 8.0,
            "behind": pocket,
        },
    }
    try:
        design = with_values(siskin, changes)
        made = neck_shape(design.neck, design.scale_length, design.fretboard.thickness)
    except (DesignError, ShapeError):
        return  # such a contradiction is the design's own business
    mesh, error = neck_solid(made, 0.1)
    assert error <= 0.1
    written = as_written(mesh)
    assert soundness(written).sound
    assert trimesh.Trimesh(written.points, written.triangles, process=False).is_watertight
    skin = float(written.doubled_areas.sum()) / 2
    assert volume(written) == pytest.approx(neck_volume(made), abs=0.1 * skin)


def test_most_of_those_random_necks_are_valid(siskin):
    # so that the test above says something: its own strategies, counted
    tried, made = 0, 0

    @settings(max_examples=60, deadline=None, database=None, derandomize=True)
    @given(heads, faces, outlines, heels)
    def count(head, face, outline, heel):
        nonlocal tried, made
        family = "straight" if outline["waist"] is None else "waisted"
        whole = {**head, **face, "outline": {**outline, "family": family}}
        tried += 1
        try:
            design = with_values(siskin, {"neck.headstock": whole, "neck.heel": heel})
            neck_shape(design.neck, design.scale_length, design.fretboard.thickness)
        except (DesignError, ShapeError):
            return
        made += 1

    count()
    assert made > tried / 5
