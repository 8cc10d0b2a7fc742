"""Two scale lengths as they stand in the meshes, and what the checks say of them."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from carve.check.assembly import glue_faces, string_intonation
from carve.check.finding import Verdict
from carve.check.fretboard import frets as board_frets
from carve.check.reading.board import fret_slots
from carve.check.report import inspect
from carve.design import with_values
from carve.errors import DesignError
from carve.parts.job import make
from carve.shape.fretboard.strings import string_layout
from carve.shape.neck.area import neck_volume
from carve.shape.neck.build import neck_shape
from carve.shape.neck.finish import neck_film
from carve.solid.as_written import as_written
from carve.solid.mesh import Mesh, soundness
from carve.solid.neck import neck_solid

IN = 25.4
BASS, TREBLE = 26.75 * IN, 25.25 * IN


@pytest.fixture(scope="session")
def job(kite):
    return make(kite, 0.02)


def part_of(job, name):
    return next(part for part in job.parts if part.name == name)


def as_trimesh(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


def replaced(job, name, mesh):
    return replace(
        job, parts=tuple(replace(p, mesh=mesh) if p.name == name else p for p in job.parts)
    )


@pytest.mark.parametrize("name", ["neck", "fretboard"])
def test_the_meshes_are_closed_and_whole_as_another_program_sees_them(job, name):
    solid = as_trimesh(part_of(job, name).mesh)
    assert solid.is_watertight
    assert solid.is_winding_consistent
    assert solid.is_volume
    assert len(solid.split(only_watertight=False)) == 1


@pytest.mark.parametrize("name", ["neck", "fretboard"])
def test_volume_by_the_mesh_meets_the_integral_ever_closer(kite, name):
    """A finer skin misses less of the same integral, which knows no mesh."""
    off = []
    for chord in (0.04, 0.0025):
        part = part_of(make(kite, chord), name)
        integral = part.type.volume(part.shape)
        off.append(abs(as_trimesh(part.mesh).volume / integral - 1))
    assert off[1] < off[0] / 4
    assert off[1] < 2e-4


def test_the_slanted_end_alone_accounts_for_its_volume(kite):
    """Square nut less slanted nut, two integrals, against the same two meshes."""
    lopsided = {
        "neck.stations": [
            {"at": "nut", "thickness": 20.0, "shape": {"bass": "D", "treble": "V"}},
            {"at": "fret 12", "thickness": 22.0, "shape": "C"},
        ],
    }
    asked = with_values(kite, lopsided)
    needs = (asked.placed_neck(), asked.saddle_line.at, 6.2, neck_film(None))
    square, slanted = neck_shape(*needs), neck_shape(*needs, 0.34)
    meshed = [as_trimesh(neck_solid(shape, 0.0025)[0]).volume for shape in (square, slanted)]
    gained = neck_volume(slanted) - neck_volume(square)
    assert abs(gained) > 100  # mm^3: the fuller bass side gains more than the treble side loses
    assert meshed[1] - meshed[0] == pytest.approx(gained, abs=3.0)


def test_every_point_of_the_nuts_ends_is_on_the_nuts_line(kite, job):
    """Both parts' ends lie in the plane through the outer strings' nut points."""
    layout = string_layout(kite.strings, kite.neck.nut_width, kite.scale_length, kite.fan)
    (x0, x1), (y0, y1) = layout.starts[[0, -1]], layout.nut[[0, -1]]
    for name in ("neck", "fretboard"):
        x, y, _ = part_of(job, name).mesh.only("nut end").points.T
        assert len(x) > 10
        away = (x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)
        assert np.abs(away).max() / np.hypot(x1 - x0, y1 - y0) < 1e-9


def test_walls_of_the_mesh_are_where_the_published_formula_puts_each_fret(kite, job):
    """L (1 - 2^(-n/12)) along each outer string, on triangles and not on any formula of ours.

    Where the upright plane over the string cuts the mesh, as trimesh finds it, each wall of a
    slot is an upright segment.
    """
    layout = string_layout(kite.strings, kite.neck.nut_width, kite.scale_length, kite.fan)
    solid = as_trimesh(part_of(job, "fretboard").mesh)
    n = np.arange(1, 25)
    for string, scale in ((0, BASS), (-1, TREBLE)):
        nut = np.array([layout.starts[string], layout.nut[string], 0.0])
        along = np.array([layout.ends[string], layout.bridge[string], 0.0]) - nut
        along /= np.linalg.norm(along)
        segments = trimesh.intersections.mesh_plane(
            solid, plane_normal=[-along[1], along[0], 0.0], plane_origin=nut
        )
        t, z = (segments - nut) @ along, segments[..., 2]
        upright = (np.abs(np.diff(t))[:, 0] < 1e-4) & (np.abs(np.diff(z))[:, 0] > 0.01)
        places = np.unique(np.round(t[upright, 0], 4))
        places = places[(places > 1.0) & (places < t.max() - 1.0)]
        assert len(places) == 48
        middles = (places[0::2] + places[1::2]) / 2
        assert middles == pytest.approx(scale * (1 - 2 ** (-n / 12)), abs=0.002)


def test_slots_are_as_wide_square_to_themselves_as_the_saw(job):
    slots = fret_slots(part_of(job, "fretboard").mesh)
    assert len(slots) == 24
    assert [slot.width for slot in slots] == pytest.approx([0.6] * 24, abs=1e-9)
    assert abs(slots[7].slant) < 1e-9
    assert slots[0].slant > 0.25


def test_blind_ends_keep_their_distance_from_both_edges(kite, job):
    """Wood beside the slots, measured straight across from the mesh to the board's edges."""
    part = part_of(job, "fretboard")
    points = part.mesh.only("fret slots").points
    edge = part.shape.half_width(points[:, 0])
    least = (edge - np.abs(points[:, 1])).min()
    # at the middle of the slot; half of its width and slant further on by the board's taper
    assert least == pytest.approx(1.6, abs=0.015)


