"""The body's outline: through its points, smooth, and as near as its points are asked to be."""

import math

import numpy as np
import pytest
import shapely

from carve.design.schema.body import BodyOutline
from carve.shape.body.outline import outline_curve, outline_of
from carve.shape.planar.curves import through
from carve.shape.planar.outline import pieces_of


def ring(number, radius=150.0):
    turn = np.arange(number) / number * 2 * np.pi
    return tuple(
        (float(x), float(y)) for x, y in radius * np.stack([np.cos(turn), np.sin(turn)], 1)
    )


def read(**keys):
    return BodyOutline.model_validate({"smooth": True, **keys}, context={"unit": "mm"})


LOPSIDED = ((0, 0), (40, 90), (180, 60), (300, 140), (390, 10), (250, -150), (60, -100))


def test_a_smooth_outline_goes_through_every_point_in_its_order():
    controls = np.array(through("body", LOPSIDED).pieces)
    assert controls[:, 0] == pytest.approx(np.array(LOPSIDED), abs=1e-9)
    assert np.array_equal(controls[:, 3], np.roll(controls[:, 0], -1, axis=0))


def test_slope_and_curvature_go_on_from_piece_to_piece():
    # of a cubic Bezier piece: derivative 3 (b - a), curvature by its second difference; any text
    controls = np.array(through("body", LOPSIDED).pieces)
    # its parameter runs by the square root of the chords
    lengths = np.sqrt(np.linalg.norm(controls[:, 3] - controls[:, 0], axis=1))[:, None]
    before, after = np.roll(controls, 1, axis=0), controls
    last = np.roll(lengths, 1, axis=0)
    slope_in, slope_out = 3 * (before[:, 3] - before[:, 2]) / last, 3 * (after[:, 1] - after[:, 0])
    assert slope_in == pytest.approx(slope_out / lengths, abs=1e-9)
    bend_in = 6 * (before[:, 3] - 2 * before[:, 2] + before[:, 1]) / last**2
    bend_out = 6 * (after[:, 2] - 2 * after[:, 1] + after[:, 0]) / lengths**2
    assert bend_in == pytest.approx(bend_out, abs=1e-9)


@pytest.mark.parametrize("number", [8, 16, 32])
def test_points_of_a_circle_give_nearly_the_circle(number):
    # a cubic spline's error falls with the fourth power of the spacing (de Boor; from memory)
    polygon = outline_of(read(points=[list(p) for p in ring(number)])).polygon
    off = np.abs(np.linalg.norm(np.asarray(polygon.exterior.coords), axis=1) - 150.0).max()
    assert 1e-6 < off < 150.0 * 0.6 * (2 * math.pi / number / 2) ** 4 + 0.006


def test_a_straight_outline_is_the_polygon_of_its_points():
    outline = read(points=[[0, 0], [0, 10], [20, 10], [20, 0]], smooth=False)
    assert outline_of(outline).polygon.equals(shapely.box(0, 0, 20, 10))
    assert outline_of(outline).error(0.01) == 0.0


@pytest.mark.parametrize("chord_error", [0.5, 0.08, 0.02, 0.005])
def test_the_error_that_is_measured_is_the_one_that_shapely_finds(chord_error):
    outline = outline_of(read(points=[list(p) for p in LOPSIDED]))
    coarse = shapely.LinearRing(outline.points(chord_error))
    found = shapely.distance(coarse, shapely.points(outline.points(1e-4))).max()
    assert outline.error(chord_error) <= chord_error
    assert outline.error(chord_error) == pytest.approx(found, rel=0.05, abs=1e-5)


def test_an_outline_told_the_other_way_round_is_the_same():
    one, other = (
        outline_of(read(points=[list(p) for p in points])) for points in (LOPSIDED, LOPSIDED[::-1])
    )
    assert one.polygon.symmetric_difference(other.polygon).area < 1.0
    assert len(pieces_of(outline_curve(read(points=[list(p) for p in LOPSIDED])))) == 7
