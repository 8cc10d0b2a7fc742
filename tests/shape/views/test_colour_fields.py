"""That what a surface is coloured by is true, on surfaces whose every figure is known."""

from dataclasses import dataclass

import numpy as np
import pytest
import trimesh
from outlines import ellipse

from carve.design import load
from carve.parts.job import make, shape_of
from carve.parts.neck import NECK
from carve.shape.numeric.jet import Jet
from carve.shape.views.kit.colour_fields import (
    ACROSS,
    ALONG,
    UPWARD,
    OutsideFace,
    face_shades,
    zebra,
)
from carve.shape.views.neck_colours import back_at, neck_shades
from carve.solid.neck import BACK

RADIUS = 500.0
DISC = ellipse(200.0, 200.0)  # about (100, 0)


@dataclass(frozen=True)
class Dome:
    """The top of a ball about (100, 0): z = sqrt(R^2 - r^2) - R + 20."""

    def __call__(self, x, y):
        return self.jet(x, y).z

    def grid(self, x, y):
        return self.grid_jet(x, y).z

    def grid_jet(self, x, y):
        return self.jet(*np.meshgrid(x, y, indexing="ij"))

    def jet(self, x, y):
        a = x - 100
        root = np.sqrt(RADIUS**2 - a**2 - y**2)
        return Jet(
            root - RADIUS + 20,
            -a / root,
            -y / root,
            -1 / root - a**2 / root**3,
            -a * y / root**3,
            -1 / root - y**2 / root**3,
        )


def on_dome(count=400):
    rng = np.random.default_rng(1)
    turn, far = rng.uniform(0, 2 * np.pi, count), 100 * np.sqrt(rng.uniform(0, 1, count))
    x, y = 100 + far * np.cos(turn), far * np.sin(turn)
    return np.stack([x, y, Dome()(x, y)], axis=1)


@pytest.fixture(scope="module")
def shades():
    return face_shades({"top": OutsideFace(Dome())}, DISC)


def test_a_ball_is_equally_round_everywhere_and_as_steep_as_its_radius_says(shades):
    points = on_dome()
    bend = shades["curvature"].values["top"](points)
    assert bend == pytest.approx(1000 / RADIUS)  # 2 to the metre, and round is positive
    far = np.hypot(points[:, 0] - 100, points[:, 1])
    slope = shades["slope"].values["top"](points)
    assert slope == pytest.approx(np.degrees(np.arcsin(far / RADIUS)))
    assert shades["height"].values["top"](points) == pytest.approx(points[:, 2])


def test_a_back_counts_outward_from_its_own_edge_plane():
    # the same ball turned over, as the underside of a part 40 mm thick
    face = OutsideFace(Dome(), outward=-1.0, edge=-40.0)
    points = on_dome() * [1, 1, -1] + [0, 0, -40.0]
    centre = np.array([100.0, 0.0, -40.0 - 20.0 + RADIUS])
    assert face.height(points) == pytest.approx(-40.0 - points[:, 2])
    assert face.bend(points) == pytest.approx(1000 / RADIUS)
    assert face.normals(points) == pytest.approx((points - centre) / RADIUS)


def test_every_figure_lies_within_its_scale_whose_ends_are_whole(shades):
    points = on_dome()
    for name, shade in shades.items():
        values = shade.values["top"](points)
        assert shade.lowest - 1e-9 <= values.min()
        assert values.max() <= shade.highest + 1e-9, name
        assert shade.lowest == round(shade.lowest)
        assert shade.highest == round(shade.highest)


def test_zebra_on_a_ball_is_twice_the_tilt_across_the_lights(shades):
    """A mirror turned by an angle turns what it shows by twice that (any optics text)."""
    y = np.linspace(-95, 95, 39)
    x = np.full_like(y, 100.0)
    points = np.stack([x, y, Dome()(x, y)], axis=1)
    seen = shades["zebra, lights along"].values["top"](points)
    assert seen == pytest.approx(2 * np.degrees(np.arcsin(y / RADIUS)))
    # where the ball tilts along the lights only, no light moves
    assert shades["zebra, lights across"].values["top"](points) == pytest.approx(0, abs=1e-9)


