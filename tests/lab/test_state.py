"""The state of the lab: what the dials say is the design, or there is none.

What is possible is told by another way in: the same numbers written into the text of the file.
"""

from pathlib import Path

import pytest
from trials.lab_states import turned_at_random

from carve.design import load, parse, read_text, rewrite, value_at, with_values
from carve.design.io.dials import dials
from carve.errors import CarveError, DesignError
from carve.lab.state import opened
from carve.parts.job import make

EXAMPLES = Path(__file__).parents[2] / "examples"
FIRST, SEVENTH, TWELFTH = (f"neck.stations[{n}].thickness" for n in range(3))
ROD, BOARD = "neck.truss_rod.depth", "fretboard.thickness"
TOO_THIN = 14.0  # mm; board and channel together take 15.5


@pytest.fixture(scope="module")
def wren():
    return opened(EXAMPLES / "wren.toml").settled()


def after(state, *turns):
    """The state after turns of single dials, each tried before the next."""
    for key, value in turns:
        state = state.turned({key: value}).settled()
    return state


def thicknesses(design):
    return [station.thickness for station in design.neck.stations]


def test_an_impossible_dial_leaves_no_design_to_export_or_save(wren):
    text = read_text(EXAMPLES / "wren.toml").replace("thickness = 21.0", "thickness = 14.0")
    with pytest.raises(DesignError) as by_hand:
        parse(text)
    state = after(wren, (FIRST, TOO_THIN))
    assert state.made is None
    assert state.problems == by_hand.value.problems
    for leave in (lambda: state.design, state.rewritten):
        with pytest.raises(DesignError) as refused:
            leave()
        assert refused.value.problems == by_hand.value.problems
    assert state.refusal.startswith(f"{FIRST}: 14 mm is no more than fretboard and channel")
    assert state.marks == {FIRST: state.refusal}
    assert f"shows the last one that could be made, with {FIRST} at 21 mm" in state.notice


def test_a_turn_that_nobody_has_tried_yet_is_no_design_either(wren):
    waiting = wren.turned({FIRST: 22.0})
    assert waiting.waiting
    assert waiting.made is None
    assert waiting.settled().design.neck.stations[0].thickness == 22.0


def test_the_other_dials_are_followed_while_one_is_impossible(wren):
    state = after(wren, (FIRST, TOO_THIN), (TWELFTH, 25.0), (BOARD, 6.4))
    assert state.made is None
    assert thicknesses(state.shown.design) == [21.0, 22.2, 25.0]
    assert state.shown.design.fretboard.thickness == 6.4
    _, board = state.shown.job.parts
    assert float(board.mesh.points[:, 2].max()) == pytest.approx(6.4, abs=1e-6)
    assert "(6.4 mm + 9.5 mm)" in state.refusal  # what is wrong now, not what was


def test_put_right_the_impossible_dial_and_all_others_show(wren):
    state = after(wren, (FIRST, TOO_THIN), (TWELFTH, 25.0), (FIRST, 20.5))
    assert thicknesses(state.design) == [20.5, 22.2, 25.0]
    assert not state.problems
    assert not state.marks
    assert not state.notice
    again = parse(state.rewritten())
    assert again == state.design
    assert again == with_values(wren.opened, {FIRST: 20.5, TWELFTH: 25.0})


def test_the_other_side_of_a_contradiction_cures_it(wren):
    deep = after(wren, (ROD, 17.0))  # with a board of 6 mm more than any station has
    assert deep.marks.keys() == {FIRST, SEVENTH, TWELFTH, ROD}
    cured = after(deep, (FIRST, 30.0), (SEVENTH, 30.0), (TWELFTH, 30.0))
    assert cured.design.neck.truss_rod.depth == 17.0
    assert not cured.marks


def test_one_of_two_impossible_dials_is_freed_as_soon_as_it_alone_is_right(wren):
    width = "neck.truss_rod.width"
    both = after(wren, (FIRST, TOO_THIN), (width, 200.0))
    assert both.held.keys() == {FIRST, width}
    assert both.marks[width].startswith(f"{width}: 200 mm is not allowed")
    assert both.marks[FIRST].startswith(f"{FIRST}: 14 mm is no more")  # its own, said beside it
    one = after(both, (FIRST, 20.0))
    assert one.held.keys() == {width}
    assert thicknesses(one.shown.design)[0] == 20.0


