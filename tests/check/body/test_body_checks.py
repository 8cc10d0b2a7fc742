"""The body's findings: right when all is well, and able to fail, with figures reckoned by hand."""

import math

import pytest

from carve.check.assembly import bridge_on_body, neck_in_body
from carve.check.body import boards as body_boards
from carve.check.body import wood as body_wood
from carve.check.finding import Verdict
from carve.check.report import inspect, worst
from carve.design import load, with_values
from carve.parts.job import make

BLOCK = {"points": [[0, -100], [300, -100], [300, 100], [0, 100]], "smooth": False}
SLAB = {"body.outline": BLOCK, "body.thickness": 40.0, "body.bores": []}


@pytest.fixture(scope="module")
def linnet(request):
    return load(request.config.rootpath / "examples" / "linnet.toml")


def box(name, x, y, length, width, depth, face="front", **more):
    sizes = {"x": x, "y": y, "length": length, "width": width, "depth": depth}
    return {"name": name, "shape": "rectangle", "face": face, **sizes, **more}


def wood(design, **more):
    job = make(with_values(design, {**SLAB, **more}), 0.05, only=["body"])
    return {finding.check: finding for finding in body_wood.check(job)}


def found(check, design, name, only=None):
    (finding,) = (f for f in check.check(make(design, 0.05, only=only)) if f.check == name)
    return finding


def test_the_example_has_no_finding_but_good_ones(linnet):
    findings = inspect(make(linnet, 0.05))
    assert worst(findings) is Verdict.GOOD
    assert {f.part for f in findings} == {"neck", "fretboard", "body", "cover-controls", "assembly"}


@pytest.mark.parametrize(
    ("pockets", "check", "value", "limit"),
    [
        ([box("a", 100, 0, 60, 40, 35.5)], "wood under the pockets", 4.5, 4.0),
        ([box("a", 100, 0, 60, 40, 36.5)], "wood under the pockets", 3.5, 4.0),
        ([box("a", 100, 0, 60, 40, 34.5, "back")], "wood over the pockets from the back", 5.5, 5.0),
        ([box("a", 100, 0, 60, 40, 36.0, "back")], "wood over the pockets from the back", 4.0, 5.0),
        (
            [box("a", 100, 0, 60, 40, 20), box("b", 110, 0, 60, 40, 16.5, "back")],
            "wood between pockets over one another",
            3.5,
            4.0,
        ),
        (
            [box("a", 100, 0, 60, 40, 20), box("b", 162, 0, 60, 40, 30)],
            "walls between pockets",
            2.0,
            3.0,
        ),
        ([box("a", 35, 0, 60, 40, 20)], "walls to the body's outside", 5.0, 6.0),
        (
            [box("a", 20, 0, 60, 40, 15, kind="neck"), box("b", 74, 0, 40, 40, 15)],
            "wall behind the neck pocket",
            4.0,
            6.0,
        ),
    ],
)
def test_each_kind_of_wall_is_measured_and_judged(linnet, pockets, check, value, limit):
    finding = wood(linnet, **{"body.pockets": pockets})[check]
    assert finding.value == pytest.approx(value)
    assert finding.limit == limit
    assert finding.verdict is (Verdict.GOOD if value >= limit else Verdict.FAILED)
    assert bool(finding.advice) is (value < limit)
    assert finding.source.startswith("limits.")


def test_the_place_of_a_thin_wall_lies_in_it(linnet):
    pockets = [box("a", 100, 0, 60, 40, 20), box("b", 162, 10, 60, 40, 30)]
    x, y, z = wood(linnet, **{"body.pockets": pockets})["walls between pockets"].point
    assert 130 < x < 132
    assert -10 <= y <= 20
    assert z == pytest.approx(-10.0)  # half way down the shallower one


def test_all_walls_that_are_too_thin_are_told_and_not_only_the_thinnest(linnet):
    pockets = [box(f"p{n}", 60 + 41.0 * n, 0, 40, 40, 20) for n in range(5)]
    job = make(with_values(linnet, {**SLAB, "body.pockets": pockets}), 0.05, only=["body"])
    thin = [f for f in body_wood.check(job) if f.check == "walls between pockets"]
    assert [f.value for f in thin] == pytest.approx([1.0] * 4)
    assert {f.verdict for f in thin} == {Verdict.FAILED}


