"""Films: what they come to, where they lie, and what they take from the wood."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point

from carve.design import with_values
from carve.design.schema.assembly import FACES, Film, Finish
from carve.design.values.profile import LETTERS, Profile
from carve.shape.neck.build import neck_shape
from carve.shape.neck.finish import (
    BARE,
    NeckFilm,
    bare_faces,
    neck_film,
    pocket_width,
    room_in_pocket,
)

MIL = 0.0254  # mm


def film(**values):
    return Film.model_validate(values)


def finish(*films, masked=None):
    return Finish(films=films, masked=masked)


def shape_of(design):
    return neck_shape(
        design.neck, design.scale_length, design.fretboard.thickness, neck_film(design.finish)
    )


def test_three_mils_wet_of_thirty_percent_solids_leave_23_micrometres():
    # the trade's arithmetic: dry film = wet film x volume solids; 3 mil x 30 % = 0.9 mil = 23 um
    coat = film(coats=1, wet=3 * MIL, solids=0.3).total()
    assert coat / MIL == pytest.approx(0.9)
    assert coat == pytest.approx(0.023, abs=0.0005)


def test_a_schedule_is_coats_times_film():
    assert film(coats=8, wet=3 * MIL, solids=0.3).total() == pytest.approx(8 * 0.02286)
    assert film(coats=6, dry=0.02).total() == pytest.approx(0.12)
    assert film(thickness=0.3).total() == 0.3


def test_films_lie_where_they_are_named_and_the_rest_where_nothing_is_masked():
    laid = finish(
        film(on=["neck back"], thickness=0.1),
        film(thickness=0.2),
        masked=("fretboard top", "fretboard sides"),
    )
    on = {face: laid.on(face) for face in FACES}
    assert on == {
        "neck back": 0.1,
        "neck sides": 0.1,  # one surface with the back
        "fretboard top": 0.0,
        "fretboard sides": 0.0,
        "body top": 0.2,
        "body sides": 0.2,
        "pocket walls": 0.2,
    }
    assert bare_faces(laid) == ("fretboard top", "fretboard sides")
    assert bare_faces(None) == FACES


def test_neck_sides_can_be_masked_or_named_by_themselves():
    back = film(on=["neck back"], thickness=0.1)
    assert finish(back, masked=("neck sides",)).on("neck sides") == 0
    assert finish(back, film(on=["neck sides"], thickness=0.03)).on("neck sides") == 0.03


def test_thickness_at_every_station_is_over_the_film(design):
    films = [{"on": ["neck back"], "thickness": 0.15}, {"on": ["fretboard top"], "thickness": 0.05}]
    painted = shape_of(with_values(design, {"finish": {"films": films}}))
    x = np.array([design.place(station.at) for station in design.neck.stations])
    asked = [station.thickness for station in design.neck.stations]
    assert painted.thickness(x) == pytest.approx(asked, abs=1e-12)
    # the wood on the back is thinner by both films: 0.15 + 0.05
    assert shape_of(design).depth(x) - painted.depth(x) == pytest.approx(0.2, abs=1e-12)


@given(neck=st.floats(0, 1), board=st.floats(0, 1))
def test_wood_and_film_of_neck_and_board_come_to_the_same_width(neck, board):
    # flush means: wood + film = wood + film, on each side; the board's wood is as designed
    half = 25.0
    assert half - NeckFilm(sides=neck, board_sides=board).narrower + neck == pytest.approx(
        half + board
    )


def test_where_both_are_painted_alike_the_wood_is_flush():
    assert NeckFilm(sides=0.2, board_sides=0.2).narrower == 0
    assert BARE.narrower == 0


@pytest.mark.parametrize("letter", sorted(LETTERS))
def test_the_film_has_its_thickness_all_around_the_back(design, letter):
    """Distances between finished and bare section, by shapely.

    The wood's section is the finished one scaled to the smaller size, which is not quite an
    offset: the film a spray gun lays evenly may miss the asked profile by a fifth of itself
    on the flanks of a V or the shoulders of a U, and by 3 % on a C.
    """
    profile = Profile(LETTERS[letter], LETTERS[letter])
    painted = shape_of(
        with_values(
            design,
            {
                **{f"neck.stations[{n}].shape": profile for n in range(3)},
                "finish": {"films": [{"on": ["neck back"], "thickness": 0.2}]},
            },
        )
    )
    x = design.place(design.neck.stations[1].at)
    wood, outside = painted.section(x, 401), painted.finished().section(x, 401)
    inside = LineString(wood)
    film = np.array([inside.distance(Point(*point)) for point in outside])
    assert film[[0, 400, -1]] == pytest.approx(0.2, abs=1e-6)  # edges and keel: exact
    share = {"C": 0.03, "soft V": 0.08}.get(letter, 0.2)
    assert film.min() > 0.2 * (1 - share)
    assert film.max() < 0.2 * (1 + share)


def test_a_pocket_grows_by_the_films_and_the_room():
    # by hand: 56 + 2 (0.2 + 0.1 + 0.05) = 56.7
    assert pocket_width(56.0, 0.2, 0.1, 0.05) == pytest.approx(56.7)
    assert pocket_width(56.0, 0.2, 0.0, 0.05) == pytest.approx(56.5)  # walls masked


@given(
    tenon=st.floats(20, 90), one=st.floats(0, 0.5), two=st.floats(0, 0.5), room=st.floats(0, 0.5)
)
def test_a_pocket_so_cut_leaves_the_room_that_was_asked(tenon, one, two, room):
    pocket = pocket_width(tenon, one, two, room)
    assert room_in_pocket(pocket, tenon, one, two) == pytest.approx(room, abs=1e-12)
