"""That a carved plate's mesh is closed, true to surface and outline, and weighs what it must."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from outlines import CUTAWAY, HORNED, WAISTED, curve, ellipse, smooth

from carve.arrays import Array
from carve.errors import SolidError
from carve.shape.planar.outline import polygon
from carve.shape.plate.arch import ArchSurface, arch_surface, places_on
from carve.shape.plate.contour_arch import ContourArch, contour_surface, soft_distance
from carve.shape.plate.foundation import arch_foundation
from carve.shape.plate.graduation import GraduatedInside, GraduationRequest
from carve.shape.plate.request import Arch, StationHeight
from carve.solid.as_written import as_written
from carve.solid.kit.triangulated_plan import TriangulatedPlan, plate_solid, triangulated_plan
from carve.solid.mesh import Mesh, soundness, volume

CHORD = 0.05  # mm
ARCHES = {
    "waisted": (
        WAISTED,
        Arch(6, 16, 1.0, (StationHeight(140, 12.0), StationHeight(270, 18.0)), falloff=75.0),
    ),
    "cutaway": (CUTAWAY, Arch(6, 16, 1.2, (StationHeight(150, 14.0), StationHeight(300, 18.0)))),
    "horned": (HORNED, Arch(4, 14, 0.8, (StationHeight(160, 9.0), StationHeight(230, 12.0)))),
}
BACK = -40.0


def laid(outline: Array, arch: Arch, chord: float) -> tuple[ArchSurface, TriangulatedPlan]:
    surface = arch_surface(arch_foundation(outline, arch.lines), arch)
    on = tuple((station.x, 0.0) for station in arch.stations)
    return surface, triangulated_plan(outline, [surface], chord, arch.recurve, on, (arch.ledge,))


def with_flat_back(surface: ArchSurface, on: TriangulatedPlan) -> Mesh:
    return plate_solid(on, surface(*on.points.T), np.full(len(on.points), BACK))


def to_trimesh(mesh: Mesh) -> trimesh.Trimesh:
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


@pytest.fixture(scope="module", params=ARCHES)
def carved(request) -> tuple[str, ArchSurface, TriangulatedPlan]:
    points, arch = ARCHES[request.param]
    return request.param, *laid(polygon(curve(request.param, points), 0.01), arch, CHORD)


def test_it_is_closed_in_memory_and_as_written(carved) -> None:
    _, surface, on = carved
    mesh = with_flat_back(surface, on)
    assert soundness(mesh).sound
    assert soundness(as_written(mesh)).sound
    assert len(as_written(mesh).triangles) == len(mesh.triangles)
    assert to_trimesh(mesh).is_watertight
    assert set(mesh.names) == {"top", "back", "sides"}


def test_triangles_are_no_needles(carved) -> None:
    _, _, on = carved
    a, b, c = on.points[on.triangles].transpose(1, 0, 2)
    sides = np.stack([np.hypot(*(b - a).T), np.hypot(*(c - b).T), np.hypot(*(a - c).T)])
    u, v = b - a, c - a
    height = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / sides.max(axis=0)
    assert height.min() > 0.02
    assert np.quantile(height / sides.max(axis=0), 0.01) > 0.1


def test_the_surface_is_met_within_the_chord_error(carved) -> None:
    """At random places of random triangles, not at those the mesh was measured at."""
    _, surface, on = carved
    z = surface(*on.points.T)
    rng = np.random.default_rng(9)
    which = on.triangles[rng.integers(0, len(on.triangles), 40_000)]
    share = rng.dirichlet((1, 1, 1), 40_000)
    x, y = np.einsum("nk,nki->in", share, on.points[which])
    lifted = (share * z[which]).sum(axis=1)
    assert np.abs(surface(x, y) - lifted).max() < CHORD * 1.1
    assert on.error(surface, z) <= CHORD


def test_the_outline_is_met_within_its_chord_error(carved) -> None:
    name, _, on = carved
    drawn = polygon(curve(name, ARCHES[name][0]), 1e-3)
    rim = on.points[: on.rim]
    middles = (rim + np.roll(rim, -1, axis=0)) / 2
    for points, line in ((drawn, rim), (middles, drawn)):
        away = shapely.distance(shapely.LinearRing(line), shapely.points(points))
        assert away.max() < 0.01 + 0.001


def test_a_caliper_on_the_mesh_reads_the_stations(carved) -> None:
    name, surface, on = carved
    mesh = with_flat_back(surface, on)
    for station in ARCHES[name][1].stations:
        away = np.abs(mesh.points - [station.x, 0.0, station.height]).max(axis=1)
        assert away.min() < 1e-3


def test_it_weighs_what_the_surface_holds(carved) -> None:
    """The integral of the height over the outline, by the midpoint rule on a fine grid."""
    name, surface, on = carved
    outline = shapely.Polygon(smooth(ARCHES[name][0], 4000))
    low_x, low_y, high_x, high_y = outline.bounds
    step = 0.5
    x, y = np.arange(low_x, high_x, step), np.arange(low_y, high_y, step)
    shapely.prepare(outline)
    inside = shapely.contains_xy(outline, x[:, None], y[None, :])
    above = surface.grid(x, y)[inside].sum() * step**2
    mesh = with_flat_back(surface, on)
    held = above - BACK * outline.area
    assert to_trimesh(mesh).volume == pytest.approx(held, rel=5e-4)
    assert volume(mesh) == pytest.approx(to_trimesh(mesh).volume)


def test_another_height_only_lifts_the_same_plan(carved) -> None:
    name, surface, on = carved
    arch = ARCHES[name][1]
    lower = replace(arch, stations=tuple(StationHeight(s.x, 0.9 * s.height) for s in arch.stations))
    other = arch_surface(surface.foundation, lower)
    heights = places_on(surface.foundation, on.points).heights(other)
    assert heights == pytest.approx(other(*on.points.T), abs=1e-12)
    assert on.error(other, heights) <= CHORD
    assert soundness(plate_solid(on, heights, np.full(len(heights), BACK))).sound


def test_a_finer_bound_is_held_too() -> None:
    arch = ARCHES["horned"][1]
    surface, on = laid(polygon(curve("horned", HORNED), 0.005), arch, 0.01)
    assert on.error(surface, surface(*on.points.T)) <= 0.01
    assert soundness(as_written(with_flat_back(surface, on))).sound


def test_a_hollow_plate_is_as_thick_as_its_graduation() -> None:
    """A ray from the outside straight in, by trimesh, through the mesh that a file would hold."""
    outline, arch = smooth(WAISTED), ARCHES["waisted"][1]
    surface = arch_surface(arch_foundation(outline, arch.lines), arch)
    inside = GraduatedInside(
        surface, surface.foundation.edge.distance, GraduationRequest(12, 5.0, 14, 26, 3.5, 110, 6.5)
    )
    on = triangulated_plan(outline, [surface, inside], CHORD, 30.0)
    mesh = as_written(plate_solid(on, surface(*on.points.T), inside(*on.points.T)))
    assert soundness(mesh).sound
    solid = to_trimesh(mesh)
    x, y = np.random.default_rng(10).uniform((150, -70), (380, 70), (60, 2)).T
    jet = surface.jet(x, y)
    above = np.stack([x, y, jet.z], axis=1) + 1.0 * jet.normal
    for origin, normal, wanted in zip(above, jet.normal, inside.thickness(x, y), strict=True):
        hits, *_ = solid.ray.intersects_location(origin[None], -normal[None])
        depths = np.sort((origin - hits) @ normal)
        assert depths[1] - depths[0] == pytest.approx(wanted, abs=3 * CHORD)


def test_a_plate_by_contour_lines_is_closed_too() -> None:
    outline = polygon(curve("horned", HORNED), 0.02)
    arch = ContourArch(4, ((14, -0.8), (35, 5.0), (80, 10.0)))
    surface = contour_surface(soft_distance(outline, arch.softness), arch)
    on = triangulated_plan(outline, [surface], CHORD, 40.0, (), (4.0,))
    assert soundness(as_written(with_flat_back(surface, on))).sound


def test_a_plate_carved_on_both_faces() -> None:
    outline, arch = ellipse(300.0, 220.0), Arch(5, 14, 0.8, (StationHeight(150, 12.0),))
    surface, on = laid(outline, arch, CHORD)
    z = surface(*on.points.T)
    mesh = plate_solid(on, z, BACK - z)
    assert soundness(mesh).sound
    flat = to_trimesh(with_flat_back(surface, on)).volume
    slab = -BACK * shapely.Polygon(outline).area
    assert to_trimesh(mesh).volume - slab == pytest.approx(2 * (flat - slab), rel=0.01)


def test_straight_sides_and_corners_stay_clean() -> None:
    """Many points in one line on the rim, a sharp tip and an inner corner."""
    outline = np.array(
        [[0, -80], [260, -110], [300, 0], [260, 110], [120, 90], [20, 140], [60, 40], [0, 40]],
        dtype=float,
    )
    surface, on = laid(outline, Arch(4, 13, 1.0, (StationHeight(170, 8.0),)), CHORD)
    mesh = with_flat_back(surface, on)
    assert soundness(as_written(mesh)).sound
    assert shapely.Polygon(on.points[: on.rim]).symmetric_difference(
        shapely.Polygon(outline)
    ).area == pytest.approx(0, abs=1e-6)


def test_faces_that_meet_are_refused() -> None:
    surface, on = laid(ellipse(300.0, 220.0), Arch(5, 14, 2.0, (StationHeight(150, 12.0),)), 0.1)
    with pytest.raises(SolidError, match=r"top and back meet at x = .* no wood is left there"):
        plate_solid(on, surface(*on.points.T), np.full(len(on.points), -1.5))


@settings(max_examples=6)
@given(
    waves=st.lists(st.floats(-1, 1), min_size=6, max_size=6),
    bite=st.floats(0, 0.6),
    at=st.floats(-2.5, 2.5),
)
def test_any_outline_gives_a_closed_plate(waves: list[float], bite: float, at: float) -> None:
    """Blobs with a bay bitten out of them somewhere, as deep as a cutaway is."""
    turn = np.linspace(-np.pi, np.pi, 400, endpoint=False)
    wave = sum(
        a * np.cos((k + 2) * turn) + b * np.sin((k + 2) * turn)
        for k, (a, b) in enumerate(zip(waves[:3], waves[3:], strict=True))
    )
    away = np.angle(np.exp(1j * (turn - at)))
    radius = 150 * (1 + 0.06 * wave) * (1 - bite * np.exp(-((away / 0.35) ** 2)))
    outline = np.stack([150 + radius * np.cos(turn), radius * np.sin(turn)], axis=1)
    middle = Arch(5, 14, 1.0, (StationHeight(150, 12.0),))
    surface, on = laid(outline, middle, 0.1)
    mesh = as_written(with_flat_back(surface, on))
    assert soundness(mesh).sound
    assert surface(np.array([150.0]), np.zeros(1)) == pytest.approx(12.0, abs=1e-3)
