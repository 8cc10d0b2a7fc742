"""The heel's blend beside the stations: how long it is, and what a caliper finds at the 12th fret.

That a neck is measured at the 1st and the 12th fret is common practice.
"""

from collections import Counter

import numpy as np
import pytest
from random_necks import random_heel_after_stations
from trials import stations_by_heel

from carve.check.report import inspect
from carve.design import load, with_values
from carve.design.io.parse import read_design
from carve.design.schema.design import plain
from carve.errors import DesignError
from carve.parts.job import make, shape_of
from carve.parts.neck import NECK

COMMON = 50  # necks
TRIED = 40


def neck_to(end: str, **heel):
    """A neck measured at the 1st and the 12th fret that ends at a fret, its block 50 mm long."""
    block = {"kind": "bolted", "length": 50.0, "depth": 24.0, **heel}
    return read_design(
        {
            "scale_length": 630.0,
            "fretboard": {"thickness": 6.0, "frets": 11},
            "neck": {
                "nut_width": 43.0,
                "heel_width": 56.0,
                "heel_end": end,
                "blank": {"length": 700, "width": 80, "thickness": 60},
                "stations": [
                    {"at": "fret 1", "thickness": 20.5, "shape": "C"},
                    {"at": "fret 12", "thickness": 22.5, "shape": "C"},
                ],
                "heel": block,
            },
        }
    )


def found_on(design):
    findings = inspect(make(design, 0.1, only=["neck"]))
    return {found.name: found for found in findings}


def test_no_common_heel_is_refused_for_a_station_and_calipers_find_what_is_asked():
    outcomes = [stations_by_heel.once(number) for number in range(TRIED)]
    assert [outcome.said for outcome in outcomes if outcome.verdict == "wrong"] == []
    assert Counter(outcome.verdict for outcome in outcomes)["held"] > TRIED * 0.8


def test_fifty_necks_that_end_at_the_17th_to_the_19th_fret_are_all_made():
    taken = Counter()
    number = 0
    while sum(taken.values()) < COMMON:
        data = random_heel_after_stations(2024, number)
        number += 1
        if data["neck"]["heel"]["kind"] == "carved" or data["neck"]["heel_end"][5:] not in (
            *("17", "18", "19"),
        ):
            continue
        try:
            shape_of(NECK, read_design(data))
        except DesignError as error:
            taken[str(error)] += 1
        else:
            taken["made"] += 1
    assert dict(taken) == {"made": COMMON}


@pytest.mark.parametrize("stated", [None, 70.0])
def test_the_blend_begins_at_a_station_that_lies_nearer_than_it_is_long(stated):
    design = neck_to("fret 16", **({} if stated is None else {"blend": stated}))
    shape = shape_of(NECK, design)
    twelfth = design.place(design.neck.stations[1].at)
    assert 10 < shape.heel.start - twelfth < 40  # so that this says something
    assert shape.heel.blend == pytest.approx(twelfth, abs=1e-12)
    found = found_on(design)
    assert found["thickness:stations[1]"].value == pytest.approx(22.5, abs=0.002)
    assert found["thickness:stations[1]"].check == "thickness at fret 12"
    # what was not done as asked is told
    assert "fret 12" in found["heel-blend"].place
    assert ("70 mm asked" in found["heel-blend"].detail) == (stated is not None)
    assert found["heel-blend"].value == pytest.approx(shape.heel.start - twelfth)


def test_a_blend_of_which_nothing_is_said_is_forty_millimetres_where_there_is_room():
    shape = shape_of(NECK, neck_to("fret 21"))
    assert shape.heel.start - shape.heel.blend == pytest.approx(40.0)
    stated = shape_of(NECK, neck_to("fret 21", blend=40.0))
    assert np.array_equal(shape.depth_curve.c, stated.depth_curve.c)


@pytest.mark.parametrize("name", ["siskin", "wheatear", "dunlin"])
def test_a_blend_stated_that_no_station_lies_in_is_as_stated_and_not_spoken_of(request, name):
    design = load(request.config.rootpath / "examples" / f"{name}.toml")
    shape = shape_of(NECK, design)
    asked = design.neck.heel.blend
    assert shape.heel.start - shape.heel.blend == pytest.approx(asked, abs=1e-12)
    assert "heel-blend" not in found_on(design)


@pytest.mark.parametrize("end", ["fret 12", "fret 13", "fret 15"])
def test_a_12th_fret_on_the_heel_is_what_the_shaft_runs_toward(end):
    design = neck_to(end)
    shape = shape_of(NECK, design)
    first, twelfth = (design.place(station.at) for station in design.neck.stations)
    assert twelfth > shape.heel.start - 10  # no room for a blend behind it
    # straight from the 1st fret toward 22.5 mm at the 12th, and the heel begins before that
    growth = (22.5 - 20.5) / (twelfth - first)
    x = np.linspace(first, shape.heel.blend, 40)
    assert shape.thickness(x) == pytest.approx(20.5 + growth * (x - first), abs=1e-9)
    found = found_on(design)["thickness:stations[1]"]
    assert found.check == "thickness toward fret 12"
    assert found.verdict == "good"
    assert found.value == pytest.approx(20.5 + growth * (shape.heel.blend - first), abs=0.002)
    assert "lies on the heel" in found.detail
    assert "22.5 mm" in found.detail


def test_curvature_runs_on_where_a_later_station_lies_on_the_heel():
    # three stations that make the shaft bend, the last of them on the block
    raw = plain(neck_to("fret 13", depth=26.0, blend=40.0))
    raw["neck"]["stations"] = [
        {"at": f"fret {fret}", "thickness": thickness, "shape": "C"}
        for fret, thickness in ((1, 20.5), (7, 20.8), (12, 23.5))
    ]
    design = read_design(raw)
    shape = shape_of(NECK, design)
    begin = shape.heel.blend
    assert begin == pytest.approx(shape.heel.start - 40.0)
    for order in (0, 1, 2):
        before, after = shape.depth_curve.derivative(order)(begin + np.array([-1e-8, 1e-8]))
        assert after == pytest.approx(before, abs=1e-6)
    assert abs(float(shape.depth_curve.derivative(2)(begin - 1e-8))) > 1e-6  # it does bend there


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"neck.heel_end": 80.0, "neck.stations[1].at": 78.0}, ["neck.stations[0].at", "fret 1"]),
        ({"neck.heel_end": "fret 16", "neck.stations[1].at": "fret 17"}, ["neck.stations[1].at"]),
    ],
)
def test_a_neck_without_a_station_on_its_shaft_is_refused_in_a_sentence(changes, words):
    with pytest.raises(DesignError) as caught:
        shape_of(NECK, with_values(neck_to("fret 16"), changes))
    assert all(word in str(caught.value) for word in words)
