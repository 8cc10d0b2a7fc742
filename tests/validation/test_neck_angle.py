"""Neck angle and bridge height: worked examples by plane trigonometry."""

import math

import pytest
from plain_heron import plain_heron

from carve.design import with_values
from carve.shape.assembly.side_view import side_view

BY_HAND = "plane trigonometry, by hand"


def test_neck_angle_by_hand_in_whole_numbers(validated, heron):
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
    found = math.degrees(side.angle)
    validated("neck angle in the triangle 9, 40, 41", BY_HAND, 12.6804, found, 5e-5, "°")
    what = "bridge height with that neck angle"
    validated(what, BY_HAND, 40.0, side.needed, 1e-9, "mm")
    # the reverse: from the angle and the neck's height to the bridge
    degrees = math.degrees(math.atan2(9, 40))
    given_angle = with_values(design, {"joint": {"at": 404.0, "height": 8.0, "angle": degrees}})
    assert side_view(given_angle).needed == pytest.approx(40.0, abs=1e-9)
    # and from angle and bridge to the neck's height
    follows = with_values(design, {"joint": {"at": 404.0, "angle": degrees}})
    assert side_view(follows).neck_height == pytest.approx(8.0, abs=1e-9)


def test_neck_angle_of_an_archtop_by_a_table_of_sines(validated, heron):
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
    found = math.degrees(side_view(design).angle)
    what = "neck angle of an archtop, scale 640 mm"
    validated(
        what, "a table of sines and tangents to four digits, by hand", 4.410, found, 0.001, "°"
    )


def test_with_parallel_planes_the_bridge_is_what_stands_over_the_top(validated, plover):
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
    what = "bridge height where neck and body are parallel, scale 25 1/2 in"
    validated(what, BY_HAND, 14.32341, side.needed, 2e-4, "mm")
