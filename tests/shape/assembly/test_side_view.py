"""The side view: angle, neck height and bridge height from one another, by hand and both ways.

Where no source is named the reference is plane trigonometry done here, in whole numbers
where triangles with whole sides allow it.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from plain_heron import plain_heron
from scipy.spatial.transform import Rotation

from carve.design import with_values
from carve.shape.assembly.frames import instrument_to_body, moved
from carve.shape.assembly.side_view import (
    Bow,
    StringLine,
    bow_with,
    contact_rise,
    neck_angle,
    playing,
    side_view,
)


def angle_of(design):
    return math.degrees(side_view(design).angle)


def test_compensation_moves_the_saddle_on_along_the_string(heron):
    # the string of the example in whole numbers goes on rising 1.75 mm in 325: 2.6 mm further
    # it is 2.6 x 1.75 / 325 = 0.014 mm higher
    flat = plain_heron(heron)
    bridge = {"height_lowest": 20.0, "height_highest": 28.0, "top_height": 16.0}
    near = side_view(with_values(flat, {"bridge": {**bridge, "compensation": 0.0}})).playing
    far = side_view(with_values(flat, {"bridge": {**bridge, "compensation": 2.6}})).playing
    heights = [float(p.string().height(np.array([p.saddle]))[0]) for p in (near, far)]
    assert heights == pytest.approx([10.25, 10.264], abs=1e-9)


def test_half_a_millimetre_of_action_is_a_millimetre_of_bridge(plover):
    # similar triangles: the saddle is twice as far from the nut as the 12th fret (compensation 0)
    level = with_values(
        plover,
        {"action.nut_over": "board", "action.nut_height": 1.4, "bridge.compensation": 0.0},
    )
    side = side_view(level)
    assert side.action_with(side.needed + 1.0) == pytest.approx(side.action + 0.5, abs=1e-9)
    assert side.action_with(side.needed) == pytest.approx(1.7, abs=1e-9)


angles = st.floats(-8, 18)
heights = st.floats(-5, 30)


@given(angle=angles, height=heights, top=st.floats(0, 25), relief=st.floats(0, 0.5))
def test_angle_to_bridge_to_angle_and_to_height(angle, height, top, relief, heron):
    wide = {"height_lowest": 0.0, "height_highest": 80.0, "top_height": top}
    base = with_values(heron, {"bridge": wide, "action.relief": relief})
    at = heron.joint.at
    there = side_view(
        with_values(base, {"joint": {"at": at, "angle": angle, "height": height}})
    ).needed
    assume(0 <= there <= 80)
    back = with_values(base, {"bridge.height": there})
    by_height = with_values(back, {"joint": {"at": at, "height": height}})
    assert angle_of(by_height) == pytest.approx(angle, abs=1e-9)
    by_angle = with_values(back, {"joint": {"at": at, "angle": angle}})
    assert side_view(by_angle).neck_height == pytest.approx(height, abs=1e-9)
    # and whichever way it was found, the string comes out where it was asked for
    assert side_view(by_height).action == pytest.approx(1.95, abs=1e-9)
    assert side_view(by_angle).action == pytest.approx(1.95, abs=1e-9)


@given(reach=st.floats(60, 400), saddle=st.floats(3, 30), angle=st.floats(-0.15, 0.35))
def test_the_two_formulas_are_each_others_inverse(reach, saddle, angle):
    assert neck_angle(reach, saddle, contact_rise(reach, saddle, angle)) == pytest.approx(
        angle, abs=1e-12
    )


def test_no_small_angle_was_taken(heron):
    # at 12.68 degrees D sin a and D a differ by 0.45 mm, D tan a by 1.36 mm: both would show
    assert 246 * math.radians(12.6804) - 54 == pytest.approx(0.445, abs=0.005)
    assert neck_angle(246.0, 10.25, 64.0) == pytest.approx(math.atan2(9, 40), abs=1e-12)


def test_the_body_frame_is_a_turn_about_the_body_edge_by_scipy():
    matrix = instrument_to_body(404.0, 0.2, 8.0)
    points = np.array([[404.0, 0, 0], [650.0, 7.0, 10.25], [0.0, -20.0, 6.75]])
    # a positive turn about -y takes x toward z: the bridge's end of the glue plane goes up
    turned = Rotation.from_rotvec([0.0, -0.2, 0.0]).apply(points - np.array([404.0, 0, 0]))
    turned[:, 2] += 8.0
    assert moved(points, matrix) == pytest.approx(turned, abs=1e-12)


def test_the_saddle_in_the_bodys_frame_is_the_bridge_on_its_top(heron):
    side = side_view(heron)
    z = float(side.playing.string().height(np.array([side.playing.saddle]))[0])
    contact = moved(np.array([[side.playing.saddle, 0.0, z]]), side.to_body())[0]
    assert contact[2] == pytest.approx(side.top + side.needed, abs=1e-9)
    assert contact[2] == pytest.approx(17.0 + 25.0, abs=1e-9)  # the middle of 21 to 29, on 17


@pytest.mark.parametrize("move", [-3.0, -0.8, 0.8, 3.0])
def test_the_wedge_that_is_advised_brings_the_bridge_where_it_said(heron, move):
    """The neck turned about the wedge's thin end, by scipy's rotation, then solved afresh."""
    both = with_values(heron, {"joint": {"at": heron.joint.at, "angle": 4.0, "height": 9.0}})
    side = side_view(both)
    heel = heron.place(heron.neck.heel_end)
    at_edge, at_heel = side.wedge(side.needed + move, heel)
    assert (at_heel > 0) == (move > 0)
    assert min(at_edge, at_heel) == 0
    length = heel - side.edge
    turn = math.atan2(at_heel - at_edge, length)
    # the glue plane in the body's frame, turned about its point over the thin end
    pivot, edge = moved(
        np.array([[side.edge if move > 0 else heel, 0, 0], [side.edge, 0, 0]]), side.to_body()
    )
    after = Rotation.from_rotvec([0.0, -turn, 0.0]).apply(edge - pivot) + pivot
    angle = math.degrees(side.angle + turn)
    # where the turned plane stands at the body's own edge, a hair from where it was
    height = after[2] - after[0] * math.tan(side.angle + turn)
    assert abs(after[0]) < 0.2
    shimmed = with_values(both, {"joint": {"at": heron.joint.at, "angle": angle, "height": height}})
    assert side_view(shimmed).needed == pytest.approx(side.needed + move, abs=0.02)


def test_the_range_that_is_left_is_said(heron):
    steep = with_values(heron, {"joint": {"at": heron.joint.at, "angle": 6.0, "height": 9.0}})
    side = side_view(steep)
    assert side.outside == pytest.approx(side.needed - 29.0)
    assert side.outside > 0
    shallow = with_values(heron, {"joint": {"at": heron.joint.at, "angle": 3.0, "height": 9.0}})
    assert side_view(shallow).outside == pytest.approx(side_view(shallow).needed - 21.0)
    assert side_view(heron).outside == 0


def test_an_arc_by_a_triangle_with_whole_sides():
    # 9, 40, 41 times 50: an arc of 2050 mm radius has risen 50 mm, 450 mm before its tangent
    bow = Bow(450.0, 1 / 2050)
    assert bow.rise(np.array([0.0, 450.0, 500.0])) == pytest.approx([50.0, 0.0, 0.0], abs=1e-9)


def test_where_the_straightedge_reaches_over_the_body_it_still_shows_the_relief():
    bow = bow_with(0.2, 350.0, 35.0, 465.0)
    # by hand: half way, at 250 mm, an arc tangent at 350 has risen 100^2/2r, at 35 it has
    # risen 315^2/2r, at 465 nothing; (315^2/2 - 100^2) / 2r = 0.2, so r = 99031 mm
    assert 1 / bow.curvature == pytest.approx((315**2 / 2 - 100**2) / 0.4, rel=1e-3)


def test_where_the_first_fret_is_near_the_body_the_straightedge_lies_on_nut_and_edge(heron):
    # a first fret at 1 - 1/1.4 of the scale, 181 mm, and the body's edge at 170 mm
    few = with_values(
        heron,
        {
            "fretboard.frets": 3,
            "fretboard.temperament": [1.4, 1.6, 2.5],
            "fretboard.slots": None,
            "joint.at": 170.0,
        },
    )
    over = playing(few, few.action)
    assert over.bow.gap(0.0, 170.0) == pytest.approx(few.action.relief, abs=1e-9)


def test_no_relief_no_bow():
    assert np.all(bow_with(0.0, 350.0, 35.0, 465.0).rise(np.linspace(0, 600, 7)) == 0)


def test_relief_lifts_the_nut_and_asks_for_a_lower_bridge(heron):
    """The pull bows the neck forward: with the same action the saddle comes down.

    By hand for the relief of 0.2 mm: the arc's radius is found under the straightedge from
    fret 1 (35.640 mm) to fret 20 (434.988 mm), half way at 235.314 mm, tangent at the body's
    edge, 352.140 mm. Rises times 2r: 316.500^2, 116.826^2, 0. So (316.500^2/2 - 116.826^2)
    / 2r = 0.2 and 2r = 182,194 mm. The nut rises 352.140^2 / 2r = 0.6806 mm, the 12th fret,
    34.640 mm before the edge, 34.640^2 / 2r = 0.0066 mm. A line through both is lower at
    the saddle (637.5 mm, 2.00787 times as far as the 12th fret) by 1.00787 x 0.6806 -
    2.00787 x 0.0066 = 0.6727 mm; the bridge comes down by that times cos 4.6 degrees.
    """
    joint = {"joint": {"at": heron.joint.at, "angle": 4.6, "height": 9.0}}
    flat = side_view(with_values(heron, {**joint, "action.relief": 0.0}))
    bowed = side_view(with_values(heron, {**joint, "action.relief": 0.2}))
    drop = flat.needed - bowed.needed
    assert drop == pytest.approx(0.6727 * math.cos(math.radians(4.6)), abs=1e-3)


def test_a_nut_told_over_the_first_fret_leaves_just_that_space(plover):
    side = side_view(plover)
    over, first = side.playing, side.playing.frets[:1]
    space = over.string().height(first) - over.fret_top(first)
    assert space[0] == pytest.approx(0.4, abs=1e-12)
    assert first[0] / 25.4 == pytest.approx(1.431, abs=5e-4)  # published table, 25.5 in


def test_a_string_is_a_straight_line():
    line = StringLine((0.0, 7.0), (300.0, 9.0))
    assert line.height(np.array([150.0, 600.0])) == pytest.approx([8.0, 11.0])


def test_without_a_joint_there_is_no_side_view(design):
    assert side_view(design) is None


def test_a_set_bridge_says_the_action_it_gives(plover):
    # 1 mm lower than needed: about half a millimetre less action
    needed = side_view(plover).needed
    lower = with_values(plover, {"bridge.height": needed - 1.0})
    assert side_view(lower).action == pytest.approx(1.7 - 0.5, abs=0.04)
    assert side_view(lower).stands == pytest.approx(needed - 1.0)
    assert side_view(lower).needed == pytest.approx(needed)


def test_films_on_the_board_lift_the_string(plover):
    bare = side_view(with_values(plover, {"finish": None}))
    thick = side_view(plover)
    assert thick.needed - bare.needed == pytest.approx(0.05, abs=1e-9)
    assert replace(thick.playing.bow) == bare.playing.bow
