"""The heel against hand calculation, and the shaft left alone by it."""

import math

import numpy as np
import pytest
from shapely import Polygon

from carve.design import load, with_values
from carve.shape.neck.build import neck_shape
from carve.shape.numeric.blend import chain


def shape_of(design):
    return neck_shape(design.neck, design.scale_length, design.fretboard.thickness)


@pytest.fixture(params=["siskin", "wheatear", "dunlin"])
def heeled(request):
    """Each family of heel."""
    return load(request.config.rootpath / "examples" / f"{request.param}.toml")


def plain(design):
    return design.model_copy(update={"neck": design.neck.model_copy(update={"heel": None})})


def test_the_shaft_before_the_blend_is_that_of_a_neck_without_heel(heeled):
    shape, bare = shape_of(heeled), shape_of(plain(heeled))
    x, t = np.linspace(0, shape.heel.blend, 60), np.linspace(-1, 1, 41)
    assert shape.surface(x, t) == pytest.approx(bare.surface(x, t), abs=1e-12)


def test_the_sections_at_the_stations_are_exactly_as_asked(heeled):
    shape = shape_of(heeled)
    asked = [station.thickness for station in heeled.neck.stations]
    assert shape.thickness(shape.stations) == pytest.approx(asked, abs=1e-12)


def test_the_blend_ends_flat_at_the_depth_of_the_block(heeled):
    shape = shape_of(heeled)
    before = np.nextafter(shape.heel.start, 0)
    points = shape.surface(np.array([before]), np.linspace(-1, 1, 21))[0]
    assert points[:, 2] == pytest.approx(-heeled.neck.heel.depth, abs=1e-9)


def test_slope_and_curvature_run_on_without_a_jump_along_keel_and_edge(heeled):
    # a jump would stay as it is on a finer step; what runs on smoothly shrinks with it
    shape = shape_of(heeled)
    end = np.nextafter(shape.heel.start, 0)

    def largest_jump(step):
        x = np.arange(1.0, end, step)
        lines = shape.surface(x, np.array([-1.0, -0.97, -0.5, 0.0, 0.5, 1.0]))[..., 1:]
        slope = np.diff(lines, axis=0) / step
        bend = np.diff(slope, axis=0) / step
        return np.abs(np.diff(slope, axis=0)).max(), np.abs(np.diff(bend, axis=0)).max()

    coarse, fine = largest_jump(0.4), largest_jump(0.1)
    assert fine[0] < coarse[0] / 3
    assert fine[1] < coarse[1] / 3


def test_curvature_of_the_keel_turns_once_in_the_blend(heeled):
    # one hollow and one crown bring the back from one level to another: no wiggle
    shape = shape_of(heeled)
    x = np.linspace(shape.heel.blend + 0.1, shape.heel.start - 0.1, 400)
    bend = np.diff(shape.depth(x), n=2)
    assert (np.diff(np.sign(bend)) != 0).sum() <= 1


def test_a_block_that_follows_the_taper_is_as_wide_as_the_neck(heeled):
    if heeled.neck.heel.kind == "bolted":
        heeled = with_values(heeled, {"neck.heel.width": None})
    shape = shape_of(heeled)
    ends = shape.half_width(np.array([0.0, np.nextafter(shape.heel.start, 0)]))
    growth = (heeled.neck.heel_width - heeled.neck.nut_width) / 2 / shape.length
    by_hand = heeled.neck.nut_width / 2 + growth * shape.heel.start
    assert ends[1] == pytest.approx(by_hand)


@pytest.mark.parametrize(
    ("name", "width", "by_hand"),
    [
        # bolted, after the taper: the corners of 6.35 mm at the end of 443.687 mm leave it, a
        # little before 6.35 mm from it since the sides lean by 7 in 443.687 (0.904 degrees):
        # 6.35 / tan(44.548 deg) * cos(0.904 deg) = 6.450 mm
        ("siskin", None, 443.687 - 6.450),
        # a width of its own: from the blend on, 62 + 38 mm before the end
        ("siskin", 57.0, 343.687),
        # a tenon: to its shoulders, 75 mm before the end at 441.751 mm
        ("wheatear", 42.0, 366.751),
    ],
)
def test_up_to_there_the_edges_are_the_taper_that_the_board_follows(
    name, width, by_hand, siskin, wheatear
):
    design = {"siskin": siskin, "wheatear": wheatear}[name]
    shape = shape_of(with_values(design, {"neck.heel.width": width}))
    start, end = shape.tapered
    assert (start, end) == pytest.approx((0.0, by_hand), abs=1e-3)
    x = np.linspace(start, end - 1e-9, 50)
    assert shape.half_width(x) == pytest.approx(shape.taper(x), abs=1e-9)


def test_parallel_sides_come_out_of_the_taper_smoothly(siskin):
    shape = shape_of(with_values(siskin, {"neck.heel.width": 57.0}))
    start, x = shape.heel.start, np.linspace(shape.heel.start, shape.length, 9)
    assert shape.half_width(x) == pytest.approx(28.5)
    near = shape.half_width(start + np.array([-2e-3, -1e-3, 0.0]))
    assert np.diff(near) == pytest.approx(0, abs=1e-6)


def test_a_tenon_narrows_by_its_angle(wheatear):
    # by hand: 42 - 2 * 75 tan 2 deg = 36.762 mm at its end
    shape = shape_of(wheatear)
    assert 2 * shape.half_width(np.array([shape.length])) == pytest.approx(36.7619, abs=1e-4)
    assert 2 * shape.half_width(np.array([shape.heel.start])) == pytest.approx(42.0)


def test_the_volume_of_block_and_tenon_is_shapelys_area_times_depth(heeled):
    heel = shape_of(heeled).heel
    plan = Polygon(heel.outline(1e-5))
    holes = sum(math.pi * (hole.diameter / 2) ** 2 for hole in heeled.neck.heel.holes)
    assert heel.volume() == pytest.approx((plan.area - holes) * heel.depth, rel=1e-6)


def test_round_corners_have_the_radius_asked_for(siskin):
    # shapely: eroding by the radius leaves the corner's centre of curvature
    heel = shape_of(siskin).heel
    plan = Polygon(heel.outline(1e-4))
    opened = plan.buffer(-6.35, quad_segs=200).buffer(6.35, quad_segs=200)
    end = Polygon([(heel.end - 20, -40), (heel.end, -40), (heel.end, 40), (heel.end - 20, 40)])
    assert plan.intersection(end).symmetric_difference(opened.intersection(end)).area < 0.05


def test_a_blend_between_two_levels_is_the_smoothest_step():
    # 10 s^3 - 15 s^4 + 6 s^5 is the quintic with no slope and no curvature at its ends
    s = np.linspace(0, 1, 21)
    found = chain((0.0, 1.0), (0.0, 1.0), (0.0, 0.0))(s)
    assert found == pytest.approx(10 * s**3 - 15 * s**4 + 6 * s**5, abs=1e-14)


@pytest.fixture
def siskin(request):
    return load(request.config.rootpath / "examples" / "siskin.toml")


@pytest.fixture
def wheatear(request):
    return load(request.config.rootpath / "examples" / "wheatear.toml")
