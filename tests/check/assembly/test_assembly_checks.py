"""How the parts meet: each check right when all is well, and able to fail."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from carve.check.assembly import (
    action,
    bridge_range,
    finish_flush,
    glue_faces,
    neck_pocket,
    neck_set,
    nut_and_saddle,
    string_overhang,
    strings_clear,
)
from carve.check.finding import Verdict, as_plain, show_limit, show_value
from carve.check.neck import profile
from carve.check.report import inspect, worst
from carve.design import with_values
from carve.parts.job import Job, make
from carve.solid.mesh import Mesh


def findings(check, design, **changes):
    return {f.check: f for f in check.check(make(with_values(design, changes), 0.05))}


def only(check, design, **changes):
    (found,) = findings(check, design, **changes).values()
    return found


def joint(design, **values):
    return {"joint": {"at": design.joint.at, **values}}


def reshaped(job, name, change):
    """The job with one part's mesh changed. change: points (n, 3) to points."""
    parts = tuple(
        replace(
            part,
            mesh=Mesh(
                change(part.mesh.points.copy()),
                part.mesh.triangles,
                part.mesh.surface,
                part.mesh.names,
            ),
        )
        if part.name == name
        else part
        for part in job.parts
    )
    return Job(job.design, parts)


@pytest.mark.parametrize("name", ["heron", "plover"])
def test_the_assembled_examples_are_good_throughout(request, name):
    found = inspect(make(request.getfixturevalue(name), 0.02))
    assert {f.check: f.advice for f in found if f.verdict is not Verdict.GOOD} == {}
    assert sum(f.part == "assembly" for f in found) >= 14


# flush: the must-show, on the meshes and by a mesh library that is not ours


def width_by_trimesh(mesh, x, name):
    """Width of a mesh's glue face at x in mm: trimesh cuts the part, shapely-free."""
    solid = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    cut = trimesh.intersections.mesh_plane(solid, [1.0, 0, 0], [x, 0, 0])
    at_glue = cut.reshape(-1, 3)
    at_glue = at_glue[np.abs(at_glue[:, 2]) < 1e-6]
    assert len(at_glue), name
    return float(np.ptp(at_glue[:, 1]))


@pytest.mark.parametrize(
    ("on_neck", "on_board"), [(0.18, 0.0), (0.18, 0.18), (0.1, 0.05), (0.0, 0.12), (0.0, 0.0)]
)
def test_painted_and_natural_faces_come_out_flush(heron, on_neck, on_board):
    films = [
        {"on": ["neck back", "neck sides"], "thickness": on_neck},
        {"on": ["fretboard sides"], "thickness": on_board},
    ]
    job = make(with_values(heron, {"finish": {"films": films}}), 0.02)
    meshes = {part.name: part.mesh for part in job.parts}
    for x in (0.5, 35.7, 123.4, 250.1, 379.5):
        neck = width_by_trimesh(meshes["neck"], x, "neck") + 2 * on_neck
        board = width_by_trimesh(meshes["fretboard"], x, "fretboard") + 2 * on_board
        assert neck == pytest.approx(board, abs=0.01)
        assert neck == pytest.approx(board, abs=1e-6)
    found = list(finish_flush.check(job))
    assert {f.verdict for f in found} == {Verdict.GOOD}
    assert max(f.value for f in found) < 0.01


def test_a_binding_counts_as_the_boards_edge(heron):
    bound = with_values(heron, {"fretboard.binding": {"thickness": 1.5}})
    assert {f.verdict for f in finish_flush.check(make(bound, 0.05))} == {Verdict.GOOD}


def test_a_neck_cut_to_its_finished_width_is_proud_by_the_film(heron):
    # the fault that this is about: 0.183 mm of lacquer on wood of the full width
    bare = make(with_values(heron, {"finish": None}), 0.05)
    painted = make(heron, 0.05)
    fooled = Job(
        heron,
        tuple(
            replace(part, mesh=wood.mesh) if part.name == "neck" else part
            for part, wood in zip(painted.parts, bare.parts, strict=True)
        ),
    )
    bass, treble = finish_flush.check(fooled)
    assert bass.verdict is treble.verdict is Verdict.FAILED
    assert bass.value == pytest.approx(8 * 0.003 * 25.4 * 0.3, abs=1e-6)  # 8 coats, 3 mil, 30 %
    assert "neck stands proud" in bass.advice


def test_masked_and_finished_faces_are_named(heron):
    said = next(iter(finish_flush.check(make(heron, 0.05)))).detail
    assert "masked: fretboard top, fretboard sides, pocket walls" in said
    assert "finish: neck back 0.18 mm" in said


def test_thickness_is_measured_over_the_film(heron):
    found = findings(profile, heron)
    assert found["thickness at fret 1"].value == pytest.approx(21.5, abs=1e-6)
    # the mesh itself is thinner: board, and wood as deep as trimesh finds it
    part = next(p for p in make(heron, 0.02).parts if p.name == "neck")
    solid = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    x = heron.place(heron.neck.stations[0].at)
    cut = trimesh.intersections.mesh_plane(solid, [1.0, 0, 0], [x + 1e-7, 0, 0])
    assert 6.0 - cut[..., 2].min() == pytest.approx(21.5 - 0.18288, abs=1e-4)


