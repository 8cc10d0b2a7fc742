"""Wood left around the nut and around holes, against calculation by hand.

A worked example, with a pocket calculator. A neck 22 mm thick under a board of 6 mm is 16 mm
deep. Its headstock is flat, 12 mm thick, its face 6 mm below the glue face and cut down in one
step 5 mm behind the nut, so its back lies 6 + 12 = 18 mm deep. The back comes down by h = 2 mm
with no radius below R = 60 mm, on the smoothest step 10 s^3 - 15 s^4 + 6 s^5, whose greatest
second derivative is 10 / sqrt(3) = 5.774 h / L^2:

    L = sqrt(5.774 x 2 x 60) = 26.32 mm, beginning at the nut.

Where the face steps down, s = 5 / 26.32 = 0.19: the step is 0.0686 - 0.0195 + 0.0015 = 0.0506
and the back 16 + 2 x 0.0506 = 16.10 mm deep, 10.10 mm below the step's foot. It slopes there by
(30 s^2 - 60 s^3 + 30 s^4) h / L = 0.71 x 2 / 26.32 = 0.054, so square to it the wood is
10.10 x cos(3.1 degrees) = 10.09 mm: less than the headstock's 12 mm and the neck's 16 mm.
"""

import math

import numpy as np
import pytest
from shapely import Point, Polygon

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load, with_values
from carve.design.values.profile import Dials, Profile
from carve.parts.job import make


def finding(design, words):
    return next(found for found in inspect(make(design, 0.05)) if words in found.check)


@pytest.fixture
def siskin(request):
    return load(request.config.rootpath / "examples" / "siskin.toml")


@pytest.fixture
def wheatear(request):
    return load(request.config.rootpath / "examples" / "wheatear.toml")


def level(design, thickness=22.0):
    """One thickness all along, so that the keel is a straight line parallel to the glue face."""
    return {f"neck.stations[{n}].thickness": thickness for n in range(len(design.neck.stations))}


def test_the_worked_example(siskin):
    changed = with_values(
        siskin,
        level(siskin)
        | {"neck.truss_rod": None, "neck.headstock.drop": 6.0, "neck.headstock.thickness": 12.0}
        | {"neck.headstock.ramp": 0.0, "neck.headstock.seat": 5.0}
        | {"neck.headstock.blend_radius": 60.0},
    )
    found = finding(changed, "wood behind the nut")
    assert found.value == pytest.approx(10.09, abs=0.01)
    assert found.point[0] == pytest.approx(-5 + 10.09 * math.sin(math.radians(3.1)), abs=0.5)
    assert found.curve.values.max() == pytest.approx(16.0, abs=1e-3)


def test_a_flat_headstock_thinner_than_the_neck_is_thinnest_in_itself(siskin):
    # by hand, no rod: the neck is 22 - 6 = 16 mm deep, the face 3 mm down, the headstock
    # 12 mm thick: 12 mm where both are flat, and nothing thinner between
    changed = with_values(
        siskin,
        level(siskin)
        | {"neck.truss_rod": None, "neck.headstock.drop": 3.0, "neck.headstock.thickness": 12.0}
        | {"neck.headstock.ramp": 8.0, "neck.headstock.transition": 60.0}
        | {"neck.headstock.tuners": []},
    )
    found = finding(changed, "wood behind the nut")
    assert found.value == pytest.approx(12.0, abs=1e-3)
    assert found.point[0] < -13.0


def test_a_flat_headstock_whose_face_goes_on_level_is_as_thick_as_it_is(siskin):
    # by hand, no rod: one plane from neck to tip, 16 mm to the neck's back, 12 mm to the head's
    changed = with_values(
        siskin,
        level(siskin)
        | {"neck.truss_rod": None, "neck.headstock.drop": 0.0, "neck.headstock.thickness": 12.0}
        | {"neck.headstock.tuners": []},
    )
    found = finding(changed, "wood behind the nut")
    assert np.isfinite(found.curve.values).all()
    assert found.value == pytest.approx(12.0, abs=1e-3)
    assert found.curve.values[-1] == pytest.approx(16.0, abs=1e-6)