def test_zebra_of_a_plane_is_one_light_and_of_a_crease_two():
    tilt = np.radians(3.0)
    flat = np.tile(UPWARD, (5, 1))
    turned = np.tile([0.0, np.sin(tilt), np.cos(tilt)], (5, 1))
    assert np.ptp(zebra(flat, UPWARD, ACROSS)) == 0
    jump = zebra(turned, UPWARD, ACROSS) - zebra(flat, UPWARD, ACROSS)
    assert jump == pytest.approx(6.0)
    assert zebra(turned, UPWARD, ALONG) == pytest.approx(0.0)


def test_zebra_has_a_corner_where_curvature_jumps_and_none_where_it_does_not():
    """A straight line that flows into an arc: tangent there, its curvature jumps."""
    y = np.linspace(-20, 20, 401)
    slope = np.where(y > 0, y / 100.0, 0.0)
    normals = np.stack([0 * y, -slope, np.ones_like(y)], axis=1)
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    seen = zebra(normals, UPWARD, ACROSS)
    assert np.abs(np.diff(seen)).max() < 0.2  # no stripe is broken off
    turn = np.abs(np.diff(seen, 2))
    assert np.argmax(turn) == pytest.approx(199, abs=1)
    assert turn.max() > 20 * np.median(turn[turn > 0])


@pytest.fixture(scope="module", params=["wren", "linnet", "pipit"])
def neck(request):
    design = load(request.config.rootpath / "examples" / f"{request.param}.toml")
    shape = shape_of(NECK, design)
    (part,) = make(design, 0.01, only=["neck"]).parts
    return shape, part.mesh.only(BACK)


def test_normals_of_the_back_are_those_of_its_mesh_but_finer(neck):
    shape, mesh = neck
    middle = mesh.corners.mean(axis=1)
    # trimesh's normals of triangles against the surface's where it is close to their middles
    flat = trimesh.Trimesh(mesh.points, mesh.triangles, process=False).face_normals
    shaft = (middle[:, 0] > 20) & (middle[:, 0] < 300) & (mesh.doubled_areas > 0.1)
    found = back_at(shape, middle[shaft]).normals
    cosine = (found * flat[shaft]).sum(axis=1)
    assert np.degrees(np.arccos(np.clip(cosine, -1, 1))).max() < 2.0
    assert np.linalg.norm(found, axis=1) == pytest.approx(1.0)


def test_the_backs_curvature_is_that_of_a_circle_through_its_section(neck):
    """On the keel, where the neck hardly bends along: half of 1 over the radius across."""
    shape, _ = neck
    for x in shape.stations:
        y, z = shape.section(float(x), 2001)[1990:2011].T
        # a circle through three points of the section beside the keel
        a, b, c = (np.array([y[i], z[i]]) for i in (0, 10, 20))
        sides = [np.linalg.norm(p - q) for p, q in ((a, b), (b, c), (c, a))]
        (p, q), (r, s) = b - a, c - a
        area = abs(p * s - q * r) / 2
        across = 4 * area / np.prod(sides)  # 1 over the circumscribed circle's radius
        points = np.array([[x, y[10], z[10]]])
        found = back_at(shape, points).mean_curvature[0]
        assert found == pytest.approx(across / 2, rel=0.02, abs=3e-4)


def test_a_neck_without_a_channel_is_still_shaded(neck):
    shape, mesh = neck
    named = neck_shades(shape, BACK, 3.0, 8.0)
    assert set(named) >= {"curvature", "zebra, lights along"}
    assert ("wood left" in named) == bool(shape.channels)
    for shade in named.values():
        assert np.isfinite(shade.values[BACK](mesh.points)).all()


def test_zebra_of_a_neck_is_even_on_both_sides(neck):
    shape, _ = neck
    y = shape.section(200.0)[[20, -21]]
    points = np.column_stack([[200.0, 200.0], y])
    shade = neck_shades(shape, BACK, 3.0, 8.0)["zebra, lights along"]
    bass, treble = shade.values[BACK](points)
    assert bass == pytest.approx(-treble, abs=1e-6)
    assert treble > 0
