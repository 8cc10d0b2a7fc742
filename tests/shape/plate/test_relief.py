"""That slopes, hollows, contour lines and sections of known surfaces are told true."""

from dataclasses import dataclass

import numpy as np
import pytest
import shapely
from outlines import ellipse

from carve.shape.numeric.jet import Jet
from carve.shape.plate.relief import contour_lines, hollowest, relief_section, steepest

OUTLINE = ellipse(160.0, 160.0)  # a disc about (80, 0)
RADIUS = 200.0


@dataclass(frozen=True)
class Ball:
    """A hollow ball's underside about (80, 0): z = R - sqrt(R^2 - r^2)."""

    def __call__(self, x, y):
        return RADIUS - np.sqrt(RADIUS**2 - (x - 80) ** 2 - y**2)

    def grid(self, x, y):
        return self(x[:, None], y[None, :])

    def grid_jet(self, x, y):
        across, up = np.meshgrid(x - 80, y, indexing="ij")
        root = np.sqrt(RADIUS**2 - across**2 - up**2)
        return Jet(
            RADIUS - root,
            across / root,
            up / root,
            1 / root + across**2 / root**3,
            across * up / root**3,
            1 / root + up**2 / root**3,
        )


def test_a_ball_is_as_hollow_everywhere_as_its_radius() -> None:
    assert hollowest(Ball(), OUTLINE).value == pytest.approx(1 / RADIUS)
    jet = Ball().grid_jet(np.linspace(20, 140, 9), np.linspace(-60, 60, 9))
    for curvature in jet.curvatures:
        assert curvature == pytest.approx(1 / RADIUS)


def test_a_ball_is_steepest_at_the_rim() -> None:
    found = steepest(Ball(), OUTLINE)
    assert np.hypot(found.at[0] - 80, found.at[1]) == pytest.approx(80, abs=1.0)
    assert found.value == pytest.approx(80 / np.sqrt(RADIUS**2 - 80**2), rel=0.02)


def test_contour_lines_are_circles() -> None:
    for level, lines in contour_lines(Ball(), OUTLINE, (2.0, 8.0)).items():
        radius = np.sqrt(RADIUS**2 - (RADIUS - level) ** 2)
        points = np.concatenate(lines)
        assert np.hypot(points[:, 0] - 80, points[:, 1]) == pytest.approx(radius, abs=0.02)
        assert sum(shapely.LineString(line).length for line in lines) == pytest.approx(
            2 * np.pi * radius, rel=1e-3
        )


def test_a_section_is_the_template() -> None:
    found = relief_section(Ball(), np.array([80.0, -60.0]), np.array([80.0, 60.0]), 5.0)
    assert found[:, 0] == pytest.approx(np.linspace(0, 120, 25))
    assert found[:, 1] == pytest.approx(RADIUS - np.sqrt(RADIUS**2 - (found[:, 0] - 60) ** 2))


def test_normals_point_to_the_balls_centre() -> None:
    x, y = np.linspace(20, 140, 9), np.linspace(-60, 60, 9)
    jet = Ball().grid_jet(x, y)
    across, up = np.meshgrid(x, y, indexing="ij")
    to_centre = np.stack([80 - across, -up, RADIUS - jet.z], axis=-1) / RADIUS
    assert jet.normal == pytest.approx(to_centre)
