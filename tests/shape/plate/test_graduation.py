"""That a hollow plate is as thick as asked, measured as a caliper does."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
import shapely
from outlines import WAISTED, smooth
from scipy.spatial import cKDTree

from carve.shape.numeric.jet import Jet
from carve.shape.plate.arch import arch_surface
from carve.shape.plate.foundation import arch_foundation
from carve.shape.plate.graduation import FlatRegion, GraduatedInside, GraduationRequest
from carve.shape.plate.request import Arch, StationHeight

OUTLINE = smooth(WAISTED)
ARCH = Arch(6, 16, 1.0, (StationHeight(140, 13.0), StationHeight(270, 18.0)), falloff=70.0)
GRADUATION = GraduationRequest(12, 5.0, 14, 26, 3.5, 110, 6.5)


@pytest.fixture(scope="module")
def surface():
    return arch_surface(arch_foundation(OUTLINE, ARCH.lines), ARCH)


@pytest.fixture(scope="module")
def inside(surface):
    return GraduatedInside(surface, surface.foundation.edge.distance, GRADUATION)


@dataclass(frozen=True)
class Dome:
    """A ball's top of radius 150 about (240, 0)."""

    def jet(self, x, y):
        u, v = x - 240, y
        root = np.sqrt(150.0**2 - u**2 - v**2)
        return Jet(
            root, -u / root, -v / root, -1 / root - u**2 / root**3, -u * v / root**3,
            -1 / root - v**2 / root**3,
        )  # fmt: skip


def test_under_a_ball_lies_a_ball(surface) -> None:
    even = replace(GRADUATION, at_recurve=5.0, at_centre=5.0)
    inner = GraduatedInside(Dome(), surface.foundation.edge.distance, even)
    turn = np.linspace(0, 2 * np.pi, 60)
    x, y = 240 + 60 * np.cos(turn), 60 * np.sin(turn)
    assert inner(x, y) == pytest.approx(np.sqrt(145.0**2 - 60**2), abs=1e-5)


def test_a_caliper_reads_the_thickness_asked_for(surface, inside) -> None:
    """From points of the outside straight in along its normal."""
    for x, y in ((240.0, 0.0), (300.0, 60.0), (150.0, -40.0)):
        jet = surface.jet(np.array([x]), np.array([y]))
        start = np.array([x, y, jet.z[0]])
        wanted = inside.thickness(np.array([x]), np.array([y]))[0]
        s = np.linspace(0, 12, 4801)
        ray = start - s[:, None] * jet.normal[0]
        through = s[np.argmax(ray[:, 2] <= inside(ray[:, 0], ray[:, 1]))]
        assert through == pytest.approx(wanted, abs=0.01)


def test_nowhere_is_less_wood_than_the_map_says(surface, inside) -> None:
    """Nearest distance between dense samples of both faces, inside the rim's cove."""
    x, y = np.meshgrid(np.arange(150, 331, 4.0), np.arange(-80, 81, 4.0))
    x, y = x.ravel(), y.ravel()
    outer = np.stack([x, y, surface(x, y)], axis=1)
    fine_x, fine_y = np.meshgrid(np.arange(140, 341, 0.5), np.arange(-90, 91, 0.5))
    inner = np.stack([fine_x.ravel(), fine_y.ravel(), inside(fine_x.ravel(), fine_y.ravel())], 1)
    nearest, _ = cKDTree(inner).query(outer)
    wanted = inside.thickness(x, y)
    deep = surface.foundation.edge.distance(x, y) > GRADUATION.rim + GRADUATION.cove + 5
    assert nearest[deep] == pytest.approx(wanted[deep], abs=0.05)


def test_thickness_goes_from_recurve_to_centre_as_asked(inside) -> None:
    at = np.array([[240.0, 0.0], [430.0, 0.0]])
    depth = inside.distance(*at.T)
    thick = inside.thickness(*at.T)
    assert thick.max() <= GRADUATION.at_centre
    ring = shapely.get_coordinates(shapely.Polygon(OUTLINE).buffer(-20).exterior)
    assert inside.thickness(*ring.T) == pytest.approx(GRADUATION.at_recurve, abs=0.01)
    assert depth[0] > 90
    assert thick[0] > 6.0


def test_the_gluing_rim_is_flat(inside) -> None:
    for depth in (0.5, 6.0, 11.5):
        ring = shapely.get_coordinates(shapely.Polygon(OUTLINE).buffer(-depth).exterior)
        assert inside(*ring.T) == pytest.approx(-GRADUATION.edge, abs=1e-3)


def test_a_braces_footprint_is_flat(surface) -> None:
    flat = FlatRegion(((200, -60), (212, -60), (212, 60), (200, 60)), 6.0, 0.0, 0.01)
    braced = GraduatedInside(
        surface, surface.foundation.edge.distance, replace(GRADUATION, flats=(flat,))
    )
    x, y = np.meshgrid(np.linspace(200, 212, 20), np.linspace(-60, 60, 60))
    assert braced(x.ravel(), y.ravel()) == pytest.approx(6.0 + 0.01 * y.ravel(), abs=1e-9)
