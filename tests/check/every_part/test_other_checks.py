"""Profile, blank and mesh checks: right when all is well, and able to fail."""

from dataclasses import replace

import numpy as np
import pytest

from carve.check.every_part import blank, mesh
from carve.check.finding import Verdict, as_plain, show_limit, show_place, show_value
from carve.check.neck import profile
from carve.check.report import inspect, summary, worst
from carve.design import with_values
from carve.parts.job import Job, make
from carve.solid.mesh import Mesh


@pytest.fixture
def job(design):
    return make(design, 0.02)


def with_mesh(job, made):
    return Job(job.design, (replace(job.parts[0], mesh=made),))


def moved(made, shift):
    return Mesh(made.points + shift, made.triangles, made.surface, made.names)


def test_the_example_is_good_throughout(job):
    findings = inspect(job)
    assert worst(findings) is Verdict.GOOD
    assert len(findings) >= 14


def test_thickness_at_each_station_is_measured_on_the_mesh(job):
    found = [f for f in profile.check(job) if f.check.startswith("thickness")]
    asked = [station.thickness for station in job.design.neck.stations]
    assert [f.value for f in found] == pytest.approx(asked, abs=1e-6)
    # a mesh that sits 0.3 mm lower reads 0.3 mm thicker: the formula has no part in it
    lower = with_mesh(job, moved(job.parts[0].mesh, np.array([0, 0, -0.3])))
    shifted = [f for f in profile.check(lower) if f.check.startswith("thickness")]
    assert [f.value for f in shifted] == pytest.approx(np.array(asked) + 0.3, abs=1e-6)
    assert {f.verdict for f in shifted} == {Verdict.FAILED}


def test_a_profile_that_is_off_fails(job):
    wider = Mesh(
        job.parts[0].mesh.points * [1, 1.02, 1],
        job.parts[0].mesh.triangles,
        job.parts[0].mesh.surface,
        job.parts[0].mesh.names,
    )
    found = [f for f in profile.check(with_mesh(job, wider)) if f.check.startswith("profile")]
    assert {f.verdict for f in found} == {Verdict.FAILED}
    assert min(f.value for f in found) > 0.2


def test_stations_at_both_ends_of_the_neck_can_be_measured(design):
    ends = with_values(
        design,
        {"neck.stations[0].at": "nut", "neck.stations[2].at": design.neck.heel_end},
    )
    found = list(profile.check(make(ends, 0.02)))
    assert {f.verdict for f in found} == {Verdict.GOOD}


def test_blank_spare_is_half_of_what_the_part_leaves(job):
    # by hand: (70 - 55.5) / 2
    across = next(f for f in blank.check(job) if "width" in f.check)
    assert across.value == pytest.approx(7.25, abs=1e-6)


@pytest.mark.parametrize(
    ("key", "size", "direction"),
    [("length", 400.0, "length"), ("width", 56.0, "width"), ("thickness", 18.0, "thickness")],
)
def test_a_blank_too_small_fails_and_names_the_size_that_does(design, key, size, direction):
    changed = with_values(design, {f"neck.blank.{key}": size})
    found = next(f for f in blank.check(make(changed, 0.05)) if direction in f.check)
    assert found.verdict is Verdict.FAILED
    part = size - 2 * found.value
    mended = with_values(changed, {f"neck.blank.{key}": part + 2 * design.neck.blank.allowance})
    assert {f.verdict for f in blank.check(make(mended, 0.05))} == {Verdict.GOOD}


def test_a_hole_fails_the_mesh_check(job):
    made = job.parts[0].mesh
    holed = Mesh(made.points, made.triangles[1:], made.surface[1:], made.names)
    assert next(mesh.check(with_mesh(job, holed))).verdict is Verdict.FAILED


def test_a_volume_that_is_wrong_fails(job):
    made = job.parts[0].mesh
    swollen = Mesh(made.points * 1.002, made.triangles, made.surface, made.names)
    found = list(mesh.check(with_mesh(job, swollen)))[2]
    assert found.verdict is Verdict.FAILED


def test_a_chord_error_beyond_the_bound_fails(job):
    coarse = Job(job.design, (replace(job.parts[0], chord_error=0.03),))
    assert list(mesh.check(coarse))[1].verdict is Verdict.FAILED


def test_findings_are_shown_in_the_files_unit(design):
    inches = make(with_values(design, {"units": "in"}), 0.02)
    found = {f.check: f for f in inspect(inches) if f.part == "neck"}
    # 23 mm / 25.4 = 0.9055 in
    assert show_value(found["thickness at fret 12"], "in") == "0.906 in"
    assert show_limit(found["thickness at fret 12"], "in").startswith("0.906 in ± ")
    assert "in" in found["blank, width"].detail
    # small figures keep their digits: 0.02 mm / 25.4 = 0.0008 in
    assert show_limit(found["chord error"], "in") == "at most 0.0008 in"


def test_places_are_told_by_length_and_fret(design):
    # the 12th fret halves the scale
    assert show_place(design, design.scale_length / 2).endswith("near fret 12")
    assert show_place(design, 0.0) == "at the nut"


def test_no_place_is_told_by_a_fret_that_is_not_on_the_board(design):
    # 22 frets, and the board ends 10 mm beyond the last: where a 23rd would be
    assert design.fretboard.frets == 22
    assert show_place(design, 462.24) == "462.24 mm from the nut"


def test_a_finding_for_machines_is_plain_data(job):
    plain = [as_plain(f) for f in inspect(job)]
    assert {p["verdict"] for p in plain} == {"good"}
    assert all(p["unit"] in ("mm", "mm3", "") for p in plain)
    curve = plain[0]["curve"]
    assert len(curve["x"]) == len(curve["values"])


def test_the_summary_counts(design):
    failing = inspect(make(with_values(design, {"neck.truss_rod.depth": 12.5}), 0.05))
    assert "failed" in summary(failing)
    assert summary(failing).split(" of ")[0] == str(
        sum(f.verdict is Verdict.FAILED for f in failing)
    )