def test_everything_about_the_example_is_good(job):
    assert {finding.verdict for finding in inspect(job)} == {Verdict.GOOD}


def test_slots_cut_square_are_found_off_their_places(kite, job):
    """The board of one scale length is no board for two: the check must see it."""
    single = with_values(
        kite, {"fretboard.treble_scale_length": None, "fretboard.perpendicular_fret": None}
    )
    wrong = replaced(job, "fretboard", part_of(make(single, 0.05), "fretboard").mesh)
    count, places = board_frets.check(wrong)
    assert count.verdict is Verdict.GOOD
    assert places.verdict is Verdict.FAILED
    assert places.value > 5


def test_a_board_pushed_along_the_neck_is_found_at_the_nuts_end(job):
    mesh = part_of(job, "fretboard").mesh
    pushed = Mesh(
        mesh.points + np.array([0.08, 0.0, 0.0]), mesh.triangles, mesh.surface, mesh.names
    )
    *_, ends = glue_faces.check(replaced(job, "fretboard", pushed))
    assert ends.check == "slanted nut ends of the glue faces"
    assert ends.value == pytest.approx(0.08, abs=1e-6)
    assert ends.verdict is Verdict.FAILED


def test_a_square_neck_under_a_slanted_board_is_found(kite, job):
    square = neck_shape(kite.placed_neck(), kite.saddle_line.at, 6.2, neck_film(kite.finish))
    wrong = replaced(job, "neck", neck_solid(square, 0.05)[0])
    *_, ends = glue_faces.check(wrong)
    assert ends.verdict is Verdict.FAILED
    assert ends.value == pytest.approx(8.2, abs=0.1)


def test_even_centres_play_true_and_even_gaps_at_one_end_are_said_to_miss(kite, job):
    (true,) = string_intonation.check(job)
    assert true.verdict is Verdict.GOOD
    assert true.value < 1e-6
    (missing,) = string_intonation.check(
        make(with_values(kite, {"strings.nut_spacing": "even gaps"}), 0.05)
    )
    assert missing.verdict is Verdict.WARNING
    assert "strings.nut_spacing" in missing.advice
    # 0.2 mm at half of 660 mm is about a cent: 1200 / ln 2 times the share
    assert float(missing.detail.split(" cents")[0]) != 0


def test_on_one_scale_length_nothing_is_said_of_it(kite):
    single = with_values(
        kite, {"fretboard.treble_scale_length": None, "fretboard.perpendicular_fret": None}
    )
    assert not list(string_intonation.check(make(single, 0.1)))


NUTS = st.sampled_from(
    [
        {"fretboard.nut": "ledge"},
        {"fretboard.nut": "zero fret", "fretboard.behind": 8.0},
        {
            "fretboard.nut": "slot",
            "fretboard.behind": 9.0,
            "fretboard.nut_slot": {"width": 3.2, "depth": 3.0},
        },
    ]
)


@settings(max_examples=15)
@given(
    nut=NUTS,
    treble=st.floats(610, 700),
    square=st.integers(0, 24),
    radius=st.sampled_from(["flat", "12 in", {"nut": "10 in", "end": "20 in"}]),
    blind=st.sampled_from([0.0, 2.0]),
    floor=st.sampled_from(["radius", "flat"]),
    binding=st.sampled_from([None, {"thickness": 1.5}]),
    at_nut=st.booleans(),
)
def test_every_fan_that_is_a_design_comes_out_sound_and_as_asked(
    kite, nut, treble, square, radius, blind, floor, binding, at_nut
):
    changes = {
        "fretboard.treble_scale_length": treble,
        "fretboard.perpendicular_fret": square,
        "fretboard.radius": radius,
        "fretboard.slots.blind": blind,
        "fretboard.slots.floor": floor,
        "fretboard.slots.tang": None,
        "fretboard.binding": binding,
        "fretboard.beyond_last_fret": 30.0,
        "fretboard.markers": None,
        **nut,
    }
    if at_nut:
        changes["neck.stations"] = [
            {"at": "nut", "thickness": 20.0, "shape": "V"},
            {"at": "fret 12", "thickness": 22.0, "shape": "D"},
        ]
    try:
        design = with_values(kite, changes)
    except DesignError:
        return
    job = make(design, 0.08)
    for part in job.parts:
        assert soundness(as_written(part.mesh)).sound
    wrong = [
        f"{finding.check}: {finding.value} {finding.place}"
        for finding in inspect(job)
        if finding.verdict is Verdict.FAILED
    ]
    assert not wrong
