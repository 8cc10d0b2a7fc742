"""That a plate by contour lines has its heights at its distances, and a soft ridge."""

import numpy as np
import pytest
import shapely
from outlines import WAISTED, ellipse, smooth

from carve.errors import DesignError
from carve.parts.sentences.said import in_sentences
from carve.shape.planar.offset import across, inset, signed_distance
from carve.shape.plate.contour_arch import ContourArch, contour_surface, soft_distance

OUTLINE = smooth(WAISTED)
ARCH = ContourArch(6, ((15, -1.0), (35, 5.0), (80, 13.0), (140, 17.0)))


@pytest.fixture(scope="module")
def distance():
    return soft_distance(OUTLINE, ARCH.softness)


def ring(depth: float) -> np.ndarray:
    line = shapely.Polygon(OUTLINE).buffer(-depth, quad_segs=32).exterior
    return shapely.get_coordinates(shapely.segmentize(line, 3.0))


def test_distance_is_shapelys() -> None:
    points = np.random.default_rng(5).uniform((-20, -200), (500, 200), (500, 2))
    area = shapely.Polygon(OUTLINE)
    true = shapely.distance(area.exterior, shapely.points(points))
    within = shapely.contains_xy(area, points)
    found = signed_distance(OUTLINE, points)
    assert found == pytest.approx(np.where(within, true, -true), abs=1e-6)


def test_an_inset_that_a_waist_parts_is_told_in_pieces() -> None:
    bow = np.array([[0, 0], [50, 18], [100, 0], [100, 50], [50, 32], [0, 50]], dtype=float)
    assert len(inset(bow, 3.0)) == 1
    assert len(inset(bow, 9.0)) == 2
    assert inset(bow, 60.0) == ()
    assert across(shapely.Polygon(bow), 50.0) == pytest.approx((18.0, 32.0))
    assert across(shapely.Polygon(bow), 300.0) is None


def test_the_profile_is_met_along_each_contour(distance) -> None:
    surface = contour_surface(distance, ARCH)
    for depth, height in ARCH.profile[:2]:
        # where the distance has creases (the ends of a horn) it is rounded: most, not all
        off = np.abs(surface(*ring(depth).T) - height)
        assert np.quantile(off, 0.9) < 0.1


def test_the_ledge_is_flat(distance) -> None:
    surface = contour_surface(distance, ARCH)
    for depth in (0.1, 3.0, 5.8):
        assert surface(*ring(depth).T) == pytest.approx(0, abs=1e-3)


def test_no_crease_along_the_ridge(distance) -> None:
    """With true distance the slope turns at the middle from one side's to the other's at once."""
    steep = ContourArch(6, ((15, -1.0), (200, 30.0)))
    surface = contour_surface(distance, steep)
    y = np.linspace(-60, 60, 1201)
    jet = surface.jet(np.full_like(y, 200.0), y)
    turn = np.ptp(jet.zy)
    assert turn > 0.15
    assert np.abs(jet.zyy).max() < turn / ARCH.softness
    assert np.abs(np.diff(jet.zyy)).max() < 1e-3


def test_slopes_by_differences(distance) -> None:
    surface = contour_surface(distance, ARCH)
    x, y = np.random.default_rng(6).uniform((30, -90), (440, 90), (200, 2)).T
    jet, h = surface.jet(x, y), 1e-4
    assert (surface(x + h, y) - surface(x - h, y)) / (2 * h) == pytest.approx(jet.zx, abs=1e-6)
    mixed = (surface.jet(x + h, y).zy - surface.jet(x - h, y).zy) / (2 * h)
    assert mixed == pytest.approx(jet.zxy, abs=1e-5)
    assert surface.grid(x[:5], y[:7])[2, 3] == pytest.approx(surface(x[2:3], y[3:4])[0])


def test_on_a_round_plate_the_height_goes_by_the_radius() -> None:
    radius = 110.0
    round_plate = ellipse(2 * radius, 2 * radius, 1200)
    surface = contour_surface(soft_distance(round_plate, 12.0), ARCH)
    for depth, height in ARCH.profile[:3]:
        turn = np.linspace(0, 2 * np.pi, 90)
        x, y = radius + (radius - depth) * np.cos(turn), (radius - depth) * np.sin(turn)
        assert surface(x, y) == pytest.approx(height, abs=0.05)


def test_a_profile_that_runs_back_is_refused(distance) -> None:
    with (
        pytest.raises(DesignError, match=r"contours.contours\[1\]: 12 mm .* more than 15 mm"),
        in_sentences("mm"),
    ):
        contour_surface(distance, ContourArch(6, ((15, -1.0), (12, 5.0))))
    with (
        pytest.raises(DesignError, match=r"contours.contours\[0\]: 5 mm .* the ledge's width"),
        in_sentences("mm"),
    ):
        contour_surface(distance, ContourArch(6, ((5, -1.0),)))
