"""Whatever whole neck a design asks for: a mesh that is closed, true to it, or a clear no.

    python -m pytest tests/solid/test_random_necks.py --designs 1000

tries a thousand, and says how many of them were refused; ``--first-design`` begins elsewhere.
"""

from collections import Counter

import numpy as np
import pytest
import trimesh
from random_necks import random_neck

from carve.design.io.parse import read_design
from carve.design.schema.design import Design
from carve.errors import DesignError
from carve.parts.job import Part, make, shape_of
from carve.parts.neck import NECK
from carve.shape.neck.area import neck_volume
from carve.shape.neck.shape import NeckShape
from carve.shape.neck.slanted_end import square_from
from carve.solid.as_written import as_written
from carve.solid.mesh import Mesh, soundness, volume

SEED = 2718
CHORD = 0.1  # mm
WRITTEN = 1e-4  # mm; what 32 bits may do to a coordinate below 1000 mm
TELL = 50  # designs between two lines about how far it has come


def test_any_valid_neck_gives_a_sound_mesh_true_to_its_design(request, capsys):
    first, count = (request.config.getoption(f"--{name}") for name in ("first-design", "designs"))
    said: Counter[str] = Counter()
    unsound: list[str] = []
    for number in range(first, first + count):
        try:
            design = read_design(random_neck(SEED, number))
            part = make(design, CHORD, only=["neck"]).parts[0]
        except DesignError:  # a contradiction is the design's own business
            said["refused"] += 1
        else:
            wrong = list(faults(design, part))
            said["unsound" if wrong else "sound"] += 1
            unsound += [f"design {number}: {fault}" for fault in wrong]
        if (number - first + 1) % TELL == 0 and count > TELL:
            with capsys.disabled():
                print(f"\n{number - first + 1} of {count}: {dict(said)}", end="", flush=True)
    assert unsound == []
    assert said["sound"] > count / 3  # so that this says something


def faults(design: Design, part: Part[NeckShape]):
    """What is wrong with a mesh, in words."""
    shape, mesh = part.shape, as_written(part.mesh)
    found = soundness(mesh)
    if not found.sound:
        yield str(found)
    # trimesh by itself: each edge between two triangles, wound one way, in one piece
    theirs = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    if not (theirs.is_watertight and theirs.is_winding_consistent):
        yield "trimesh finds it open or wound both ways"
    if part.chord_error > CHORD:
        yield f"chord error {part.chord_error:.4f} mm"
    # a skin nowhere further than e from the shape cannot miss more than e times its area
    off, skin = volume(mesh) - neck_volume(shape), float(mesh.doubled_areas.sum()) / 2
    if abs(off) > part.chord_error * skin:
        yield f"volume off by {off:.1f} mm^3 of {part.chord_error * skin:.1f}"
    yield from _stations_off(design, mesh, theirs, shape)


def _stations_off(design: Design, mesh: Mesh, theirs: trimesh.Trimesh, shape: NeckShape):
    """Thickness at each station as a caliper finds it, and the back's section by trimesh."""
    over = design.fretboard.thickness + shape.film.back + shape.film.board_top
    for station in design.neck.stations:
        x = design.place(station.at)
        if x > shape.shaft_end + 1e-9:  # on the heel: tests/trials/stations_by_heel.py
            continue
        on_keel = (np.abs(mesh.points[:, 0] - x) < WRITTEN) & (np.abs(mesh.points[:, 1]) < WRITTEN)
        measured = -float(mesh.points[on_keel, 2].min(initial=np.inf)) + over
        if not abs(measured - station.thickness) < 2 * WRITTEN:
            yield f"{measured:.4f} mm thick at {x:.2f}, not {station.thickness:g}"
        if x < square_from(shape) + 0.01:
            continue  # the mesh's rows still lean there
        cut = trimesh.intersections.mesh_plane(theirs, [1.0, 0, 0], [x + 1e-3, 0, 0])[:, :, 1:]
        wanted = shape.surface(np.array([x + 1e-3]), np.linspace(-1, 1, 25))[0, :, 1:]
        away = max(float(_to_segments(cut, point)) for point in wanted)
        if away > CHORD + 2 * WRITTEN:
            yield f"section at {x:.2f} is off by {away:.4f} mm"


def _to_segments(segments, point):
    """Least distance in mm from a point (2,) to segments (n, 2, 2)."""
    a, along = segments[:, 0], segments[:, 1] - segments[:, 0]
    long = np.maximum((along**2).sum(axis=1), 1e-18)
    share = np.clip(((point - a) * along).sum(axis=1) / long, 0, 1)
    return np.linalg.norm(a + share[:, None] * along - point, axis=1).min()


@pytest.mark.parametrize(
    "key",
    [
        *("headstock", "heel", "truss_rod", "volute", "scarfed", "tilt", "drop", "tuners"),
        *("waisted", "straight", "bolted", "tenon", "holes", "access", "behind", "depth_middle"),
        *("treble_scale_length", "finish", "bass", "carved", "through", "heel_slant", "drawn"),
    ],
)
def test_every_family_is_among_the_valid_ones(key, valid):
    assert sum(key in text for text in valid) >= 3


@pytest.fixture(scope="module")
def valid():
    """What the first of the valid designs say, as text."""
    found = []
    for number in range(150):
        data = random_neck(SEED, number)
        try:
            design = read_design(data)
            shape_of(NECK, design)
        except DesignError:
            continue
        found.append(repr(data))
    return found
