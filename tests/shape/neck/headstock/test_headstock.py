"""Headstock, transition and volute against hand calculation, and the shaft left alone by them."""

import math

import numpy as np
import pytest
from shapely import Point, Polygon

from carve.design import load, with_values
from carve.errors import DesignError
from carve.parts.sentences.said import in_sentences
from carve.shape.neck.build import neck_shape
from carve.shape.neck.headstock.volute import VoluteShape
from carve.shape.numeric.blend import between, tightest, toward_nut

EXAMPLES = ["siskin", "wheatear", "dunlin"]


def example(request, name):
    return load(request.config.rootpath / "examples" / f"{name}.toml")


def shape_of(design):
    with in_sentences(design.units):
        return neck_shape(design.neck, design.scale_length, design.fretboard.thickness)


@pytest.fixture(params=EXAMPLES)
def headed(request):
    """Each family of headstock."""
    return example(request, request.param)


@pytest.fixture
def siskin(request):
    return example(request, "siskin")


@pytest.fixture
def wheatear(request):
    return example(request, "wheatear")


def test_the_shaft_before_the_nut_is_that_of_a_neck_without_headstock(headed):
    bare = headed.model_copy(
        update={"neck": headed.neck.model_copy(update={"headstock": None, "truss_rod": None})}
    )
    shape = shape_of(headed)
    x, t = np.linspace(0.0, shape.carved_end, 60)[:-1], np.linspace(-1, 1, 41)
    assert shape.surface(x, t) == pytest.approx(shape_of(bare).surface(x, t), abs=1e-12)


def test_the_back_becomes_flat_where_the_headstock_begins(headed):
    shape = shape_of(headed)
    points = shape.surface(np.array([shape.start]), np.linspace(-1, 1, 21))[0]
    head = headed.neck.headstock
    tilt = math.radians(head.tilt)
    # by hand: the face's depth there, and the thickness square to it
    face = head.drop if tilt == 0 else math.tan(tilt) * (-shape.start - head.seat)
    assert points[:, 2] == pytest.approx(-face - head.thickness / math.cos(tilt), abs=1e-9)


def test_slope_and_curvature_run_on_without_a_jump_along_keel_flank_and_edge(headed):
    # a jump would stay as it is on a finer step; what runs on smoothly shrinks with it
    shape = shape_of(headed)

    def largest_jump(step):
        # beyond the transition the back is the flat plane itself: carry it on by hand
        x = np.arange(shape.start, 60.0, step)
        lines = shape.surface(x, np.array([-1.0, -0.97, -0.5, 0.0, 0.5, 1.0]))[..., 1:]
        beyond = x[0] + step * np.arange(-6, 0)
        flat = np.empty((6, *lines.shape[1:]))
        flat[..., 1] = -shape.head.back_depth(beyond)[:, None]
        # sideways each line goes on as the outline does where it is the outline
        flat[..., 0] = np.nan
        for column, (edge, sign) in ((0, (shape.head.bass, -1)), (-1, (shape.head.treble, 1))):
            flat[:, column, 0] = sign * edge(beyond)
        lines = np.concatenate([flat, lines])
        slope = np.diff(lines, axis=0) / step
        bend = np.diff(slope, axis=0) / step
        return np.nanmax(np.abs(np.diff(slope, axis=0))), np.nanmax(np.abs(np.diff(bend, axis=0)))

    coarse, fine = largest_jump(0.4), largest_jump(0.1)
    assert fine[0] < coarse[0] / 3
    assert fine[1] < coarse[1] / 3


def test_the_blend_is_as_tight_as_asked_and_no_tighter(headed):
    # three points on the keel at a time: the circle through them (Menger's curvature)
    head = headed.neck.headstock.model_copy(update={"volute": None, "transition": 8.0})
    bare = headed.model_copy(update={"neck": headed.neck.model_copy(update={"headstock": head})})
    shape = shape_of(bare)
    x = np.linspace(shape.start, 0.0, 1201)
    keel = np.stack([x, shape.depth(x)], 1)
    a, b, c = keel[:-2:], keel[1:-1], keel[2:]
    sides = [np.linalg.norm(p - q, axis=1) for p, q in ((a, b), (b, c), (c, a))]
    u, v = b - a, c - a
    doubled = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    radius = sides[0] * sides[1] * sides[2] / np.maximum(2 * doubled, 1e-12)
    assert radius.min() == pytest.approx(head.blend_radius, rel=0.01)


