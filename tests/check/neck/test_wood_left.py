"""Wood left around the channel, by hand where a hand can, else by an independent mesh library."""

import re

import numpy as np
import pytest
import trimesh

from carve.check.finding import Verdict
from carve.check.neck.wood_beside_channel import wood_beside
from carve.check.reading.wood_in_space import thinnest
from carve.check.report import inspect
from carve.design import with_values
from carve.design.values.profile import Dials, Profile
from carve.parts.job import make
from carve.shape.neck.build import neck_shape
from carve.shape.neck.channel import Channel


def shape_of(design):
    return neck_shape(design.neck, design.scale_length, design.fretboard.thickness)


def finding(design, words):
    return next(found for found in inspect(make(design, 0.05)) if words in found.check)


def square_back(design, thickness=22.0):
    """A neck of one thickness and width whose back is as flat as the dials go."""
    flat = Profile(Dials(1.0, 0.0), Dials(1.0, 0.0))
    changes = {f"neck.stations[{n}].thickness": thickness for n in range(3)}
    changes |= {f"neck.stations[{n}].shape": flat for n in range(3)}
    return with_values(design, {**changes, "neck.nut_width": 50.0, "neck.heel_width": 50.0})


def test_under_a_flat_back_it_is_depth_less_channel(design):
    # by hand: 22 - 6 (board) - 9.5 (channel) = 6.5 mm straight down, on the centre line;
    # 3 mm off it, at the channel's corner, a U's back has hardly begun to rise
    found = finding(square_back(design), "wood under")
    assert found.value == pytest.approx(6.5, abs=0.02)
    assert found.value < 6.5


def test_under_a_v_it_is_the_slant_distance_and_not_the_plumb_one(design):
    sharp = Profile(Dials(0.25, 0.85), Dials(0.25, 0.85))
    changes = {f"neck.stations[{n}].shape": sharp for n in range(3)}
    changes |= {f"neck.stations[{n}].thickness": 23.0 for n in range(3)}
    changes |= {"neck.nut_width": 44.0, "neck.heel_width": 44.0}
    changed = with_values(design, changes)
    shape = shape_of(changed)
    (channel,) = shape.channels
    # by hand, in the plane of one section: the neck is a prism, so nothing nearer lies elsewhere
    outline = shape.section(100.0, 4001)
    corner = np.array([channel.half_width, -9.5])
    slant = np.linalg.norm(outline - corner, axis=1).min()
    plumb = -9.5 - np.interp(3.0, outline[:, 0], outline[:, 1])
    found = finding(changed, "wood under")
    assert found.value == pytest.approx(slant, abs=1e-3)
    assert slant < 0.95 * plumb


def test_it_is_the_distance_that_trimesh_finds_between_the_two_surfaces(design):
    # reference: trimesh.proximity from the channel's floor to the back's mesh
    shape = shape_of(design)
    job = make(design, 0.002)
    back = job.parts[0].mesh.only("back")
    solid = trimesh.Trimesh(back.points, back.triangles, process=False)
    (channel,) = shape.channels
    x = np.linspace(channel.start, channel.end, 3001)
    edge = np.stack([x, np.full_like(x, channel.half_width), -channel.depth(x)], 1)
    _, away, _ = trimesh.proximity.closest_point(solid, edge)
    found = finding(design, "wood under")
    assert found.value == pytest.approx(away.min(), abs=0.003)
    assert found.curve.values.min() == pytest.approx(found.value, abs=0.02)


def test_the_thinnest_place_is_found_between_stations_too(design):
    changes = {
        "neck.truss_rod.depth_middle": 12.5,
        "neck.truss_rod.depth": 7.0,
        "neck.truss_rod.depth_heel": 7.0,
    }
    found = finding(with_values(design, changes), "wood under")
    assert found.point is not None
    rod = design.neck.truss_rod
    middle = (design.place(rod.start) + design.place(rod.end)) / 2
    assert abs(found.point[0] - middle) < 40
    dense = thinnest(shape_of(with_values(design, changes)), *_floor(design, changes))
    assert found.value == pytest.approx(dense.value, abs=1e-6)