def test_two_dials_turned_at_once_are_judged_one_by_one(wren):
    state = wren.turned({TWELFTH: 24.0, FIRST: TOO_THIN}).settled()
    assert state.held.keys() == {FIRST}
    assert thicknesses(state.shown.design) == [21.0, 22.2, 24.0]


def test_a_shape_that_cannot_be_is_marked_at_its_dial():
    at = "body.outline.bouts.waist_at"
    state = after(opened(EXAMPLES / "sanderling.toml").settled(), (at, 60.0))
    assert at in state.marks
    assert state.refusal.startswith(f"{at}: 60 mm is not allowed")
    with pytest.raises(CarveError):
        make(with_values(state.opened, {at: 60.0}), 0.2)


def test_the_turned_dial_is_marked_too_where_the_sentence_names_another(wren):
    state = after(wren, ("scale_length", 330.0))
    assert not any("scale_length" in problem for problem in state.problems)
    assert state.marks == dict.fromkeys(
        ("fretboard.markers.diameter", "scale_length"), state.refusal
    )


def test_where_no_dial_is_named_the_turned_one_is_marked(tmp_path):
    file = tmp_path / "wren.toml"
    text = read_text(EXAMPLES / "wren.toml")
    file.write_text(text.replace('heel_end = "fret 19"', "heel_end = 420"), "utf-8")
    state = after(opened(file).settled(), ("scale_length", 415.0))
    assert state.refusal.startswith("neck.heel_end: 420 mm from the nut is not allowed")
    assert state.marks == {"scale_length": state.refusal}


def test_what_nobody_foresaw_is_said_and_held_against_no_dial(wren):
    stopped = wren.turned({FIRST: 22.0}).stopped("the disk is full")
    assert stopped.made is None
    assert stopped.refusal == "the disk is full"
    assert not stopped.marks
    assert "shows the last one that could be made." in stopped.notice


def test_a_file_that_cannot_be_shaped_opens_and_its_dials_cure_it(tmp_path):
    text = read_text(EXAMPLES / "sanderling.toml")
    at = load(EXAMPLES / "sanderling.toml").body.outline.bouts.waist_at
    file = tmp_path / "sanderling.toml"
    file.write_text(text.replace(f"waist_at = {at:g}", "waist_at = 60"), "utf-8")
    state = opened(file).settled()
    assert state.shown is None
    assert "nothing to show" in state.notice
    cured = after(state, ("body.outline.bouts.waist_at", at))
    assert cured.design.body == load(EXAMPLES / "sanderling.toml").body


def test_a_dial_turned_back_is_no_turn(wren):
    state = after(wren, (FIRST, 22.0), (FIRST, 21.0))
    assert state.turns == {}
    assert state.rewritten() == wren.text


def test_a_state_is_never_changed_so_that_one_can_go_back_to_it(wren):
    before = after(wren, (TWELFTH, 24.0))
    after(before, (FIRST, TOO_THIN), (TWELFTH, 26.0))
    assert thicknesses(before.design) == [21.0, 22.2, 24.0]
    assert before.standing({FIRST: 20.0}).settled().turns == {FIRST: 20.0}  # and all others home


@pytest.mark.parametrize("name", ["wren", "siskin", "linnet", "plover", "kite"])
def test_dial_file_and_design_agree_to_a_tenth_of_a_micron(name):
    state = opened(EXAMPLES / f"{name}.toml")
    agreed = 0
    for spec in dials(state.opened):
        if spec.step is None:
            continue
        asked = round(spec.value + 0.377 * spec.step, 6)
        kept = state.turned({spec.key: asked})
        try:
            design = with_values(kept.opened, kept.turns)
        except DesignError:
            continue
        read = parse(rewrite(state.text, design), folder=EXAMPLES)
        assert value_at(read, spec.key) == value_at(design, spec.key)
        # an inch has five decimals in a file, a millimetre four
        assert value_at(read, spec.key) == pytest.approx(asked, abs=0.000128)
        agreed += 1
    assert agreed >= 10


@pytest.mark.parametrize("number", range(8))
def test_whatever_is_turned_a_state_says_what_a_new_lab_would(number):
    outcome = turned_at_random(number)
    assert outcome.verdict == "held", outcome.said
