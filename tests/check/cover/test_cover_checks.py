"""The findings about covers: good where all is well, and each able to fail, by hand's figures."""

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from covers import COVER, SCREWS, SHAPES, THICK, cavity, drawn, recess, slab

from carve.check.cover import flush, gap, ledge, screws
from carve.check.every_part import blank
from carve.check.finding import Verdict
from carve.check.report import inspect, worst
from carve.design import load, with_values
from carve.parts.job import make
from carve.solid.mesh import Mesh

CHORD = 0.02
COARSE = 0.1  # mm, of carved tops, which take their time


@pytest.fixture(scope="module")
def linnet(request):
    return load(request.config.rootpath / "examples" / "linnet.toml")


@pytest.fixture(scope="module")
def brambling(request):
    return load(request.config.rootpath / "examples" / "brambling.toml")


def made(design, chord=CHORD):
    names = ["body", "cover", "cover-lid", "cover-hatch-1", "cover-hatch-2"]
    return make(design, chord, only=names)


def found(check, job, name=""):
    (finding,) = (f for f in check.check(job) if f.check == name or not name)
    return finding


def with_screws(**keys):
    kept = {**SCREWS, **keys}
    return {**COVER, "screws": {key: value for key, value in kept.items() if value is not None}}


def lid(linnet, cover=None, *others, **keys):
    return made(slab(linnet, *others, recess("lid", 150.0, 0.0, cover, **keys)))


def shifted(job, offset):
    """The job with its cover's mesh, but not its shape, somewhere else: what a fault would do."""
    body, cover = job.parts
    mesh = cover.mesh
    moved = Mesh(mesh.points + offset, mesh.triangles, mesh.surface, mesh.names)
    return replace(job, parts=(body, replace(cover, mesh=moved)))


@pytest.mark.parametrize(
    ("name", "cover"),
    [("linnet", "controls"), ("brambling", "controls"), ("wigeon", "sound-hole")],
)
def test_the_examples_covers_have_no_finding_but_good_ones(request, name, cover):
    design = load(request.config.rootpath / "examples" / f"{name}.toml")
    findings = inspect(make(design, 0.08, only=["body", f"cover-{cover}"]))
    assert worst(findings) is Verdict.GOOD
    assert len([f for f in findings if f.part == f"cover-{cover}"]) == 13


@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("asked", [0.1, 0.6])
def test_the_gap_is_measured_on_both_meshes(linnet, shape, face, asked):
    job = lid(linnet, {"gap": asked}, face=face, **SHAPES[shape])
    finding = found(gap, job)
    assert finding.verdict is Verdict.GOOD
    body, cover = job.parts
    # shapely between the two rings, each within its chord error
    plans = (shapely.Polygon(one.points(CHORD)) for one in (cover.shape.recess, cover.shape.plan))
    outer, inner = plans
    assert outer.exterior.distance(inner) == pytest.approx(asked, abs=2 * CHORD)
    assert finding.value == pytest.approx(asked, abs=2 * CHORD)
    assert finding.limit == pytest.approx(0.05 + body.chord_error + cover.chord_error)


def test_a_cover_out_of_its_place_fails_the_gap_and_its_screws(linnet):
    job = lid(linnet)
    assert found(gap, shifted(job, [0.25, 0, 0])).verdict is Verdict.FAILED
    assert found(gap, shifted(job, [0.25, 0, 0])).value == pytest.approx(0.05, abs=1e-3)
    into = found(gap, shifted(job, [0.0, 0.5, 0]))  # into the wall
    assert into.verdict is Verdict.FAILED
    assert into.value == pytest.approx(-0.2, abs=1e-3)
    line = found(screws, shifted(job, [0.25, 0, 0]), "screw holes over their pilot holes")
    assert line.verdict is Verdict.FAILED
    assert line.value == pytest.approx(0.25, abs=1e-6)
    assert found(screws, job, line.check).value == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize(
    ("thickness", "value", "verdict", "advice"),
    [
        (None, 0.0, Verdict.GOOD, ""),
        (2.35, 0.15, Verdict.GOOD, ""),
        (3.0, 0.5, Verdict.FAILED, "make body.pockets[0].cover.thickness 2.5 mm"),
        (2.0, 0.5, Verdict.FAILED, "make body.pockets[0].cover.thickness 2.5 mm"),
    ],
)
def test_a_cover_as_thick_as_its_recess_is_deep_lies_flush(
    linnet, face, thickness, value, verdict, advice
):
    cover = {"gap": 0.3, **({} if thickness is None else {"thickness": thickness})}
    finding = found(flush, lid(linnet, cover, face=face))
    assert finding.value == pytest.approx(value, abs=1e-9)
    assert finding.verdict is verdict
    assert finding.advice == advice


