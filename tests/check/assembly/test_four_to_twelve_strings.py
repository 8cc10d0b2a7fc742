"""From four to twelve strings, fretted and fretless, of one scale length and of two.

What every count of strings must give is reckoned here from the widths asked for.
"""

import numpy as np
import pytest
import trimesh

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import load, with_values
from carve.parts.assembly import assembly_drawings, assembly_outlines, assembly_tables
from carve.parts.job import make
from carve.solid.as_written import as_written

COUNTS = range(4, 13)
NUT_STEP, BRIDGE_STEP = 6.4, 9.0  # mm from string to string; common practice, close set
FIRST, APART = 64.0, 27.0  # mm of the tuners along the headstock


@pytest.fixture(scope="session")
def pipit(pytestconfig):
    return load(pytestconfig.rootpath / "examples" / "pipit.toml")


def strung(design, count, *, fretless=False, scales=2, one_row=False):
    """The same instrument with so many strings and tuners, wide enough for them."""
    nut_width = NUT_STEP * (count - 1) + 7.0
    spread = BRIDGE_STEP * (count - 1)
    length = design.place(design.neck.heel_end) / design.saddle_line.at
    heel_width = nut_width + length * (spread + 9.0 - nut_width) - 1.0
    rows = (count,) if one_row else ((count + 1) // 2, count // 2)
    wide = max(nut_width + 26.0, 66.0)
    aside = [-wide / 2 + 12.0, wide / 2 - 12.0]
    changes = {
        "strings": {
            "number": count,
            "nut_edge_bass": 3.5,
            "nut_edge_treble": 3.5,
            "bridge_spread": spread,
        },
        "neck.nut_width": nut_width,
        "neck.heel_width": heel_width,
        "neck.heel.holes": [],
        # a wide board of small radius would be thin at its edges
        "fretboard.radius": {"nut": 508.0, "follow": "strings"},
        "neck.headstock.outline": {
            "length": FIRST + APART * max(rows) + 12.0,
            "width": wide,
            "end_width": wide,
            "flare": 34.0,
            "corner_radius": 6.0,
        },
        "neck.headstock.tuners": [
            {
                "diameter": 10.0,
                "behind": FIRST,
                "aside": side,
                "number": number,
                "spacing": APART if number > 1 else None,
            }
            for side, number in zip(aside, rows, strict=False)
        ],
        "neck.blank": {"length": 950.0, "width": 140.0, "thickness": 80.0},
    }
    if fretless:
        changes |= {
            "fretboard.frets": 0,
            "fretboard.slots": None,
            "fretboard.beyond_last_fret": None,
            "action.fret_height": 0.0,
        }
    if scales == 1:
        changes |= {"fretboard.treble_scale_length": None, "fretboard.perpendicular_fret": None}
    return with_values(design, changes)


def failed(job):
    return {f"{f.part}: {f.check}" for f in inspect(job) if f.verdict is Verdict.FAILED}


@pytest.mark.parametrize("scales", [1, 2])
@pytest.mark.parametrize("fretless", [False, True], ids=["fretted", "fretless"])
@pytest.mark.parametrize("count", COUNTS)
def test_neck_and_board_are_sound_and_nothing_fails(pipit, count, fretless, scales):
    design = strung(pipit, count, fretless=fretless, scales=scales)
    job = make(design, 0.1)
    assert failed(job) == set()
    for part in job.parts:
        mesh = as_written(part.mesh)
        assert trimesh.Trimesh(mesh.points, mesh.triangles, process=False).is_volume
    assert len(job.parts[0].shape.head.holes) == count
    slots = job.parts[1].mesh.only("fret slots").triangles
    assert (len(slots) == 0) == fretless


def test_the_fretless_fan_is_the_fretted_ones(pipit):
    """Nut and saddle slant alike whether the frets are there or not."""
    fretted, fretless = (strung(pipit, 6, fretless=without) for without in (False, True))
    assert fretless.nut_line.slant == pytest.approx(fretted.nut_line.slant)
    assert fretless.saddle_line.at == pytest.approx(fretted.saddle_line.at)
    # by hand: the outer strings are level at the 7th fret's share, 1 - 2^(-7/12)
    (bass, treble), share = (fretless.fan.bass, fretless.fan.treble), 1 - 2 ** (-7 / 12)
    assert bass.at(share)[0] == pytest.approx(treble.at(share)[0], abs=1e-9)


@pytest.mark.parametrize("count", COUNTS)
def test_all_tuners_in_one_row_find_room_too(pipit, count):
    job = make(strung(pipit, count, one_row=True), 0.1, only=["neck"])
    holes = job.parts[0].shape.head.holes
    assert len(holes) == count
    assert len({round(hole.y, 6) for hole in holes}) == 1
    # trimesh looks straight along each leaning hole: it is open from face to back
    part = job.parts[0]
    solid = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    tilt = part.shape.head.tilt
    axis = np.array([-np.sin(tilt), 0.0, np.cos(tilt)])
    faces = [-float(part.shape.head.face_depth(np.array([hole.x]))[0]) for hole in holes]
    starts = np.array([[h.x, h.y, z] for h, z in zip(holes, faces, strict=True)]) + 30 * axis
    assert not solid.ray.intersects_any(starts, np.tile(-axis, (count, 1))).any()


@pytest.mark.parametrize("fretless", [False, True], ids=["fretted", "fretless"])
@pytest.mark.parametrize("count", COUNTS)
def test_the_strings_lie_evenly_between_the_outer_ones(pipit, count, fretless):
    """By hand, one scale length: so many strings leave one gap fewer, all of one width."""
    design = strung(pipit, count, fretless=fretless, scales=1)
    sheet = assembly_tables(design)["strings"]
    head, rows = list(sheet.head), sheet.rows
    assert len(rows) == count
    gaps = [float(row[head.index("nut, from the string before (mm)")]) for row in rows[1:]]
    assert gaps == pytest.approx([NUT_STEP] * (count - 1), abs=2e-3)
    at_bridge = [float(row[head.index("bridge, from the centre line (mm)")]) for row in rows]
    half = BRIDGE_STEP * (count - 1) / 2
    assert at_bridge == pytest.approx(np.linspace(-half, half, count), abs=2e-3)


@pytest.mark.parametrize("fretless", [False, True], ids=["fretted", "fretless"])
@pytest.mark.parametrize("count", [4, 12])
def test_drawings_and_tables_are_made_for_the_fewest_and_the_most(pipit, count, fretless):
    design = strung(pipit, count, fretless=fretless)
    job = make(design, 0.1)
    assert set(assembly_outlines(design)) == {"side-view", "strings-from-above"}
    assert assembly_drawings(design)
    for part in job.parts:
        assert part.type.outlines(design, part.shape)
        assert part.type.sections(design, part.shape)
        assert bool(part.type.tables(design, part.shape)) == (
            part.name == "fretboard" and not fretless
        )
    drawn = assembly_outlines(design)["strings-from-above"]
    assert sum(line.layer == "strings" for line in drawn.lines) == count