def test_a_cavity_with_its_cover_recess_is_one_hole_in_the_wood(linnet):
    pockets = [box("cavity", 150, 0, 60, 40, 30, "back"), box("cover", 150, 0, 80, 60, 3, "back")]
    findings = wood(linnet, **{"body.pockets": pockets})
    assert "wood between pockets over one another" not in findings
    assert findings["wood over the pockets from the back"].value == pytest.approx(10.0)


def test_a_pocket_open_to_the_cavity_under_all_of_it_has_no_floor_to_be_thin(linnet):
    # the slot's floor is the cavity: nothing is under it
    pockets = [box("slot", 150, 0, 20, 6, 38), box("cavity", 150, 0, 60, 40, 30, "back")]
    assert "wood under the pockets" not in wood(linnet, **{"body.pockets": pockets})


def test_wood_around_a_bore_is_what_its_round_leaves(linnet):
    jack = {"name": "jack", "x": 300.0, "y": 0.0, "angle": 180.0, "diameter": 22.0}
    bores = [{**jack, "depth": 40.0, "below": 26.5}]
    findings = wood(linnet, **{"body.pockets": [], "body.bores": bores})
    assert findings["wood around the bores"].value == pytest.approx(40 - 26.5 - 11)
    assert findings["wood around the bores"].verdict is Verdict.FAILED
    assert findings["walls to the body's outside"].value == pytest.approx(89.0)
    through = [{**jack, "depth": 297.0, "below": 20.0}]
    ends = wood(linnet, **{"body.pockets": [], "body.bores": through})
    assert ends["walls to the body's outside"].value == pytest.approx(3.0)
    out = [{**jack, "depth": 320.0, "below": 20.0}]
    ends = wood(linnet, **{"body.pockets": [], "body.bores": out})
    assert ends["walls to the body's outside"].value == 0.0


def test_a_hollow_bodys_plates_and_rim_are_held_to_their_limits(linnet):
    hollow = {"rim": 4.5, "top": 2.0, "back": 3.0}
    findings = wood(linnet, **{"body.pockets": [], "body.hollow": hollow})
    for check, value, verdict in (
        ("hollow body's top", 2.0, Verdict.FAILED),
        ("hollow body's back", 3.0, Verdict.GOOD),
        ("hollow body's sides", 4.5, Verdict.FAILED),
    ):
        assert findings[check].value == pytest.approx(value)
        assert findings[check].verdict is verdict


def test_a_thin_horn_beside_the_neck_pocket_is_found_and_its_mouth_is_not(linnet):
    # a slab with a notch from its edge, 4 mm beside the pocket's wall on the treble side
    notched = [[0, -100], [300, -100], [300, 100], [0, 100], [0, 49], [45, 49], [45, 29], [0, 29]]
    pocket = {"body.pockets": [box("neck pocket", 20, 0, 80, 50, 15, kind="neck")]}
    outline = {"body.outline": {"points": notched, "smooth": False}}
    finding = wood(linnet, **pocket, **outline)["walls to the body's outside"]
    assert finding.value == pytest.approx(4.0)
    assert finding.verdict is Verdict.FAILED
    assert finding.point[1] == pytest.approx(27.0)
    # without the notch the wall at the mouth has the body's whole edge beside it
    assert wood(linnet, **pocket)["walls to the body's outside"].verdict is Verdict.GOOD


def test_a_neck_pocket_in_a_chamber_has_no_wood_around_it(linnet):
    pocket = [box("neck pocket", 20, 0, 80, 50, 15, kind="neck")]
    hollow = {"rim": 10.0, "top": 4.0, "back": 4.0}
    finding = wood(linnet, **{"body.pockets": pocket, "body.hollow": hollow})[
        "wall behind the neck pocket"
    ]
    assert finding.value == 0.0
    assert finding.verdict is Verdict.FAILED
    # a block of 70 mm leaves 10 mm on each side of it
    blocked = {"body.pockets": pocket, "body.hollow": {**hollow, "centre_block": 70.0}}
    finding = wood(linnet, **blocked)["wall behind the neck pocket"]
    assert finding.value == pytest.approx(10.0)
    assert finding.verdict is Verdict.GOOD


def test_the_limits_are_the_builders(linnet):
    pockets = [box("a", 100, 0, 60, 40, 36.5)]
    more = {"body.pockets": pockets, "limits.wood_under_pockets": 3.5}
    assert wood(linnet, **more)["wood under the pockets"].verdict is Verdict.GOOD


HEIGHT = "neck height with its heel on the pocket's floor"
ROOM = "room around the heel in its pocket"