def test_a_tilted_headstock_is_thinnest_by_plane_geometry(wheatear):
    # by hand, no rod, no volute: neck 16 mm deep, face through the seat's end at 13 degrees,
    # headstock 16 / cos 13 deg thick upright at the seat: its back meets the neck's level
    # just there, so lines and blend keep at least T = 14 mm square to the face
    changes = level(wheatear) | {
        "neck.truss_rod": None,
        "neck.headstock.volute": None,
        "neck.headstock.thickness": 14.0,
    }
    found = finding(with_values(wheatear, changes), "wood behind the nut")
    assert found.value == pytest.approx(14.0, abs=0.01)
    # and before the nut it is the neck's own depth
    assert found.curve.values[-1] == pytest.approx(16.0, abs=1e-6)


def test_a_pocket_behind_the_nut_leaves_what_lies_under_its_floor(siskin):
    # by hand: as flat a back as the dials give, 16 mm deep, a pocket 9 mm deep and 4 mm wide:
    # 16 - 9 = 7 mm under its floor
    flat = Profile(Dials(1.0, 0.0), Dials(1.0, 0.0))
    changes = level(siskin) | {
        "neck.stations[0].shape": flat,
        "neck.truss_rod.width": 3.0,
        "neck.truss_rod.access": {
            "at": "nut",
            "length": 15.0,
            "width": 4.0,
            "depth": 9.0,
            "behind": 2.0,
        },
    }
    found = finding(with_values(siskin, changes), "wood behind the nut")
    assert found.value == pytest.approx(7.0, abs=0.02)


def test_a_volute_adds_to_the_wood_over_a_pocket(wheatear):
    with_it = finding(wheatear, "wood behind the nut")
    without = finding(with_values(wheatear, {"neck.headstock.volute": None}), "wood behind the nut")
    x = np.linspace(-21, 0, 85)
    more, less = (np.interp(x, f.curve.x, f.curve.values) for f in (with_it, without))
    assert (more >= less - 1e-6).all()
    assert more.max() > less.max() + 1.0  # toward its crest, 2.5 mm high 23 mm behind


@pytest.mark.parametrize(("depth", "verdict"), [(9.0, Verdict.GOOD), (11.0, Verdict.FAILED)])
def test_the_verdict_follows_the_limit(siskin, depth, verdict):
    # common practice, ours to say so: at least 4 mm
    found = finding(with_values(siskin, {"neck.truss_rod.depth": depth}), "wood behind the nut")
    assert found.verdict is verdict
    assert bool(found.advice) == (verdict is not Verdict.GOOD)


def test_a_place_behind_the_nut_is_said_to_be_there(siskin):
    changes = {"neck.headstock.thickness": 10.5, "neck.truss_rod": None}
    found = finding(with_values(siskin, changes), "wood behind the nut")
    assert found.place.endswith("behind the nut")


def test_wood_around_tuner_holes_is_shapelys_distance_less_the_radius(siskin):
    part = make(siskin, 0.05).parts[0]
    plan = Polygon(part.shape.head.outline(1e-4))
    by_shapely = min(
        plan.exterior.distance(Point(hole.x, hole.y)) - hole.radius
        for hole in part.shape.head.holes
    )
    found = finding(siskin, "wood around the tuner holes")
    assert found.value == pytest.approx(by_shapely, abs=0.005)


def test_wood_around_bolt_holes_by_hand(siskin):
    # the nearest edge is the heel end: 10 - 2.5 = 7.5 mm; the side leans by the taper:
    # half width at 10 mm from the end less 18 and the radius, times the cosine of its lean
    neck = siskin.neck
    end = siskin.place(neck.heel_end)
    growth = (neck.heel_width - neck.nut_width) / 2 / end
    side = (neck.heel_width / 2 - growth * 10 - 18) * math.cos(math.atan(growth)) - 2.5
    found = finding(siskin, "wood around the bolt holes")
    assert found.value == pytest.approx(min(7.5, side), abs=0.01)
