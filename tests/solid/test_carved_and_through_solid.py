"""Carved heels and through-necks as meshes, read back by libraries that are not ours."""

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load, with_values
from carve.errors import DesignError
from carve.parts.job import make, shape_of
from carve.parts.neck import NECK
from carve.shape.assembly.frames import moved
from carve.shape.assembly.side_view import side_view
from carve.shape.neck.area import section_area
from carve.solid.as_written import as_written
from carve.solid.mesh import soundness, volume

BUTT = {"neck.heel.tongue": None, "neck.heel_end": 352.0, "joint.pocket_width": None}
BARE = {"neck.heel.tongue": None, "neck.heel_end": 352.0}


def neck_of(design, bound=0.05):
    return make(design, bound, only=["neck"]).parts[0]


def theirs(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


@pytest.fixture(scope="module")
def redstart(request):
    return load(request.config.rootpath / "examples" / "redstart.toml")


@pytest.fixture(scope="module")
def curlew(request):
    return load(request.config.rootpath / "examples" / "curlew.toml")


@pytest.fixture(params=["redstart", "butt", "curlew"])
def whole(request, redstart, curlew):
    """A heel with a tongue, one that butts, and a core."""
    return {"redstart": redstart, "butt": with_values(redstart, BUTT), "curlew": curlew}[
        request.param
    ]


def test_trimesh_finds_it_watertight_in_one_piece_with_the_integrals_volume(whole):
    part = neck_of(whole, 0.02)
    mesh = theirs(part.mesh)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.body_count == 1
    assert mesh.volume == pytest.approx(part.integral, rel=2e-4)


def test_no_finding_about_it_fails_or_warns(whole):
    findings = inspect(make(whole, 0.05))
    assert [f.check for f in findings if f.verdict is not Verdict.GOOD] == []


def test_the_cap_is_flat_and_of_the_length_and_width_asked_for(redstart):
    cap = neck_of(redstart).mesh.only("heel cap").points
    assert cap[:, 2] == pytest.approx(-84.0, abs=1e-9)
    # by hand: leaning back 4.5485 deg the body's side comes 84 tan 4.5485 deg = 6.6827 mm nearer
    foot = 352.0 - 84.0 * np.tan(side_view(redstart).angle)
    assert foot == pytest.approx(352.0 - 6.6827, abs=1e-3)
    low, high = cap.min(axis=0), cap.max(axis=0)
    # within the chord error, over the steep flanks' cosine
    assert (low[0], high[0]) == pytest.approx((foot - 15.0, foot), abs=0.06)
    assert (low[1], high[1]) == pytest.approx((-15.0, 15.0), abs=0.06)
    at_edge = cap[np.abs(cap[:, 0] - foot) < 1e-6]
    assert np.ptp(at_edge[:, 1]) == pytest.approx(30.0, abs=0.1)


@pytest.mark.parametrize("changes", [{}, BUTT])
def test_the_face_against_the_body_is_a_plane_of_the_bodys_side(redstart, changes):
    design = with_values(redstart, changes)
    face = neck_of(design).mesh.only("heel face").points
    # in the body's frame its side is the plane x = 0
    there = moved(face, side_view(design).to_body())
    assert there[:, 0] == pytest.approx(0.0, abs=1e-9)
    assert there[:, 2].max() == pytest.approx(design.joint.height, abs=1e-9)


@pytest.mark.parametrize("changes", [{}, BARE])
def test_without_a_body_the_face_is_square_to_the_glue_face(redstart, changes):
    design = with_values(redstart, {**changes, "joint": None})
    name = "shoulders" if design.neck.heel.tongue else "heel end"
    part = neck_of(design)
    face = part.mesh.only(name)
    near = face.points[:, 0] < 352.0 + 1e-6
    assert face.points[near, 0] == pytest.approx(352.0, abs=1e-9)
    # shapely: as large as the section just before it, the tongue's rectangle taken out
    wood = Polygon(part.shape.section(np.nextafter(352.0, 0), 2001)).area
    tongue = 26.0 * 68.0 if design.neck.heel.tongue else 0.0
    assert theirs(face).area == pytest.approx(wood - tongue, rel=1e-3)


def test_a_carved_heel_on_a_neck_that_leans_forward_is_said(redstart):
    with pytest.raises(DesignError) as caught:
        neck_of(with_values(redstart, {"joint.height": None, "joint.angle": -1.0}))
    (sentence,) = caught.value.problems
    assert sentence.startswith("joint.angle: -1.00°")


def test_a_blend_begins_at_a_station_that_the_leaning_face_moves_the_heel_over(redstart):
    # by hand: 352 - 15 - 56 = 281 mm with a square face, 6.68 mm less with the leaning one
    at = 352.0 - 15.0 - 56.0 - 3.0
    late = {"neck.stations[1].at": at}
    assert neck_of(with_values(redstart, late)).shape.heel.blend == pytest.approx(at, abs=1e-9)
    level = {"joint.angle": 0.0, "joint.height": 20.0, "bridge.height_lowest": 10.0}
    assert neck_of(with_values(redstart, {**late, **level})).mesh.points[:, 2].min() == -84.0


@pytest.mark.parametrize("x", [200.0, 300.0, 329.0, 331.0, 340.0, 346.0, 351.0])
def test_a_section_of_the_heel_has_the_area_that_trimesh_finds(redstart, x):
    # reference: trimesh's plane section of the mesh, filled by shapely
    part = neck_of(redstart, 0.01)
    cut = trimesh.intersections.mesh_plane(theirs(part.mesh), [1.0, 0, 0], [x, 0, 0])[:, :, 1:]
    noded = shapely.set_precision(shapely.multilinestrings(shapely.linestrings(cut)), 1e-6)
    (wood,) = shapely.polygonize(shapely.get_parts(noded)).geoms
    asked = float(section_area(part.shape, np.array([x]))[0])
    assert wood.area == pytest.approx(asked, abs=0.01 * wood.length)
    assert wood.area == pytest.approx(asked, rel=5e-4)


@pytest.mark.parametrize("into", [0.5, 15.0, 26.0])
def test_a_section_through_the_tongue_is_its_rectangle(redstart, into):
    # by hand: 26 mm at the body's edge, less 2 tan 1.5 deg = 0.05237 mm a mm
    cut = theirs(neck_of(redstart).mesh).section([1, 0, 0], [352.0 + into, 0, 0])
    low, high = cut.bounds
    assert high[1] - low[1] == pytest.approx(26.0 - 0.052372 * into, abs=1e-3)
    assert (low[2], high[2]) == pytest.approx((-68.0, 0.0), abs=1e-9)


def test_a_station_is_on_the_mesh_as_a_caliper_reads_it(whole):
    mesh = theirs(neck_of(whole).mesh)
    for station in whole.neck.stations:
        low, _ = mesh.section([1, 0, 0], [whole.place(station.at), 0, 0]).bounds
        assert whole.fretboard.thickness - low[2] == pytest.approx(station.thickness, abs=1e-6)


def test_top_and_back_of_the_core_are_planes_of_the_body(curlew):
    part, side = neck_of(curlew), side_view(curlew)
    top = moved(part.mesh.only("body top").points, side.to_body())
    floor = top[top[:, 0] > side.playing.plan.end - side.edge + 0.5]
    assert floor[:, 2] == pytest.approx(0.0, abs=1e-9)
    back = moved(part.mesh.only("heel back").points, side.to_body())
    beyond = back[back[:, 0] > 1.5]
    assert beyond[:, 2] == pytest.approx(-40.0, abs=1e-9)


def test_under_the_fretboard_the_core_is_the_glue_face(curlew):
    face = neck_of(curlew).mesh.only("glue face").points
    assert face[:, 2] == pytest.approx(0.0, abs=1e-12)
    # 24 frets halve the scale twice: 863.6 * 3 / 4 + 12 mm
    assert face[:, 0].max() == pytest.approx(863.6 * 0.75 + 12.0, abs=1e-4)


def test_the_saddle_stands_over_the_cores_top_in_the_bridges_height(curlew):
    # trimesh shoots a ray square to the body's top from the strings' bearing point
    part, side = neck_of(curlew), side_view(curlew)
    saddle = side.playing.saddle
    bearing = np.array([saddle, 0.0, float(side.playing.string().height(np.array([saddle]))[0])])
    down = -side.to_body()[2, :3]
    hits, _, _ = theirs(part.mesh).ray.intersects_location([bearing], [down])
    distance = ((hits - bearing) @ down).min()
    assert distance == pytest.approx(side.needed, abs=1e-6)
    assert side.lowest < side.needed < side.highest
    finding = next(f for f in inspect(make(curlew, 0.08)) if f.check.startswith("bridge height"))
    assert finding.value == pytest.approx(distance, abs=1e-6)


def test_a_core_to_just_behind_the_fretboard_and_one_to_the_tail(curlew):
    for end in (680.0, 863.0, 1200.0):
        part = neck_of(with_values(curlew, {"neck.heel_end": end}), 0.08)
        assert part.mesh.points[:, 0].max() == pytest.approx(end)
        assert theirs(part.mesh).volume == pytest.approx(part.integral, rel=1e-3)


def test_the_body_in_the_neck_plane_leaves_no_step(curlew):
    level = {"joint.height": 0.0, "joint.angle": 0.0, "bridge.height_highest": 40.0}
    part = neck_of(with_values(curlew, {**level, "bridge.height_lowest": 5.0}))
    assert part.mesh.points[:, 2].max() == pytest.approx(0.0, abs=1e-12)
    assert soundness(as_written(part.mesh)).sound


@pytest.mark.parametrize("widths", [(None, None), (None, 80.0), (56.0, 56.0)])
def test_a_core_of_any_width_leaves_the_board_flush_with_the_shaft(curlew, widths):
    width, end = widths
    design = with_values(curlew, {"neck.heel.width": width, "neck.heel.end_width": end})
    found = inspect(make(design, 0.08))
    assert [f.check for f in found if f.verdict is Verdict.FAILED] == []


def test_advice_for_a_through_neck_speaks_of_no_shim(curlew):
    low = {"bridge.height_lowest": 2.0, "bridge.height_highest": 3.0, "joint.angle": 1.3}
    found = inspect(make(with_values(curlew, low), 0.08))
    bridge = next(f for f in found if f.check.startswith("bridge height"))
    assert bridge.verdict is Verdict.FAILED
    assert "shim" not in bridge.advice
    lift = float(bridge.advice.split(" mm")[0].split()[-1])
    mended = with_values(curlew, {**low, "joint.height": curlew.joint.height - lift})
    assert side_view(mended).needed == pytest.approx(2.5, abs=0.01)


carved = st.fixed_dictionaries(
    {
        "kind": st.just("carved"),
        "depth": st.floats(40, 110),
        "blend": st.floats(35, 66),  # a longer one would reach over the station at fret 9
        "cap_length": st.floats(4, 30),
        "cap_width": st.floats(14, 40),
        "flank": st.floats(-1, 1),
        "tongue": st.one_of(
            st.none(),
            st.fixed_dictionaries(
                {
                    "length": st.floats(8, 40),
                    "width": st.floats(12, 26),
                    "depth": st.floats(10, 45),
                    "angle": st.floats(0, 4),
                    "corner_radius": st.one_of(st.just(0.0), st.floats(0.5, 5)),
                }
            ),
        ),
    }
)
through = st.fixed_dictionaries(
    {
        "kind": st.just("through"),
        "depth": st.floats(26, 55),
        "blend": st.floats(20, 140),
        "width": st.one_of(st.none(), st.floats(50, 80)),
        "end_width": st.one_of(st.none(), st.floats(40, 84)),
    }
)
shares = st.floats(0, 1)


def sound(design):
    part = neck_of(design, 0.1)
    written = as_written(part.mesh)
    assert part.chord_error <= 0.1
    assert soundness(written).sound
    assert theirs(written).is_watertight
    skin = float(written.doubled_areas.sum()) / 2
    assert volume(written) == pytest.approx(part.integral, abs=0.1 * skin)


@settings(max_examples=25)
@given(
    heel=carved, shoulder=shares, keel=shares, angle=st.one_of(st.just(0.0), st.floats(0.001, 7))
)
def test_any_valid_carved_heel_gives_a_sound_mesh(redstart, heel, shoulder, keel, angle):
    end = 352.0 + (heel["tongue"]["length"] if heel["tongue"] else 0.0)
    changes = {
        "neck.heel": heel,
        "neck.heel_end": end,
        "joint.pocket_width": None,
        "joint.angle": angle,
        "neck.stations[1].shape": {"shoulder": shoulder, "keel": keel},
    }
    try:
        design = with_values(redstart, changes)
        shape_of(NECK, design)
    except DesignError:
        return  # such a contradiction is the design's own business
    sound(design)


@settings(max_examples=15)
@given(
    heel=through,
    end=st.floats(680, 1250),
    height=st.floats(0, 15),
    angle=st.floats(-1, 4),
    shoulder=shares,
)
def test_any_valid_through_neck_gives_a_sound_mesh(curlew, heel, end, height, angle, shoulder):
    changes = {
        "neck.heel": heel,
        "neck.heel_end": end,
        "joint.height": height,
        "joint.angle": angle,
        "neck.stations[1].shape": {"shoulder": shoulder, "keel": 0.2},
    }
    try:
        design = with_values(curlew, changes)
        shape_of(NECK, design)
    except DesignError:
        return
    sound(design)


def test_most_of_those_random_heels_are_valid(redstart, curlew):
    # so that the tests above say something: their own strategies, counted
    counts = {"carved": [0, 0], "through": [0, 0]}

    @settings(max_examples=50, database=None, derandomize=True)
    @given(carved, through)
    def count(one, other):
        end = 352.0 + (one["tongue"]["length"] if one["tongue"] else 0.0)
        fitted = {"neck.heel": one, "neck.heel_end": end, "joint.pocket_width": None}
        for base, changes in ((redstart, fitted), (curlew, {"neck.heel": other})):
            tally = counts[changes["neck.heel"]["kind"]]
            tally[0] += 1
            try:
                shape_of(NECK, with_values(base, changes))
            except DesignError:
                continue
            tally[1] += 1

    count()
    assert all(valid > tried / 2 for tried, valid in counts.values()), counts


def test_wood_under_a_channel_that_runs_through_the_heel(redstart):
    # reference: shapely, in every section from the outline to the floor, 6 mm wide at 9 mm
    through = with_values(redstart, {"neck.truss_rod.end": 382.0})
    found = next(
        f for f in inspect(make(through, 0.08)) if f.check == "wood under the truss-rod channel"
    )
    shape = shape_of(NECK, through)
    floor = LineString([(-3.0, -9.0), (3.0, -9.0)])
    heel = (found.curve.x > shape.heel.blend) & (found.curve.x < 352.0)
    assert heel.sum() > 10
    for x, wood in zip(found.curve.x[heel], found.curve.values[heel], strict=True):
        nearest = LineString(shape.section(float(x), 401)).distance(floor)
        assert wood == pytest.approx(nearest, abs=0.02)


def test_wood_beside_the_channel_at_the_tongues_end_is_half_of_what_is_left(redstart):
    # by hand: 26 - 2 * 30 tan 1.5 deg = 24.4288 mm wide there, less the channel's 6 mm
    through = with_values(redstart, {"neck.truss_rod.end": 382.0})
    found = next(
        f for f in inspect(make(through, 0.08)) if f.check == "wood beside the truss-rod channel"
    )
    assert found.curve.values[-1] == pytest.approx((24.4288 - 6.0) / 2, abs=1e-3)


def test_wood_under_a_channel_in_the_core_is_down_to_its_leaning_back(curlew):
    # by hand, at the channel's end: the back's depth there, in the neck's frame, less the channel's
    found = next(
        f for f in inspect(make(curlew, 0.08)) if f.check == "wood under the truss-rod channel"
    )
    side, x = side_view(curlew), curlew.place(curlew.neck.truss_rod.end)
    last = found.curve.values[np.argmin(np.abs(found.curve.x - x))]
    rise = (x - side.edge) * np.sin(side.angle)
    back = (side.neck_height + 40.0 + rise) / np.cos(side.angle)
    assert last == pytest.approx(back - 9.5, abs=1e-6)