def arched(brambling, **more):
    """A carved top with a cover recess on its arch, where the neck pickup was."""
    pocket = recess("lid", 180.0, 60.0, {"gap": 0.3, **more}, face="front", length=40.0, width=20.0)
    mortise = brambling.body.pockets[0].model_dump(exclude_none=True)
    return made(with_values(brambling, {"body.pockets": [mortise, pocket]}), COARSE)


def test_on_an_arch_no_flat_plate_lies_flush_and_the_finding_says_so(brambling):
    job = arched(brambling)
    finding = found(flush, job)
    assert finding.verdict is Verdict.FAILED
    body, cover = job.parts
    # its outside lies on the edge plane, the arch above it: heights by the body's own spline
    rim = shapely.LinearRing(cover.shape.recess.points(0.01))
    rim = shapely.get_coordinates(shapely.segmentize(rim, 0.5))
    heights = body.shape.top_at(rim)
    assert finding.value == pytest.approx(heights.max(), abs=2 * COARSE)
    assert "falls" in finding.advice
    assert "no flat plate lies flush" in finding.advice
    thicker = found(flush, arched(brambling, thickness=2.5 + float(heights.mean())))
    assert thicker.verdict is Verdict.FAILED
    assert thicker.value == pytest.approx(np.abs(heights - heights.mean()).max(), abs=2 * COARSE)


def test_on_a_pad_the_advice_brings_a_plate_flush(brambling):
    pad = {"name": "pad", "height": 12.0}
    pad["points"] = [[150, 30], [230, 30], [230, 90], [150, 90]]
    design = with_values(brambling, {"body.top.pads": [pad]})
    finding = found(flush, arched(design))
    assert finding.verdict is Verdict.FAILED
    assert re.fullmatch(r"make body\.pockets\[1\]\.cover\.thickness 14\.\d+ mm", finding.advice)
    said = float(finding.advice.split()[-2])
    assert said == pytest.approx(14.5, abs=COARSE)
    right = found(flush, arched(design, thickness=14.5))
    assert right.verdict is Verdict.GOOD
    assert right.value < COARSE


def test_a_cover_wants_a_ledge_to_lie_on(linnet):
    # a recess of 80 x 50 around a cavity of 60 x 30: 10 mm of floor less the gap, wider at corners
    def ledge_over(length, width):
        under = cavity("controls", 150.0, 0.0, length=length, width=width)
        return found(ledge, lid(linnet, {"gap": 0.3}, under, corner_radius=None))

    good = ledge_over(60.0, 30.0)
    assert good.verdict is Verdict.GOOD
    cover = (79.4, 49.4)
    assert good.value == pytest.approx((cover[0] * cover[1] - 60 * 30) / (2 * sum(cover)))
    thin = ledge_over(78.0, 48.0)
    assert thin.verdict is Verdict.FAILED
    assert thin.value == pytest.approx((cover[0] * cover[1] - 78 * 48) / (2 * sum(cover)))
    assert "make the recess wider than the cavity" in thin.advice
    assert ledge_over(80.0, 50.0).value == 0.0


def test_where_a_cavity_takes_the_recesss_walls_the_gap_says_so(linnet):
    under = cavity("controls", 150.0, 0.0, length=90.0, width=20.0)
    finding = found(gap, lid(linnet, {"gap": 0.3}, under))
    assert finding.verdict is Verdict.FAILED
    assert "another cut has taken the recess's wall away there" in finding.advice


def test_wood_around_the_holes_is_what_is_left_of_the_cover(linnet):
    # 4 mm from the edge to the middle, less half of the hole or of its head
    name = "wood around its screw holes"
    assert found(screws, lid(linnet), name).value == pytest.approx(2.5, abs=0.01)
    tight = found(screws, lid(linnet, with_screws(head=5.5)), name)
    assert tight.value == pytest.approx(1.25, abs=0.01)
    assert tight.verdict is Verdict.FAILED
    assert tight.advice.startswith("0.25 mm more is needed")
    near = with_screws(count=None, from_edge=None, points=[[-20, 0], [-16.0, 0]])
    assert found(screws, lid(linnet, near), name).value == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("face", ["front", "back"])
