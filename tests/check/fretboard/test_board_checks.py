"""The fretboard's checks: right when all is well, measured on the mesh, and able to fail."""

from dataclasses import replace

import numpy as np
import pytest

from carve.check.finding import Verdict
from carve.check.fretboard import along_strings as board_strings
from carve.check.fretboard import edge as board_edge
from carve.check.fretboard import frets as board_frets
from carve.check.fretboard import radius as board_radius
from carve.check.fretboard import tang as board_tang
from carve.check.fretboard import wood as board_wood
from carve.check.reading.board import gauged_radius
from carve.check.report import inspect, worst
from carve.design import with_values
from carve.parts.job import Job, make
from carve.shape.fretboard.shape import FretboardShape
from carve.solid.mesh import Mesh


def board(job):
    return job.parts_with_shape(FretboardShape)[0]


def with_points(job, points):
    """The job with the fretboard's mesh points moved: its formulas know nothing of it."""
    part = board(job)
    moved = Mesh(points, part.mesh.triangles, part.mesh.surface, part.mesh.names)
    parts = tuple(replace(p, mesh=moved) if p is part else p for p in job.parts)
    return Job(job.design, parts)


def made(design, changes=None, chord=0.02):
    return make(with_values(design, changes or {}), chord)


def only(check, job, words=""):
    (found,) = [finding for finding in check.check(job) if words in finding.check]
    return found


def test_the_examples_board_is_good_for_cutting_and_for_looking_at(design):
    for chord in (0.02, 0.06):
        found = [f for f in inspect(made(design, chord=chord)) if f.part == "fretboard"]
        assert len(found) >= 14
        assert worst(found) is Verdict.GOOD


def test_wood_under_a_slot_by_hand(design):
    # 6 thick, 2.8 deep and 0.724 to the edges by the handbook's sagitta (12 in over 42 mm)
    changes = {
        "fretboard.radius": "12 in",
        "neck.nut_width": 42.0,
        "neck.heel_width": 42.0,
        "neck.truss_rod": None,
    }
    found = only(board_wood, made(design, changes), "slots")
    assert found.value == pytest.approx(6 - 2.8 - 0.72429, abs=1e-5)
    assert abs(found.point[1]) == pytest.approx(21.0)


@pytest.mark.parametrize("name", ["fret slots", "markers", "nut slot"])
def test_too_little_wood_under_a_cut_fails_and_the_advice_mends_it(design, name):
    deep = {
        "fretboard.slots": {"depth": 4.4},
        "fretboard.markers.depth": 5.0,
        "fretboard.nut": "slot",
        "fretboard.behind": 8.0,
        "fretboard.nut_slot": {"width": 3.0, "depth": 4.8},
    }
    key = board_wood.KEYS[name]
    job = made(design, deep)
    found = only(board_wood, job, name)
    assert found.verdict is Verdict.FAILED
    assert key in found.advice
    missing = found.limit - found.value
    table, last = key.rsplit(".", 1)
    depth = getattr(getattr(job.design.fretboard, table.split(".")[1]), last)
    mended = made(job.design, {key: depth - missing - 0.001})
    assert only(board_wood, mended, name).verdict is Verdict.GOOD


def test_a_slot_that_comes_out_of_the_glue_face_says_so(design):
    # 12 in over 42 mm falls 0.724 mm: a slot 5.5 deep has gone through 6 mm at the edges
    found = only(board_wood, made(design, {"fretboard.slots": {"depth": 5.5}}), "slots")
    assert found.verdict is Verdict.FAILED
    assert found.value == pytest.approx(0, abs=1e-9)
    assert "out of the glue face" in found.detail


def test_edge_thickness_by_hand(design):
    changes = {"fretboard.radius": "7.25 in", "neck.nut_width": 42.0, "neck.heel_width": 42.0}
    found = only(board_edge, made(design, {**changes, "neck.truss_rod": None}))
    assert found.value == pytest.approx(6 - 1.20131, abs=1e-5)  # the handbook's sagitta
    assert found.verdict is Verdict.GOOD
    thin = only(board_edge, made(design, {**changes, "fretboard.thickness": 4.0}))
    assert thin.value == pytest.approx(4 - 1.20131, abs=1e-5)
    assert thin.verdict is Verdict.FAILED


def test_radii_come_from_the_mesh(design):
    job = made(design, chord=0.005)
    found = list(board_radius.check(job))
    assert [f.target for f in found] == pytest.approx(
        [254.0, 254 + 152.4 * 314.325 / 452.241, 406.4], abs=0.11
    )
    assert [f.value for f in found] == pytest.approx([f.target for f in found], rel=0.01)
    # heights over the crown's plane stretched by 1.1: the radius shrinks by as much
    points = board(job).mesh.points.copy()
    top = points[:, 2] > 3.5
    points[top, 2] = 6.0 - 1.1 * (6.0 - points[top, 2])
    stretched = list(board_radius.check(with_points(job, points)))
    assert [f.value * 1.1 for f in stretched] == pytest.approx([f.value for f in found], rel=0.01)
    assert {f.verdict for f in stretched} == {Verdict.FAILED}