# glue faces


def test_glue_faces_agree_on_the_meshes(heron):
    found = findings(glue_faces, heron)
    assert {f.verdict for f in found.values()} == {Verdict.GOOD}


def test_a_board_that_lies_aside_fails(heron):
    aside = reshaped(make(heron, 0.05), "fretboard", lambda p: p + np.array([0, 0.3, 0]))
    found = {f.check: f for f in glue_faces.check(aside)}
    assert found["centre lines of the glue faces"].verdict is Verdict.FAILED
    assert found["centre lines of the glue faces"].value == pytest.approx(0.3, abs=1e-6)
    assert found["width of the glue faces"].verdict is Verdict.GOOD


def test_a_board_too_wide_fails(heron):
    wide = reshaped(make(heron, 0.05), "fretboard", lambda p: p * [1, 1.01, 1])
    found = {f.check: f for f in glue_faces.check(wide)}
    assert found["width of the glue faces"].verdict is Verdict.FAILED
    assert found["centre lines of the glue faces"].verdict is Verdict.GOOD


def test_slots_through_the_glue_face_are_a_fault_of_the_wood_and_of_nothing_else(kite):
    # 6.2 mm of board fall by 2 mm to the edges (196.5 mm over 28 mm), and slots 4 mm deep follow:
    # they come out of the glue face there, whose edges then seemed 1.46 mm off the neck's
    deep = {"fretboard.radius": 196.5, "fretboard.slots": {"depth": 4.0}}
    found = {f.id: f for f in inspect(make(with_values(kite, deep), 0.08))}
    wood = found["fretboard.wood-under-cut:slots"]
    assert wood.verdict is Verdict.FAILED
    assert "comes out of the glue face" in wood.detail
    for name in ("glue-face-width", "glue-face-centre", "flush:bass", "flush:treble"):
        assert found[f"assembly.{name}"].verdict is Verdict.GOOD


def test_a_board_that_ends_before_the_neck_is_said(plover):
    # fret 20 of 25.5 in lies 443.68 mm from the nut, the heel's end at fret 22, 465.94 mm
    short = findings(
        glue_faces,
        plover,
        **{"fretboard.frets": 20, "fretboard.beyond_last_fret": 3.0},
    )["length of the glue faces"]
    assert short.verdict is Verdict.WARNING
    assert short.value == pytest.approx(465.943 - 443.684 - 3.0, abs=0.01)


# the pocket


def test_room_in_the_pocket_is_what_wood_and_films_leave(plover):
    found = only(neck_pocket, plover)
    # by hand at fret 17, 405.085 of 465.944 mm: taper 1.65 to 2.2 in: 2.12817 in = 54.0554 mm;
    # the wood stands back 0.1 - 0.05 on each side: 53.9554; pocket 2.14 in = 54.356 mm:
    # (54.356 - 53.9554) / 2 - 0.1 = 0.1003 mm
    assert found.value == pytest.approx(0.1003, abs=5e-4)
    assert found.verdict is Verdict.GOOD


def test_finish_on_the_walls_makes_a_pocket_tight_and_the_advice_mends_it(plover):
    films = [{"thickness": 0.3}]
    tight = with_values(plover, {"finish": {"films": films}})
    found = only(neck_pocket, tight)
    assert found.verdict is Verdict.FAILED
    # advice names the width that leaves the glue line: 54.0554 - 2 x 0 + 2 (0.3 + 0.3 + 0.05)
    mended = with_values(tight, {"joint.pocket_width": 54.0554 + 1.3})
    assert "2.179 in" in found.advice  # 55.3554 / 25.4
    assert only(neck_pocket, mended).verdict is Verdict.GOOD
    loose = with_values(tight, {"joint.pocket_width": 56.5})
    assert only(neck_pocket, loose).verdict is Verdict.WARNING


def test_no_pocket_no_finding(heron):
    no_width = {"joint": {"at": heron.joint.at, "height": 9.0}}
    assert findings(neck_pocket, heron, **no_width) == {}


# neck, bridge, action


def test_the_bridges_range_is_left_and_by_how_much(heron):
    low = only(bridge_range, heron, **joint(heron, angle=3.0, height=9.0))
    assert low.verdict is Verdict.FAILED
    assert low.sense == "at least"
    assert low.limit == 21.0
    assert f"{21.0 - low.value:.2f} mm below the bridge's lowest" in low.detail
    high = only(bridge_range, heron, **joint(heron, angle=6.0, height=9.0))
    assert high.verdict is Verdict.FAILED
    assert (high.sense, high.limit) == ("at most", 29.0)
    assert f"{high.value - 29.0:.2f} mm above the bridge's highest" in high.detail
    assert "wedge of" in high.advice
    assert "at the body's edge, thinning to nothing at the heel's end" in high.advice
    assert "at the heel's end, thinning to nothing at the body's edge" in low.advice


