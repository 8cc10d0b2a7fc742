"""The smallest blank, level, askew or scarfed: by hand, by shapely and by turning it about."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from carve.check.every_part import blank
from carve.check.finding import Verdict
from carve.design import load, with_values
from carve.parts.job import make
from carve.shop.laying import laid_askew, thinnest_laying

PIPIT, WHINCHAT, WHEATEAR = "pipit", "whinchat", "wheatear"


@pytest.fixture(scope="session")
def examples(pytestconfig):
    folder = pytestconfig.rootpath / "examples"
    return {name: load(folder / f"{name}.toml") for name in (PIPIT, WHINCHAT, WHEATEAR)}


def found(design, changes=None):
    job = make(with_values(design, changes or {}), 0.05, only=["neck"])
    return {finding.check.removeprefix("blank, "): finding for finding in blank.check(job)}, job


def from_the_side(job):
    return job.parts[0].mesh.points[:, [0, 2]]


def test_a_tilted_bar_lies_straight_by_hand():
    # 100 x 10 mm, turned by 30 degrees about its corner; 100 cos 30 + 10 sin 30 long as it lies
    bar = np.array([[0, 0], [100, 0], [100, 10], [0, 10]], dtype=float)
    turn = math.radians(30)
    turned = bar @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    assert laid_askew(turned).length == pytest.approx(100 * math.cos(turn) + 10 * math.sin(turn))
    best = thinnest_laying(turned)
    assert (best.length, best.thickness) == pytest.approx((100, 10))
    # its end at x = 0 is the lower one, and comes up
    assert best.raised == pytest.approx(turn)


def test_shapely_finds_no_thinner_rectangle_around_a_real_neck(examples):
    _, job = found(examples[PIPIT])
    points = from_the_side(job)
    best = thinnest_laying(points)
    box = shapely.minimum_rotated_rectangle(shapely.MultiPoint(points))
    around = np.array(box.exterior.coords)
    sides = sorted(np.linalg.norm(np.diff(around, axis=0), axis=1))
    assert best.thickness == pytest.approx(sides[0], abs=1e-6)
    assert best.length == pytest.approx(sides[-1], abs=1e-6)
    # turned by that angle about the heel the same neck is as flat as shapely's own box says
    turned = affinity.rotate(shapely.MultiPoint(points), -math.degrees(best.raised), origin=(0, 0))
    low, high = turned.bounds[1], turned.bounds[3]
    assert high - low == pytest.approx(best.thickness, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 500), st.floats(-60, 60)), min_size=3, max_size=25, unique=True)
)
def test_no_other_turn_is_thinner(points):
    cloud = np.round(np.array([*points, (0.0, 0.0), (600.0, 0.0), (300.0, 20.0)]), 3)
    best = thinnest_laying(cloud)
    turns = np.linspace(-0.7, 0.7, 401)
    assert best.thickness <= min(laid_askew(cloud, turn).thickness for turn in turns) + 1e-6
    assert laid_askew(cloud, best.raised).thickness == pytest.approx(best.thickness)


def up(mm):
    """To 0.01 mm, but never down: who takes the figure by its word has enough wood."""
    return f"{math.ceil(mm * 100 - 1e-6) / 100:.2f}".rstrip("0").rstrip(".")


def test_smallest_is_the_part_and_its_allowance_on_both_sides(examples):
    figures, job = found(examples[WHINCHAT], {"neck.blank.allowance": 2.5})
    for axis, name in enumerate(("length", "width", "thickness")):
        smallest = float(np.ptp(job.parts[0].mesh.points[:, axis])) + 5.0
        assert f"smallest {up(smallest)}" in figures[name].detail


def test_a_blank_of_just_that_size_does_and_a_smaller_one_does_not(examples):
    design = examples[WHINCHAT]
    _, job = found(design)
    sizes = np.ptp(job.parts[0].mesh.points, axis=0) + 2 * design.neck.blank.allowance
    for axis, name in enumerate(("length", "width", "thickness")):
        size = float(sizes[axis])
        just, _ = found(design, {f"neck.blank.{name}": size})
        less, _ = found(design, {f"neck.blank.{name}": size - 0.01})
        assert just[name].verdict is Verdict.GOOD
        assert less[name].verdict is Verdict.FAILED


def test_a_headstock_to_one_side_wants_a_wider_blank_about_the_centre_line(examples):
    figures, job = found(examples[WHINCHAT])
    reach = float(np.abs(job.parts[0].mesh.points[:, 1]).max())
    said = f"{up(2 * reach + 2)} mm with the centre line in its middle"
    assert said in figures["width"].detail


def test_a_thin_blank_holds_a_tilted_headstock_only_askew_and_says_so(examples):
    design = examples[PIPIT]
    level, job = found(design)
    best = thinnest_laying(from_the_side(job))
    assert level["thickness"].verdict is Verdict.GOOD
    assert math.degrees(best.raised) > 1
    assert "its headstock end up" in level["thickness"].detail
    thin = best.thickness + 2.0
    askew, _ = found(design, {"neck.blank.thickness": thin})
    assert askew["thickness"].verdict is Verdict.WARNING
    assert askew["thickness"].value == pytest.approx(1.0, abs=1e-6)
    assert "askew" in askew["thickness"].advice
    thinner, _ = found(design, {"neck.blank.thickness": thin - 0.1})
    assert thinner["thickness"].verdict is Verdict.FAILED
    # askew it is longer: a blank that is long enough only for the level neck does not do
    short = {
        "neck.blank.thickness": thin,
        "neck.blank.length": laid_askew(from_the_side(job)).length + 2,
    }
    shorter, _ = found(design, short)
    assert best.length > laid_askew(from_the_side(job)).length
    assert shorter["thickness"].verdict is Verdict.FAILED


def test_what_sticks_out_is_said_with_place_direction_and_how_far(examples):
    design = examples[WHINCHAT]
    small = {"neck.blank.length": 600.0, "neck.blank.width": 60.0, "neck.blank.thickness": 12.0}
    figures, job = found(design, small)
    points = job.parts[0].mesh.points
    assert {finding.verdict for finding in figures.values()} == {Verdict.FAILED}
    out = (float(np.ptp(points[:, 1])) - 60.0) / 2
    assert f"it sticks out {out:.2f} mm on each side" in figures["width"].detail
    assert "to the bass side" in figures["width"].detail
    side = points[np.argmin(points[:, 1])]
    assert figures["width"].point == pytest.approx(tuple(side))
    assert "behind the nut and" in figures["length"].detail
    assert "19 mm below the glue face" in figures["thickness"].detail


def test_a_scarfed_neck_is_held_against_the_board_that_both_pieces_come_from(examples):
    figures, job = found(examples[WHEATEAR])
    length, thickness = job.parts[0].shape.board_to_saw()
    assert f"smallest {up(length + 2)} mm" in figures["length"].detail
    assert figures["thickness"].detail.startswith("sawn and glued, 24 mm")
    assert thickness == pytest.approx(24.0)
    assert "askew" not in figures["thickness"].detail
    # in one piece the same neck takes far more wood, even askew
    whole, job = found(examples[WHEATEAR], {"neck.headstock.joint": "one piece"})
    assert thinnest_laying(from_the_side(job)).thickness > thickness + 5
    assert whole["thickness"].verdict is Verdict.FAILED