def test_a_pilot_hole_wants_a_floor_around_it(linnet, face):
    # the recess is 80 x 50, the cavity under it 60 x 30: 10 mm of floor all around
    under = cavity("controls", 150.0, 0.0, face=face)
    name = "wood around its pilot holes"
    good = found(screws, lid(linnet, with_screws(count=1), under, face=face), name)
    assert good.verdict is Verdict.GOOD
    assert good.value == pytest.approx(10 - 0.3 - 4.0 - 1.0, abs=0.01)
    over = with_screws(count=None, from_edge=None, points=[[0, 20.0], [0, 3.0]])
    job = lid(linnet, over, under, face=face)
    bad = found(screws, job, name)
    assert bad.verdict is Verdict.FAILED
    assert bad.value == pytest.approx(-12.0 - 1.0, abs=0.01)
    assert "screw 2" in bad.place
    hold = found(screws, job, "wood that its screws hold in")
    assert (hold.verdict, hold.value) == (Verdict.FAILED, 0.0)
    assert "to where more wood lies under it" in hold.advice
    # of a pilot hole that is nowhere no middle is told; the other screw's lies under its hole
    line = found(screws, job, "screw holes over their pilot holes")
    assert (line.verdict, line.value) == (Verdict.GOOD, pytest.approx(0.0, abs=1e-6))


@pytest.mark.parametrize("into", [14.5, 14.8, 15.2, 15.8])
def test_a_pilot_hole_that_a_cavity_cuts_into_still_has_its_middle(linnet, into):
    # the cavity's wall lies 15 mm from the middle; of the hole, 1 mm in radius, less and less is
    # left, and on the mesh's chords its wall seemed to lie further from the screw, by up to 0.2 mm
    under = cavity("controls", 150.0, 0.0)
    one = with_screws(count=None, from_edge=None, points=[[0.0, into]])
    job = lid(linnet, one, under)
    assert found(screws, job, "wood around its pilot holes").verdict is Verdict.FAILED
    line = found(screws, job, "screw holes over their pilot holes")
    assert line.verdict is Verdict.GOOD
    assert line.value == pytest.approx(0.0, abs=1e-3)


@pytest.mark.parametrize(("face", "below"), [("front", 10.0), ("back", THICK - 10.0)])
def test_wood_that_a_screw_holds_in_ends_at_what_it_comes_out_in(linnet, face, below):
    bore = {"name": "jack", "x": 340.0, "y": 0.0, "angle": 180.0, "diameter": 8.0}
    bore |= {"depth": 200.0, "below": below}
    one = with_screws(count=None, from_edge=None, points=[[10.0, 0.0]])
    job = made(slab(linnet, recess("lid", 150.0, 0.0, one, face=face), body__bores=[bore]))
    hold = found(screws, job, "wood that its screws hold in")
    assert hold.value == pytest.approx(10.0 - 4.0 - 2.5)
    free = lid(linnet, one, face=face)
    assert found(screws, free, hold.check).value == pytest.approx(10.0)


def test_a_cover_of_a_drawing_goes_through_every_check(linnet):
    curves = ["M -60 60 C -60 30 10 30 10 60 C 10 80 20 90 10 120 C 0 140 -60 130 -60 60 Z",
              "M -50 200 H 40 V 250 Q -5 230 -50 250 Z"]  # fmt: skip
    job = made(drawn(linnet, curves))
    for check in (gap, ledge, flush, screws):
        verdicts = [f.verdict for f in check.check(job)]
        assert verdicts == [Verdict.GOOD] * len(verdicts)
        assert len(verdicts) == (8 if check is screws else 2)


def test_its_blank_is_held_against_the_cover_alone(linnet):
    # 79.4 x 49.4 x 2.5 mm; no word of a centre line, which lies 60 mm beside it
    wood = {"length": 81.4, "width": 51.0, "thickness": 2.9, "allowance": 0.2}
    job = made(slab(linnet, recess("lid", 150.0, 60.0, {**COVER, "blank": wood})))
    length, width, thick = blank.check(job)
    assert [f.value for f in (length, width, thick)] == pytest.approx([1.0, 0.8, 0.2], abs=1e-9)
    assert all(f.verdict is Verdict.GOOD for f in (length, width, thick))
    assert "centre line" not in width.detail
    small = made(
        slab(linnet, recess("lid", 150.0, 60.0, {**COVER, "blank": {**wood, "length": 79}}))
    )
    (length, *_) = blank.check(small)
    assert length.verdict is Verdict.FAILED
    assert "behind the nut" not in length.detail


@pytest.mark.parametrize("deep", [40.0, 52.0])
def test_a_cover_as_deep_as_a_chamber_is_judged_where_walls_are_left(pytestconfig, deep):
    # a recess through a top of 5 mm into a chamber: half way up the thick cover there is no wall
    wigeon = load(pytestconfig.rootpath / "examples" / "wigeon.toml")
    job = make(with_values(wigeon, {"body.pockets[1].depth": deep}), 0.08)
    by_id = {finding.id.partition(".")[2]: finding for finding in inspect(job)}
    assert by_id["gap"].verdict is Verdict.GOOD
    assert by_id["gap"].point[2] > -5.0
    assert by_id["ledge"].verdict is Verdict.FAILED
