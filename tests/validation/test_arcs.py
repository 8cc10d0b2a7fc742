"""Arcs and cones: the playing surface's sagitta, section and radius, also on the exported mesh."""

import math

import numpy as np
import pytest

from carve.design import with_values
from carve.design.derived.board_plan import board_plan
from carve.design.values.circle import sagitta
from carve.shape.assembly.side_view import bow_with
from carve.shape.fretboard.shape import fretboard_shape
from carve.shape.fretboard.strings import cone_radius
from carve.solid.fretboard import fretboard_solid

SEGMENTS = "Machinery's Handbook, circular segments (from memory)"
MM = 25.4

# chord in mm, radius in inches, height of the segment in mm by R - sqrt(R^2 - c^2/4)
HEIGHTS = [(42, 7.25, 1.20131), (42, 9.5, 0.91554), (42, 12, 0.72429), (56, 12, 1.28881)]


def board(design, changes):
    return fretboard_shape(board_plan(with_values(design, changes)))


@pytest.mark.parametrize(("chord", "radius_in", "height"), HEIGHTS)
def test_sagitta_as_the_handbook_has_it(validated, chord, radius_in, height):
    found = sagitta(radius_in * MM, chord / 2)
    what = f"sagitta of a radius of {radius_in} in over {chord} mm"
    validated(what, SEGMENTS, height, found, 0.5e-5, "mm")


@pytest.mark.parametrize(("chord", "radius_in", "height"), HEIGHTS[:3])
def test_the_mesh_falls_to_its_edges_by_the_handbooks_sagitta(
    validated, design, chord, radius_in, height
):
    changes = {"fretboard.radius": radius_in * MM, "neck.nut_width": float(chord)}
    mesh, _ = fretboard_solid(board(design, changes), 0.02)
    nut = mesh.only("nut end").points
    across = nut[nut[:, 2] > 1.0]
    crown = across[np.argmin(np.abs(across[:, 1]))]
    edges = across[[np.argmin(across[:, 1]), np.argmax(across[:, 1])]]
    assert np.abs(edges[:, 1]) == pytest.approx(chord / 2, abs=1e-9)
    what = f"fall of the fretboard's mesh to its edges, radius {radius_in} in over {chord} mm"
    validated(what, SEGMENTS, [height] * 2, crown[2] - edges[:, 2], 0.5e-5, "mm")


def test_the_section_is_a_rectangle_and_a_segment(validated, design):
    # area of a segment: R^2 (a - sin a) / 2 for the angle a that its chord is seen under
    width, radius = 42.0, 12 * MM
    changes = {
        "fretboard.radius": "12 in",
        "fretboard.slots": None,
        "fretboard.markers": None,
        "neck.nut_width": width,
        "neck.heel_width": width,
    }
    shape = board(design, changes)
    angle = 2 * math.asin(width / 2 / radius)
    under = 6.0 - radius * (1 - math.cos(angle / 2))  # the board's thickness at its edges
    theirs = under * width + radius**2 * (angle - math.sin(angle)) / 2
    ours = shape.volume() / shape.end
    what = "area of a fretboard's section, 42 mm wide, 6 mm thick, radius 12 in"
    validated(what, SEGMENTS, theirs, ours, 1e-6, "mm²")


def test_the_cone_on_which_strings_lie_straight(validated):
    found = cone_radius(np.array([0.0, 470.0]), 12 * MM, 42.0, 56.0, 470.0) / MM
    source = "Earls, American Lutherie 30 (1991), abstract"
    what = "radius of the cone on which the strings' paths are straight, 56 mm wide, 12 in at 42 mm"
    validated(what, source, [12.0, 16.0], found, 0.05, "in")


@pytest.mark.parametrize("relief", [0.1, 0.25, 0.5])
def test_relief_is_the_sagitta_under_the_straightedge(validated, relief):
    # radius of an arc by its chord c and height h: c^2 / 8h + h / 2
    bow = bow_with(relief, 500.0, 40.0, 440.0)
    theirs = (400**2 / (8 * relief) + relief / 2) / 1000
    what = f"radius of a neck bowed by {relief} mm over 400 mm"
    validated(what, SEGMENTS, theirs, 1 / bow.curvature / 1000, 1e-4 * theirs, "m")
    assert bow.gap(40.0, 440.0) == pytest.approx(relief, abs=1e-12)
