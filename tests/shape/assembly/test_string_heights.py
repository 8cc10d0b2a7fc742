"""Each string's height over each fret."""

import numpy as np
import pytest

from carve.design import with_values
from carve.shape.assembly.string_heights import string_heights


def test_action_at_the_twelfth_is_as_asked_on_the_outer_strings(heron):
    over_twelfth = string_heights(heron).open[:, 11]
    assert over_twelfth[[0, -1]] == pytest.approx([2.2, 1.7], abs=1e-9)
    assert np.all(np.diff(over_twelfth) < 0)


def test_a_flat_board_without_relief_by_similar_triangles(plover):
    """Nut 0.4 mm over fret 1, bass 1.9 mm over fret 12, flat frets: a straight wedge of space.

    Fret 5 of 25.5 in lies 6.397 in from the nut, fret 1 at 1.431, fret 12 at 12.75 (published
    tables, rounded): 0.4 + 1.5 x (6.397 - 1.431) / (12.75 - 1.431) = 1.0581 mm.
    """
    flat = with_values(plover, {"fretboard.radius": "flat", "action.relief": 0.0})
    heights = string_heights(flat).open[0]
    assert heights[0] == pytest.approx(0.4, abs=1e-9)
    assert heights[4] == pytest.approx(1.0581, abs=2e-4)


def test_on_a_cone_through_the_strings_the_board_is_as_good_as_flat(heron):
    # the strings' paths are straight on it, so every string sees a straight board
    level = with_values(
        heron,
        {
            "action.relief": 0.0,
            "action.bass": 2.0,
            "action.treble": 2.0,
            "strings.nut_edge_treble": 3.6,
            "strings.nut_spacing": "even centres",
        },
    )
    heights = string_heights(level).open
    assert np.ptp(heights, axis=0) == pytest.approx(0.0, abs=1e-9)


def test_a_cylinder_leaves_less_room_in_the_middle_of_the_board(heron):
    """The board rises against the outer strings' straight lines by the sagittas' difference.

    Symmetric strings, 17.8 mm aside at the nut and 26 mm at 635 mm; radius 200 mm, so at fret
    12 (317.5 mm) 21.9 mm aside and at fret 5 (159.288 mm) 19.857 mm. Sagittas
    200 - sqrt(200^2 - y^2): 0.79368, 1.20265, 0.98818. Straight from nut to fret 12 it would
    be 0.79368 + (1.20265 - 0.79368) x 159.288/317.5 = 0.99886 at fret 5; the board lies
    0.01068 higher, and the string is so much nearer.
    """
    values = {
        "action.relief": 0.0,
        "neck.nut_width": 42.8,
        "strings.nut_edge_bass": 3.6,
        "strings.nut_edge_treble": 3.6,
    }
    flat = string_heights(with_values(heron, {**values, "fretboard.radius": "flat"})).open
    round_ = string_heights(with_values(heron, {**values, "fretboard.radius": 200.0})).open
    assert (flat - round_)[0, 4] == pytest.approx(0.01068, abs=2e-5)


def test_pressed_strings_clear_the_next_fret_by_the_slope_they_are_left_with(plover):
    """No relief, flat board: pressed at fret n the string climbs straight to the saddle.

    Bass: over the plane of the frets' tops it is, at the saddle (25.5 in + 2 mm = 649.7 mm),
    0.4 + 1.5 (649.7 - 36.353) / (323.85 - 36.353) = 3.60011 mm. Pressed at fret 12, 323.85
    mm from the nut and 325.85 from the saddle, it is over fret 13 (342.026 mm, 18.176 on)
    18.176 / 325.85 x 3.60011 = 0.20082 mm high, and fret 13 is the nearest of those beyond.
    """
    flat = with_values(plover, {"fretboard.radius": "flat", "action.relief": 0.0})
    found = string_heights(flat)
    assert found.pressed[0, 11] == pytest.approx(0.20082, abs=2e-4)
    assert np.isinf(found.pressed[:, -1]).all()


def test_relief_gives_pressed_strings_room_before_the_middle(plover):
    straight = string_heights(with_values(plover, {"action.relief": 0.0}))
    bowed = string_heights(with_values(plover, {"action.relief": 0.3}))
    assert bowed.pressed[0, 0] > straight.pressed[0, 0]


def test_left_out_strings_have_no_heights(design):
    assert string_heights(design) is None