def test_two_levels_are_joined_by_the_smoothest_step_as_long_as_the_radius_asks():
    # y = h (10 s^3 - 15 s^4 + 6 s^5): its greatest second derivative is 10 / sqrt(3) h / L^2,
    # so by hand, slope neglected, L = sqrt(10 / sqrt(3) h R) = 33.98 mm for h 4, R 50
    end, start = toward_nut((15.0, 0.0), (19.0, 0.0), 50.0, 400.0)
    assert start == 0
    assert -end == pytest.approx(math.sqrt(10 / math.sqrt(3) * 4 * 50), rel=0.01)
    assert tightest(between(end, start, (19.0, 0.0), (15.0, 0.0)), end, start) == pytest.approx(50)


def test_lines_that_cross_behind_the_nut_are_joined_evenly_about_their_crossing():
    # a turn of 13 degrees at 30 mm behind the nut; z'' = 6 s (1 - s) times slope / L is 1.5
    # slope / L at its greatest, so by hand, slope neglected, L = 1.5 tan(13 deg) R
    slope = math.tan(math.radians(13))
    end, start = toward_nut((15.0, 0.0), (15.0 - 30 * slope, -slope), 60.0, 400.0)
    assert (end + start) / 2 == pytest.approx(-30)
    assert start - end == pytest.approx(1.5 * slope * 60, rel=0.04)


def test_lines_that_are_nearly_parallel_are_joined_at_the_nut():
    # a shaft that rises 6 mm a metre and a level back 1 mm deeper cross 167 mm behind the nut,
    # where no headstock is; at the nut, slopes neglected, L = sqrt(10 / sqrt(3) h R) = 18.6 mm
    end, start = toward_nut((16.0, 0.006), (15.0, 0.0), 60.0, 400.0)
    assert start == 0
    assert -end == pytest.approx(math.sqrt(10 / math.sqrt(3) * 1 * 60), rel=0.06)
    assert tightest(between(end, start, (15.0, 0.0), (16.0, 0.006)), end, start) >= 60 - 1e-6
    # and a turn too small to place a crossing at all
    assert toward_nut((16.0, 1e-17), (15.0, 0.0), 60.0, 400.0)[1] == 0


def test_the_keel_has_no_wiggle_without_a_volute(headed):
    head = headed.neck.headstock.model_copy(update={"volute": None})
    bare = headed.model_copy(update={"neck": headed.neck.model_copy(update={"headstock": head})})
    shape = shape_of(bare)
    bend = np.diff(shape.depth(np.linspace(shape.start, 0.0, 500)), n=2)
    signs = np.sign(bend[np.abs(bend) > 1e-9])
    assert (np.diff(signs) != 0).sum() <= 1  # a hollow and a crown at most


def test_behind_a_station_at_the_nut_the_profile_stays_what_it_is_there(siskin):
    # the dials change right after the nut; behind it their curves must not be carried on
    stations = [
        {"at": "nut", "thickness": 20.0, "shape": "D"},
        {"at": "fret 2", "thickness": 20.6, "shape": "V"},
        {"at": "fret 12", "thickness": 22.5, "shape": "U"},
    ]
    shape = shape_of(with_values(siskin, {"neck.stations": stations}))
    alike = [{**station, "shape": "D"} for station in stations]
    other = shape_of(with_values(siskin, {"neck.stations": alike}))
    x, t = np.linspace(shape.start, 0.0, 30), np.linspace(-1, 1, 41)
    assert shape.surface(x, t) == pytest.approx(other.surface(x, t), abs=1e-9)


def test_a_volute_stands_out_by_its_height_at_its_crest(wheatear):
    volute = wheatear.neck.headstock.volute
    head = wheatear.neck.headstock.model_copy(update={"volute": None})
    bare = wheatear.model_copy(
        update={"neck": wheatear.neck.model_copy(update={"headstock": head})}
    )
    with_it, without = shape_of(wheatear), shape_of(bare)
    x = np.array([-volute.behind])
    assert (with_it.depth(x) - without.depth(x))[0] == pytest.approx(volute.height)


def test_a_volutes_volume_is_its_swell_integrated_both_ways():
    # the integral of (1 - s^2)^3 from -1 to 1 is 32/35 (Wallis)
    volute = VoluteShape(-20.0, 3.0, 40.0, 30.0)
    x, y = np.linspace(-40, 0, 801), np.linspace(-15, 15, 601)
    rise = volute.rise(x[:, None] + 0 * y, y + 0 * x[:, None])
    found = np.trapezoid(np.trapezoid(rise, y, axis=1), x)
    assert found == pytest.approx(3.0 * 20 * 15 * (32 / 35) ** 2, rel=1e-6)


