"""Dials: where they stand, how far they go, and that showing them changes nothing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from carve.design import load, value_at, with_values
from carve.design.io.dials import DialSpec, dials
from carve.errors import DesignError
from carve.lab.controls import AT_DIAL, DialPanel, control, travel


@given(
    value=st.floats(20, 900),
    reach=st.tuples(st.floats(0, 300), st.floats(0, 300)),
    step=st.sampled_from([0.05, 0.1, 0.5]),
    per=st.sampled_from([1.0, 25.4]),
)
def test_a_value_lies_on_a_step_of_its_own_dial(value, reach, step, per):
    spec = DialSpec("k", "k", "g", "", value, value - reach[0], value + reach[1], step, True)
    low, high, size = travel(spec, value, per)
    steps = (value / per - low) / size
    assert steps == pytest.approx(round(steps), abs=1e-6)
    assert low <= value / per + 1e-9 <= high + 2e-9
    assert low >= (value - reach[0]) / per - 1e-6
    assert high <= (value + reach[1]) / per + 1e-6


def test_every_station_has_thickness_and_shape_dials(design):
    keys = {spec.key for spec in dials(design)}
    for number in range(3):
        assert f"neck.stations[{number}].thickness" in keys
        assert f"neck.stations[{number}].shape" in keys


def test_every_dial_turns_a_key_of_the_design(design):
    for spec in dials(design):
        assert value_at(design, spec.key) == spec.value
        assert with_values(design, {spec.key: spec.value}) == design


def test_a_value_beyond_the_usual_travel_stays_within_reach(design):
    thick = with_values(design, {"neck.stations[0].thickness": 40.0})
    spec = next(s for s in dials(thick) if s.key == "neck.stations[0].thickness")
    assert spec.highest == 40.0


def test_a_dial_in_inches_hands_over_millimetres(design):
    turned = []
    spec = next(s for s in dials(design) if s.key == "neck.nut_width")
    slider, _ = control(spec, "in", lambda key, value: turned.append((key, value))).children
    slider.value = 1.75
    assert turned == [("neck.nut_width", pytest.approx(44.45))]


def test_a_dial_says_its_unit(example):
    leaning = load(example.parent / "plover.toml")  # its neck angle is given
    labels = {
        spec.key: control(spec, "in", lambda *_: None).children[0].description
        for spec in dials(leaning)
        if spec.step is not None
    }
    assert labels["joint.angle"] == "angle, °"
    assert labels["joint.height"] == "height, in"
    assert labels["finish.films[0].thickness"] == "thickness, in"


def test_the_headings_of_the_dials_are_the_parts_and_what_is_on_them_each_once(example):
    heron = load(example.parent / "heron.toml")
    box = DialPanel(dials(heron), "mm", lambda *_: None).widget
    *_, folded = box.children
    assert folded.titles == (
        "scale length",
        "fretboard",
        "fretboard radius",
        "fretboard slots",
        "neck",
        "neck truss rod",
        "strings",
        "action",
        "bridge",
        "joint",
    )


def test_every_dial_can_be_turned_a_step_without_a_contradiction(example):
    for name in ("wren", "heron", "plover"):
        there = load(example.parent / f"{name}.toml")
        for spec in dials(there):
            if spec.step is None:
                continue
            ways = (spec.value - spec.step, spec.value + spec.step)
            assert any(turns(there, spec.key, v) for v in ways), (name, spec.key)


def turns(there, key, value):
    try:
        with_values(there, {key: value})
    except DesignError:
        return False
    return True


def test_a_dial_that_gets_its_own_value_back_says_nothing(design):
    turned = []
    spec = next(s for s in dials(design) if s.key == "scale_length")
    slider, _ = control(spec, "mm", lambda key, value: turned.append((key, value))).children
    slider.value += 1e-9
    assert turned == []


@pytest.fixture
def dial(design):
    """A dial's slider, its field, and what they have said: wren's neck at the first fret."""
    said = []
    spec = next(s for s in dials(design) if s.key == "neck.stations[0].thickness")
    slider, field = control(spec, "mm", lambda key, value: said.append(value)).children
    return slider, field, said


def test_a_typed_number_counts_though_no_step_of_the_slider_lies_there(dial):
    slider, field, said = dial
    field.value = 21.3741
    assert said == [21.3741]
    assert slider.value == pytest.approx(21.35)  # the nearest of its steps
    slider.value += 1e-9  # the page sends back where the slider is
    assert said == [21.3741]
    assert field.value == 21.3741


def test_a_number_beyond_the_sliders_travel_is_the_designs_to_judge(dial):
    slider, field, said = dial
    field.value = 500.0
    assert said == [500.0]
    assert slider.value == pytest.approx(slider.max)


def test_the_field_follows_the_slider(dial):
    slider, field, said = dial
    slider.value = 22.15
    assert field.value == 22.15
    assert said == [22.15]
    slider.value = 22.2
    assert said == [22.15, 22.2]


def test_an_inch_in_a_field_has_the_decimals_of_the_file(example):
    plover = load(example.parent / "plover.toml")
    spec = next(s for s in dials(plover) if s.key == "neck.stations[0].thickness")
    _, field = control(spec, "in", lambda *_: None).children
    assert field.value == 0.80709  # 20.5 mm


def test_marks_come_and_go_and_leave_the_other_dials_in_place(design):
    shown = DialPanel(dials(design), "mm", lambda *_: None)
    key = "neck.stations[1].thickness"
    before = [id(one) for one in walk(shown.widget)]
    shown.mark({key: "too thick"})
    (sentence,) = [one for one in walk(shown.widget) if AT_DIAL in getattr(one, "_dom_classes", ())]
    assert "too thick" in sentence.value
    shown.mark({key: "too thin"})
    assert "too thin" in sentence.value
    shown.mark({})
    assert [id(one) for one in walk(shown.widget)] == before


def walk(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from walk(child)