@pytest.mark.parametrize(
    ("depth", "stands", "verdict"),
    [(15.1, 4.0, Verdict.GOOD), (15.3, 3.8, Verdict.GOOD), (15.4, 3.7, Verdict.FAILED)],
)
def test_the_necks_height_follows_from_heel_and_pocket(linnet, depth, stands, verdict):
    # 19 mm of heel and 0.1 mm of film on its back, less the pocket's depth
    finding = found(neck_in_body, with_values(linnet, {"body.pockets[0].depth": depth}), HEIGHT)
    assert finding.value == pytest.approx(stands)
    assert finding.verdict is verdict
    if verdict is Verdict.FAILED:
        assert "body.pockets[0].depth 15.1 mm" in finding.advice


def test_a_leaning_heel_stands_by_its_square_depth(linnet):
    # the back of a heel D deep, leaning by a, is D / cos a under the glue plane, straight down
    changes = {"joint": {"at": "fret 16", "angle": 3.0}, "bridge.height_highest": 40.0}
    finding = found(neck_in_body, with_values(linnet, changes), HEIGHT)
    assert finding.value == pytest.approx(19.1 / math.cos(math.radians(3.0)) - 15.1, abs=1e-4)
    level = {**changes, "body.pockets[0].slope": 0.0}
    apart = found(neck_in_body, with_values(linnet, level), HEIGHT)
    assert "lean 3.00° apart" in apart.detail


def explicit(length, width, **more):
    """A pocket of its own sizes, for a heel with sharp corners."""
    pocket = box("neck pocket", 0.0, 0.0, length, width, 15.1, kind="neck", **more)
    return {"neck.heel.corner_radius": 0.0, "body.pockets[0]": pocket}


def test_a_pocket_that_follows_the_heel_gives_it_its_glue_line(linnet):
    assert found(neck_in_body, linnet, ROOM).value == pytest.approx(0.05, abs=2e-3)
    filmed = {
        "finish.masked": ["fretboard top", "fretboard sides"],
        "finish.films[1].on": ["body top", "pocket walls"],
    }
    finding = found(neck_in_body, with_values(linnet, filmed), ROOM)
    assert finding.value == pytest.approx(0.05, abs=2e-3)
    assert finding.verdict is Verdict.GOOD


def test_a_pocket_of_its_own_sizes_is_held_against_the_heel(linnet):
    # the heel's block is as wide as the neck: 56 mm at its end, and goes 53.03 mm into the body
    end = linnet.place(linnet.neck.heel_end) - linnet.place(linnet.joint.at)
    for width, verdict in ((57.0, Verdict.WARNING), (56.1, Verdict.GOOD), (55.9, Verdict.FAILED)):
        design = with_values(linnet, explicit(2 * end + 40, width))
        finding = found(neck_in_body, design, ROOM)
        assert finding.value == pytest.approx((width - 56.0) / 2, abs=2e-3)
        assert finding.verdict is verdict
    # a pocket that is too short, its corners tighter than the heel's
    design = with_values(linnet, explicit(2 * end - 0.8, 57.0))
    finding = found(neck_in_body, design, ROOM)
    assert finding.value == pytest.approx(-0.4, abs=1e-3)
    assert finding.verdict is Verdict.FAILED


def test_corners_of_a_pocket_that_are_rounder_than_the_heels_are_found(linnet):
    end = linnet.place(linnet.neck.heel_end) - linnet.place(linnet.joint.at)
    round_one = explicit(2 * (end + 0.05), 56.1, corner_radius=12.0)
    finding = found(neck_in_body, with_values(linnet, round_one), ROOM)
    # a sharp corner 0.05 mm inside the pocket's two sides, whose corner is an arc of 12 mm
    expected = 12 - math.hypot(12 - 0.05, 12 - 0.05)
    assert finding.value == pytest.approx(expected, abs=0.005)
    assert finding.verdict is Verdict.FAILED


CLEAR = "neck clear of the body beside its pocket"
STRAIGHT = {"body.outline": {**BLOCK, "points": [[x, y] for x, y in BLOCK["points"]]}}