def test_derivatives_across_are_those_of_the_points_on_the_volute_too(wheatear):
    shape = shape_of(wheatear)
    x, t, h = np.array([-20.0, -8.0]), np.array([-0.3, 0.1, 0.4]), 1e-5
    ahead, here, behind = (shape.surface(x, t + step) for step in (h, 0, -h))
    assert shape.surface(x, t, 1) == pytest.approx((ahead - behind) / (2 * h), abs=1e-4)
    assert shape.surface(x, t, 2) == pytest.approx((ahead - 2 * here + behind) / h**2, abs=2e-2)


def test_the_outline_is_as_long_and_as_wide_as_asked(headed):
    plan, head = headed.neck.headstock.outline, shape_of(headed).head
    outline = head.outline(1e-3)
    shorter = math.cos(head.tilt)
    longest = plan.length + max(plan.slant, 0)
    assert -outline[:, 0].min() <= longest * shorter + 1e-9
    assert -outline[:, 0].min() == pytest.approx(longest * shorter, abs=plan.corner_radius)
    at = np.array([-plan.flare * shorter])
    assert head.bass(at)[0] + head.treble(at)[0] == pytest.approx(plan.width)
    assert head.treble(at)[0] - head.bass(at)[0] == pytest.approx(2 * plan.aside)
    assert Polygon(outline).is_valid


def test_the_waist_is_as_wide_as_asked_half_way_along(wheatear):
    plan, head = wheatear.neck.headstock.outline, shape_of(wheatear).head
    x = np.array([-(plan.flare + plan.length) / 2 * math.cos(head.tilt)])
    assert head.bass(x)[0] + head.treble(x)[0] == pytest.approx(plan.waist)


def test_round_corners_touch_side_and_tip(headed):
    # a disc of the corner's radius fits each corner: shapely opens the outline by it, and
    # nothing of the tip is lost
    head = shape_of(headed).head
    plan = Polygon(head.outline(1e-4))
    opened = plan.buffer(-head.corner * 0.999, quad_segs=180).buffer(
        head.corner * 0.999, quad_segs=180
    )
    behind_flare = Point(plan.bounds[0], 0).buffer(70)
    assert (
        plan.difference(opened).intersection(behind_flare).area < 0.1
    )  # of 69 mm^2 in a square corner


def test_the_flat_part_has_shapelys_volume(headed):
    head = shape_of(headed).head
    plan = Polygon(head.outline(1e-4))
    beyond = plan.intersection(
        Polygon([(-500, -300), (head.flat, -300), (head.flat, 300), (-500, 300)])
    )
    holes = sum(math.pi * hole.radius**2 for hole in head.holes) * head.thickness
    by_hand = beyond.area * head.thickness / math.cos(head.tilt) - holes
    assert head.volume_beyond(1e-4) == pytest.approx(by_hand, rel=1e-5)


@pytest.mark.parametrize(
    ("changes", "key", "held"),
    [
        ({"neck.headstock.blend_radius": 2000.0}, "neck.headstock.blend_radius", ["longer"]),
        ({"neck.headstock.ramp": 80.0, "neck.headstock.outline.length": 90.0}, "", ["reaches"]),
        (
            {
                "neck.headstock.outline.family": "waisted",
                "neck.headstock.outline.length": 132.0,
                "neck.headstock.outline.slant": -40.0,
                "neck.headstock.outline.width": 88.0,
                "neck.headstock.outline.waist": 76.0,
                "neck.headstock.outline.end_width": 32.0,
                "neck.headstock.outline.flare": 50.0,
                "neck.headstock.outline.aside": 15.6,
                "neck.headstock.outline.corner_radius": 20.0,
                "neck.headstock.tuners": [],
            },
            "neck.headstock.outline.corner_radius",
            ["20 mm", "still in its blend"],
        ),
        ({"neck.headstock.tuners[0].behind": 30.0}, "neck.headstock.tuners[0].behind", ["blend"]),
        ({"neck.headstock.tuners[1].aside": 40.0}, "neck.headstock.tuners[1].aside", ["out of"]),
        (
            {"neck.headstock.outline.corner_radius": 50.0},
            "neck.headstock.outline.corner_radius",
            ["50 mm", "smaller"],
        ),
    ],
)
def test_what_finds_no_room_on_the_outline_is_one_sentence(siskin, changes, key, held):
    with pytest.raises(DesignError) as caught:
        shape_of(with_values(siskin, changes))
    (sentence,) = caught.value.problems
    assert sentence.startswith(f"{key}: " if key else "neck.headstock")
    for part in held:
        assert part in sentence
