"""The neck's surface against the design, and its integrals against other ways to them."""

import numpy as np
import pytest

from carve.design import with_values
from carve.design.values.profile import Dials, Profile
from carve.errors import OutsidePart
from carve.shape.neck.area import neck_volume
from carve.shape.neck.build import neck_shape


def shape_of(design):
    return neck_shape(design.neck, design.scale_length, design.fretboard.thickness)


def test_thickness_is_exact_at_every_station(design):
    shape = shape_of(design)
    asked = [station.thickness for station in design.neck.stations]
    x = np.array([design.place(station.at) for station in design.neck.stations])
    assert shape.thickness(x) == pytest.approx(asked, abs=1e-12)


def test_width_follows_a_straight_taper(design):
    shape = shape_of(design)
    ends = 2 * shape.half_width(np.array([0.0, shape.length / 2, shape.length]))
    nut, heel = design.neck.nut_width, design.neck.heel_width
    assert ends == pytest.approx([nut, (nut + heel) / 2, heel])


def test_equal_sides_give_a_symmetric_section(design):
    shape = shape_of(design)
    points = shape.surface(np.array([120.0]), np.linspace(-1, 1, 41))[0]
    assert points[:, 1] == pytest.approx(-points[::-1, 1], abs=1e-12)
    assert points[:, 2] == pytest.approx(points[::-1, 2], abs=1e-12)


def test_sides_apart_meet_at_the_keel_with_one_tangent_and_one_curvature(design):
    lopsided = Profile(bass=Dials(0.8, 0.1), treble=Dials(0.3, 0.5))
    shape = shape_of(with_values(design, {"neck.stations[0].shape": lopsided}))
    x = np.array([design.place(design.neck.stations[0].at)])
    bends = []
    for t in (-1e-9, 1e-9):
        first = shape.surface(x, np.array([t]), 1)[0, 0, 1:]
        second = shape.surface(x, np.array([t]), 2)[0, 0, 1:]
        assert first[1] == pytest.approx(0, abs=1e-6)
        bends.append((first[0] * second[1] - first[1] * second[0]) / np.hypot(*first) ** 3)
    assert bends[0] == pytest.approx(bends[1], rel=1e-6)


def test_derivatives_across_are_those_of_the_points(design):
    shape = shape_of(design)
    x, t, h = np.array([55.0, 200.0]), np.array([-0.7, -0.2, 0.3, 0.9]), 1e-5
    ahead, here, behind = (shape.surface(x, t + step) for step in (h, 0, -h))
    slope, bend = (ahead - behind) / (2 * h), (ahead - 2 * here + behind) / h**2
    assert shape.surface(x, t, 1) == pytest.approx(slope, abs=1e-5)
    assert shape.surface(x, t, 2) == pytest.approx(bend, abs=1e-2)


def test_the_back_is_smooth_in_curvature_along_every_line(design):
    # second differences of a C2 surface change little from one step to the next
    shape = shape_of(design)
    x = np.arange(0.0, shape.length, 0.25)
    lines = shape.surface(x, np.array([-0.8, -0.4, 0.0, 0.5]))
    bend = np.diff(lines, n=2, axis=0)[..., 1:] / 0.25**2
    assert np.abs(np.diff(bend, axis=0)).max() < 2e-4  # 1/mm a step of a quarter millimetre


def test_volume_is_that_of_many_thin_slices(design):
    # an independent integral: shapely's polygon areas, summed by the midpoint rule
    from shapely import Polygon, box

    shape = shape_of(design)
    step = shape.length / 400
    total = 0.0
    for x in np.arange(400) * step + step / 2:
        wood = Polygon(shape.section(float(x), 201))
        for channel in shape.channels:
            depth = float(channel.depth(np.array([x]))[0])
            wood = wood.difference(box(-channel.half_width, -depth, channel.half_width, 1))
        total += wood.area * step
    assert neck_volume(shape) == pytest.approx(total, rel=3e-4)


def test_a_place_off_the_neck_is_refused(design):
    shape = shape_of(design)
    with pytest.raises(OutsidePart, match="not on the neck"):
        shape.depth(np.array([shape.length + 5]))