def test_raising_the_neck_as_advised_mends_it(heron):
    low = only(bridge_range, heron, **joint(heron, angle=3.5, height=9.0))
    lift = 25.0 - low.value
    assert f"raise the neck {lift:.2f} mm" in low.advice
    mended = only(bridge_range, heron, **joint(heron, angle=3.5, height=9.0 + lift))
    assert mended.value == pytest.approx(25.0, abs=1e-9)
    assert mended.verdict is Verdict.GOOD


def test_little_travel_left_is_a_warning(heron):
    near = only(bridge_range, heron, **{"bridge.height": 28.8})
    assert near.verdict is Verdict.WARNING
    assert near.limit == pytest.approx(28.5)


def test_a_bridge_that_does_not_adjust_is_good_where_it_fits(heron):
    fixed = {"bridge.height_lowest": 25.0, "bridge.height_highest": 25.0}
    assert only(bridge_range, heron, **fixed).verdict is Verdict.GOOD


def test_a_bridge_set_elsewhere_gives_another_action(plover):
    needed = only(bridge_range, plover).value
    off = only(action, plover, **{"bridge.height": needed - 1.0})
    assert off.verdict is Verdict.FAILED
    assert off.value == pytest.approx(1.7 - 0.5, abs=0.04)  # half a millimetre for one
    assert only(action, plover, **{"bridge.height": needed}).verdict is Verdict.GOOD


def test_a_neck_that_leans_forward_or_too_far_back_is_a_warning(heron):
    forward = findings(neck_set, heron, **joint(heron, height=36.0))["neck angle"]
    assert forward.verdict is Verdict.WARNING
    assert forward.value < 0
    assert "leans forward" in forward.advice
    steep = findings(neck_set, heron, **joint(heron, height=-6.0))
    assert steep["neck angle"].verdict is Verdict.WARNING
    assert steep["neck height over the body's edge"].verdict is Verdict.WARNING
    assert show_value(steep["neck angle"], "mm").endswith("°")
    assert show_limit(steep["neck angle"], "mm") == "at most 7°"
    assert as_plain(steep["neck angle"])["unit"] == "deg"


# strings


def test_a_nut_cut_too_low_fails_at_the_first_fret(heron):
    found = findings(strings_clear, heron, **{"action.nut_height": 1.1})
    low = found["open strings over the frets"]
    assert low.verdict is Verdict.FAILED
    assert "over fret 1" in low.place
    high = findings(nut_and_saddle, heron, **{"action.nut_height": 2.2})
    assert high["nut height, over the 1st fret"].verdict is Verdict.WARNING


def test_strings_too_low_for_their_relief_touch_the_frets_beyond(plover):
    low = {"action.bass": 0.4, "action.treble": 0.3, "action.relief": 0.5}
    found = findings(strings_clear, plover, **low)["pressed strings over the frets beyond"]
    assert found.verdict is Verdict.FAILED
    assert found.value < 0


def test_saddle_and_nut_are_told_string_by_string(heron):
    found = findings(nut_and_saddle, heron)
    slots = found["nut height, over the 1st fret"].detail
    assert slots.endswith("1.5, 1.5, 1.5, 1.5, 1.5, 1.5 mm")  # as asked over the board
    over_body = found["strings over the body at the saddle"]
    assert over_body.value == pytest.approx(23.73, abs=0.01)
    low = findings(nut_and_saddle, heron, **{"limits.strings_over_body": 24.0})
    assert low["strings over the body at the saddle"].verdict is Verdict.WARNING


def test_strings_at_the_edge_and_beside_it(heron):
    good = findings(string_overhang, heron)["outer treble string inside the board's edge"]
    assert good.value == pytest.approx(3.2)  # as the file says, and least at the nut
    wide = findings(string_overhang, heron, **{"strings.bridge_spread": 62.0})
    ends = wide["outer bass string inside the board's edge"]
    # by hand at the board's end, 442.988 mm: half width (42.8625 + 11.7375 x 442.988 / 380) / 2
    # = 28.2728; string 17.83125 + (31 - 17.83125) x 442.988 / 635 = 27.0180
    assert ends.value == pytest.approx(28.2728 - 27.0180, abs=2e-3)
    assert ends.verdict is Verdict.WARNING
    assert "at the board's end" in ends.place
    beside = findings(string_overhang, heron, **{"strings.bridge_spread": 80.0})
    assert beside["outer bass string inside the board's edge"].verdict is Verdict.FAILED


def test_a_design_without_an_assembly_has_none_of_these(design):
    job = make(design, 0.05)
    for check in (neck_set, bridge_range, action, strings_clear, nut_and_saddle, string_overhang):
        assert list(check.check(job)) == []
    assert worst(inspect(job)) is Verdict.GOOD
