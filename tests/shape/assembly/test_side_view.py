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


def plain_heron(heron, **more):
    """The archtop without bow and finish, its string told by round numbers."""
    values = {
        "scale_length": 650.0,
        "fretboard.thickness": 5.5,
        "finish": None,
        "action": {"bass": 2.0, "treble": 2.0, "fret_height": 1.0, "nut_height": 1.25},
    }
    return with_values(heron, {**values, **more})


def angle_of(design):
    return math.degrees(side_view(design).angle)


def test_neck_angle_by_hand_in_whole_numbers(heron):
    """A steep neck whose angle is that of the triangle 9, 40, 41.

    The string. Board 5.5 mm, nut 1.25 mm over it: the string leaves the nut 6.75 mm above
    the glue plane. Frets 1 mm, action 2 mm: over the 12th fret, at 650 / 2 = 325 mm, it is
    5.5 + 1 + 2 = 8.5 mm above it. So it rises 1.75 mm in 325 mm, and another 1.75 mm to the
    saddle at 650 mm: z = 10.25 mm there.

    The triangle. The body's edge is at 404 mm, so the saddle is D = 246 mm beyond it. Lean
    the neck back by the angle whose sine is 9/41 and whose cosine is 40/41. Along the body's
    normal the saddle's contact then rises

        246 x 9/41 + 10.25 x 40/41 = 54 + 10 = 64 mm

    above the glue plane at the body's edge. The neck stands 8 mm above the edge plane there,
    so the contact is 72 mm above it: a top 32 mm high and a bridge of 40 mm.
    The angle is atan(9/40) = 12.6804 degrees.
    """
    design = plain_heron(
        heron,
        **{
            "joint": {"at": 404.0, "height": 8.0},
            "neck.heel_end": 425.0,
            "bridge": {"height_lowest": 38.0, "height_highest": 42.0, "top_height": 32.0},
        },
    )
    side = side_view(design)
    assert math.tan(side.angle) == pytest.approx(9 / 40, rel=1e-12)
    assert math.degrees(side.angle) == pytest.approx(12.6804, abs=5e-5)
    assert side.needed == pytest.approx(40.0, abs=1e-9)
    # the reverse: from the angle and the neck's height to the bridge
    degrees = math.degrees(math.atan2(9, 40))
    given_angle = with_values(design, {"joint": {"at": 404.0, "height": 8.0, "angle": degrees}})
    assert side_view(given_angle).needed == pytest.approx(40.0, abs=1e-9)
    # and from angle and bridge to the neck's height
    follows = with_values(design, {"joint": {"at": 404.0, "angle": degrees}})
    assert side_view(follows).neck_height == pytest.approx(8.0, abs=1e-9)


def test_neck_angle_of_an_archtop_by_a_table_of_sines(heron):
    """A usual angle, with a table of sines and tangents to four digits.

    Scale 640 mm, board 6, nut 1.5 over it, frets 1, action 2: 7.5 mm at the nut, 9 mm over
    320 mm, so 10.5 mm at the saddle. Body's edge at 360 mm: D = 280 mm. Bridge 24 on a top
    of 16, neck 8 above the edge: the contact rises 24 + 16 - 8 = 32 mm.

    Contact and glue plane at the edge are sqrt(280^2 + 10.5^2) = 280.197 mm apart. Seen
    from there the contact stands asin(32 / 280.197) = asin(0.11421) = 6.558 degrees above
    the edge plane, and atan(10.5 / 280) = atan(0.0375) = 2.148 degrees above the glue plane.
    The angle between the planes is 6.558 - 2.148 = 4.410 degrees.
    """
    design = plain_heron(
        heron,
        **{
            "scale_length": 640.0,
            "fretboard.thickness": 6.0,
            "action.nut_height": 1.5,
            "joint": {"at": 360.0, "height": 8.0},
            "bridge": {"height_lowest": 20.0, "height_highest": 28.0, "top_height": 16.0},
        },
    )
    assert angle_of(design) == pytest.approx(4.410, abs=0.001)


def test_compensation_moves_the_saddle_on_along_the_string(heron):
    # the string of the example in whole numbers goes on rising 1.75 mm in 325: 2.6 mm further
    # it is 2.6 x 1.75 / 325 = 0.014 mm higher
    flat = plain_heron(heron)
    bridge = {"height_lowest": 20.0, "height_highest": 28.0, "top_height": 16.0}
    near = side_view(with_values(flat, {"bridge": {**bridge, "compensation": 0.0}})).playing
    far = side_view(with_values(flat, {"bridge": {**bridge, "compensation": 2.6}})).playing
    heights = [float(p.string().height(np.array([p.saddle]))[0]) for p in (near, far)]
    assert heights == pytest.approx([10.25, 10.264], abs=1e-9)


def test_with_parallel_planes_the_bridge_is_what_stands_over_the_top(plover):
    """No angle, no trigonometry: string height less neck height.

    Board 6 mm and 0.05 mm of film on it, nut line through 0.4 mm over the 1st fret, action
    1.7 mm (the mean of 1.9 and 1.5) over the 12th, frets 1.1 mm, relief 0: over the plane
    of the frets' tops the string rises from 0.4 mm at fret 1, 36.3525 mm, to 1.7 mm at fret
    12, 323.85 mm (25.5 in: 1.4312 and 12.75 in). At the saddle, 649.7 mm, it is
    0.4 + 1.3 x (649.7 - 36.3525) / (323.85 - 36.3525) = 3.17341 mm over them, so
    6.05 + 1.1 + 3.17341 = 10.32341 mm over the glue plane. The glue plane is 4 mm above the
    body's: the bridge stands 14.32341 mm high.
    """
    side = side_view(with_values(plover, {"action.relief": 0.0}))
    assert side.needed == pytest.approx(14.32341, abs=2e-4)


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


@pytest.mark.parametrize("relief", [0.1, 0.25, 0.5])
def test_relief_is_the_sagitta_under_the_straightedge(relief):
    """Both ends of the straightedge on the round part: c^2/8r + r/2 is the arc's radius.

    Machinery's Handbook, circular segments (from memory).
    """
    bow = bow_with(relief, 500.0, 40.0, 440.0)
    assert 1 / bow.curvature == pytest.approx(400**2 / (8 * relief) + relief / 2, rel=1e-4)
    assert bow.gap(40.0, 440.0) == pytest.approx(relief, abs=1e-12)


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