def _floor(design, changes):
    (channel,) = shape_of(with_values(design, changes)).channels
    return channel, Channel.to_floor


@pytest.mark.parametrize(
    ("depth", "verdict"),
    [(9.0, Verdict.GOOD), (11.0, Verdict.WARNING), (12.5, Verdict.FAILED)],
)
def test_verdicts_follow_the_limits(design, depth, verdict):
    # common practice: at least 3 mm under the rod, better 4 mm and more
    found = finding(with_values(design, {"neck.truss_rod.depth": depth}), "wood under")
    assert found.verdict is verdict
    assert bool(found.advice) == (verdict is not Verdict.GOOD)


@pytest.mark.parametrize("shape", ["V", "soft V", "C", "U"])
def test_following_the_advice_mends_the_finding(design, shape):
    failing = with_values(
        design,
        {"neck.truss_rod.depth": 11.9, **{f"neck.stations[{n}].shape": shape for n in range(3)}},
    )
    found = finding(failing, "wood under")
    assert found.verdict is Verdict.FAILED
    thicker, shallower = (float(mm) for mm in re.findall(r"([\d.]+) mm", found.advice))
    changes = {
        f"neck.stations[{n}].thickness": station.thickness + thicker
        for n, station in enumerate(failing.neck.stations)
    }
    for mended in (changes, {"neck.truss_rod.depth": 11.9 - shallower}):
        after = finding(with_values(failing, mended), "wood under")
        assert after.verdict is not Verdict.FAILED
        # and it asks for no more than half a millimetre too much
        assert after.value < design.limits.wood_under_channel + 0.5


def test_a_channel_that_comes_out_of_the_back_is_negative_and_says_so(design):
    # between stations the rules of the file cannot see it: the parabola dips through the back
    changes = {
        "neck.stations[0].thickness": 16.4,
        "neck.stations[1].thickness": 16.4,
        "neck.stations[2].thickness": 16.4,
        "neck.truss_rod.depth": 9.0,
        "neck.truss_rod.width": 14.0,
        "neck.stations[1].shape": Profile(Dials(0, 1), Dials(0, 1)),
    }
    found = finding(with_values(design, changes), "wood under")
    assert found.value < 0
    assert found.verdict is Verdict.FAILED
    assert "out of the back" in found.detail


@pytest.mark.parametrize("width", [6.0, 20.0])
def test_beside_the_channel_it_is_half_of_what_is_left_of_the_width(design, width):
    # by hand: (50 - width) / 2 at the glue face; a U's sides stay near upright beside 3 mm
    changed = with_values(
        square_back(design), {"neck.truss_rod.depth": 3.0, "neck.truss_rod.width": width}
    )
    found = finding(changed, "wood beside")
    assert found.value == pytest.approx((50 - width) / 2, abs=0.15)
    assert found.value <= (50 - width) / 2


def test_too_little_beside_the_channel_fails(design):
    wide = with_values(square_back(design), {"neck.truss_rod.width": 30.0})
    limit = with_values(wide, {"limits.wood_beside_channel": 11.0})
    assert finding(limit, "wood beside").verdict is Verdict.FAILED


def test_beside_the_channel_is_what_shapely_measures_in_every_section(design):
    # reference: shapely, the part of the section level with the channel, cut by its wall
    from shapely import LineString, Polygon, box

    shape = shape_of(design)
    (channel,) = shape.channels
    x, least, _ = wood_beside(shape, channel)
    for place, wood in list(zip(x, least, strict=True))[::10]:
        depth = float(channel.depth(np.array([place]))[0])
        level = Polygon(shape.section(float(place), 801)).intersection(box(-99, -depth, 99, 0))
        walls = [
            LineString([(99 * s, -h), (0, -h)]) for s in (1, -1) for h in np.linspace(0, depth, 200)
        ]
        widths = [level.intersection(wall).length - channel.half_width for wall in walls]
        assert wood == pytest.approx(min(widths), abs=0.02)