def test_a_flat_board_that_is_not_flat_fails(design):
    job = made(design, {"fretboard.radius": "flat"})
    assert {f.verdict for f in board_radius.check(job)} == {Verdict.GOOD}
    points = board(job).mesh.points.copy()
    points[:, 2] += 0.05 * (np.abs(points[:, 1]) > 10)
    assert {f.verdict for f in board_radius.check(with_points(job, points))} == {Verdict.FAILED}


def test_a_gauge_finds_the_radius_of_points_on_a_circle():
    angle = np.linspace(-0.08, 0.05, 2001)
    points = np.stack([304.8 * np.sin(angle), 304.8 * np.cos(angle) - 298.8], 1)
    assert gauged_radius(points) == pytest.approx(304.8, rel=1e-6)
    # many points in one place weigh no more than others
    crowded = np.sort(np.r_[angle[::40], np.linspace(0.03, 0.031, 500)])
    points = np.stack([304.8 * np.sin(crowded), 304.8 * np.cos(crowded)], 1)
    assert gauged_radius(points) == pytest.approx(304.8, rel=1e-3)


def test_fret_places_come_from_the_mesh(design):
    job = made(design)
    count, places = board_frets.check(job)
    assert (count.value, places.verdict) == (22, Verdict.GOOD)
    assert places.value < 1e-9
    shifted = board(job).mesh.points + np.array([0.07, 0, 0])
    _, off = board_frets.check(with_points(job, shifted))
    assert off.value == pytest.approx(0.07)
    assert off.verdict is Verdict.FAILED


def test_a_board_slotted_by_the_rule_of_18_fails(design):
    # its 12th fret lies at 0.496364 L, 2.29 mm from half of 628.65 mm
    eighteen = [(18 / 17) ** n for n in range(1, 23)]
    slotted = made(design, {"fretboard.temperament": eighteen})
    asked = Job(design, slotted.parts)
    _, found = board_frets.check(asked)
    assert found.verdict is Verdict.FAILED
    assert found.value > 2.2


def test_a_missing_slot_is_noticed(design):
    job = made(design, {"fretboard.frets": 21, "fretboard.beyond_last_fret": 20.0})
    (found,) = board_frets.check(Job(design, job.parts))
    assert found.verdict is Verdict.FAILED
    assert found.value == 21


@pytest.mark.parametrize(("floor", "verdict"), [("radius", Verdict.GOOD), ("flat", Verdict.FAILED)])
def test_a_tang_needs_its_depth_at_the_edges_too(design, floor, verdict):
    # 2.8 deep in the middle; level floors lie 0.9 mm less deep at the edges (254 mm, 42.9 mm)
    found = only(board_tang, made(design, {"fretboard.slots.floor": floor}))
    assert found.verdict is verdict
    if floor == "flat":
        assert found.value == pytest.approx(2.8 - 0.95, abs=0.1)
        assert "floor" in found.advice


STRINGS = {"number": 6, "nut_edge_bass": 3.0, "nut_edge_treble": 3.0, "bridge_spread": 60.0}


def test_the_cone_that_follows_the_strings_is_straight_and_a_steep_linear_one_warns(design):
    follows = {"nut": 184.15, "follow": "strings"}
    job = made(design, {"strings": STRINGS, "fretboard.radius": follows})
    straight = only(board_strings, job)
    assert straight.value < 1e-12
    linear = {"nut": 184.15, "end": 508.0}
    bowed = only(board_strings, made(design, {"strings": STRINGS, "fretboard.radius": linear}))
    assert bowed.verdict is Verdict.WARNING
    assert bowed.value > 0.05
    assert 'follow = "strings"' in bowed.advice
    # what the cone's radius would be there stands beside what it is
    radius = float(board(job).shape.radius(board(job).shape.frets[-1:])[0])
    assert f"cone that follows the strings {radius:.2f}".rstrip("0") in bowed.detail
    assert "radius at the last fret 508 mm" in bowed.detail


def test_without_strings_or_on_a_flat_board_nothing_is_said_of_them(design):
    bare = with_values(design, {"strings": None, "action": None, "bridge": None, "joint": None})
    assert list(board_strings.check(make(bare, 0.05))) == []
    flat = made(design, {"strings": STRINGS, "fretboard.radius": "flat"})
    assert list(board_strings.check(flat)) == []


def test_a_flat_board_has_no_chord_error_and_still_the_volume_of_its_integral(design):
    job = made(design, {"fretboard.radius": "flat", "fretboard.markers": None})
    assert board(job).chord_error == 0
    found = {f.check: f for f in inspect(job) if f.part == "fretboard"}
    assert found["volume"].verdict is Verdict.GOOD