@pytest.mark.parametrize(
    ("length", "lean", "deep"), [(54.0, 0.0, 0.0), (51.0, 0.0, 2.03), (54.0, 3.0, 0.075)]
)
def test_shoulders_that_stand_in_the_body_are_found(linnet, length, lean, deep):
    # the tenon's end is 53.03 mm from the body's edge; leaning shoulders reach D sin(lean) further
    tenon = {"kind": "tenon", "length": length, "depth": 20.0, "blend": 38.0, "width": 42.0}
    changes = {
        **STRAIGHT,
        "neck.heel": tenon,
        "neck.truss_rod.end": "fret 15",
        "joint": {"at": "fret 16", "angle": lean, "height": 4.0},
        "bridge": {"height_lowest": 5.0, "height_highest": 40.0},
        "body.pockets": [linnet.body.pockets[0].model_dump(exclude={"bolts"}, exclude_none=True)],
        "body.bores": [],
    }
    end = linnet.place(linnet.neck.heel_end) - linnet.place(linnet.joint.at)
    reach = (end - length) * math.cos(math.radians(lean)) + 20 * math.sin(math.radians(lean))
    finding = found(neck_in_body, with_values(linnet, changes), CLEAR)
    assert finding.value == pytest.approx(max(reach, 0.0), abs=1e-6)
    assert finding.value == pytest.approx(deep, abs=0.01)
    assert finding.verdict is (Verdict.FAILED if deep > 0.05 else Verdict.GOOD)


def test_a_horn_under_the_necks_side_is_found(linnet):
    # a horn that reaches 60 mm toward the nut, its inner side 24 mm from the centre line, where
    # the neck is 42 + 14 x / 443.69 mm wide, x from the nut
    horned = [[0, -100], [300, -100], [300, 100], [-60, 100], [-60, 24], [0, 24]]
    pocket = box("neck pocket", 0.0, 0.0, 2 * 53.03 + 0.1, 56.2, 15.1, kind="neck")
    changes = {"body.outline": {"points": horned}, "body.pockets": [pocket], "body.bores": []}
    finding = found(neck_in_body, with_values(linnet, {**SLAB, **changes}), CLEAR)
    # the pocket runs 53.08 mm out; before that, x mm from the nut, the neck is the wider by
    x = linnet.place(linnet.joint.at) - 53.08
    assert finding.value == pytest.approx(
        21 + 7 * x / linnet.place(linnet.neck.heel_end) - 24, abs=0.05
    )
    assert finding.verdict is Verdict.FAILED


def test_the_saddle_lies_on_the_body(linnet):
    finding = found(bridge_on_body, linnet, "saddle on the body")
    assert finding.verdict is Verdict.GOOD
    x, y, _ = finding.point
    # 25 1/2 in. and 2 mm of compensation, from the 16th fret on
    assert x == pytest.approx(647.7 * 2 ** (-16 / 12) + 2.0)
    assert abs(y) == pytest.approx(26.25)
    short = with_values(linnet, {**SLAB, "body.pockets": []})
    assert found(bridge_on_body, short, "saddle on the body").value == pytest.approx(300 - x)
    small = {"points": [[0, -100], [240, -100], [240, 100], [0, 100]], "smooth": False}
    outside = with_values(linnet, {**SLAB, "body.outline": small, "body.pockets": []})
    finding = found(bridge_on_body, outside, "saddle on the body")
    assert finding.value == pytest.approx(240 - x)
    assert finding.verdict is Verdict.FAILED


def test_an_outline_that_misses_the_frames_origin_is_told(linnet):
    moved = {"points": [[3, -100], [300, -100], [300, 100], [3, 100]], "smooth": False}
    design = with_values(linnet, {**SLAB, "body.outline": moved, "body.pockets": []})
    finding = found(bridge_on_body, design, "body's edge on the centre line")
    assert finding.value == pytest.approx(3.0)
    assert finding.verdict is Verdict.WARNING
    assert "toward the neck" in finding.advice


BOARDS = "width of each board of the blank"


def test_boards_with_their_joint_on_the_centre_line_must_reach_the_wider_side(linnet):
    # 110 mm to the bass side and 90 to the treble: two boards of 110 + 1 mm
    lopsided = {"points": [[0, -110], [300, -110], [300, 90], [0, 90]], "smooth": False}
    blank = {"length": 320.0, "width": 210.0, "thickness": 46.0, "boards": 2}
    base = {**SLAB, "body.outline": lopsided, "body.pockets": []}
    centred = with_values(linnet, {**base, "body.blank": {**blank, "joint": "centre line"}})
    finding = found(body_boards, centred, BOARDS)
    assert finding.limit == pytest.approx(111.0)
    assert finding.value == pytest.approx(105.0)
    assert finding.verdict is Verdict.FAILED
    assert "222 mm" in finding.advice
    anywhere = with_values(linnet, {**base, "body.blank": blank})
    finding = found(body_boards, anywhere, BOARDS)
    assert finding.limit == pytest.approx(101.0)
    assert finding.verdict is Verdict.GOOD
