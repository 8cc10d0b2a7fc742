"""Every example's sections as they were, and trimesh's sections of its mesh at the same places.

The first is only a guard against change that nobody intended (see ``renew``); the second
holds mesh and shape against each other through a library that is not ours.
"""

import json

import numpy as np
import pytest
import shapely
import trimesh
from renew import ACROSS, EXAMPLES, FOLDER, file_of, places, sections

from carve.design import load
from carve.parts.job import make
from carve.shape.neck.area import section_area
from carve.shape.neck.slanted_end import square_from

CHORD = 0.02  # mm
SAME = 1e-6  # mm


@pytest.fixture(params=EXAMPLES, ids=lambda file: file.stem)
def example_file(request):
    return request.param


def test_the_sections_are_as_they_were(example_file):
    kept = file_of(example_file)
    assert kept.exists(), "a new example: python tests/golden/renew.py"
    assert differing(json.loads(kept.read_text("utf-8")), sections(example_file)) == []


def differing(kept, found, where=""):
    """Where two nests of plain data differ by more than 1e-6."""
    if isinstance(kept, dict):
        if not isinstance(found, dict) or kept.keys() != found.keys():
            return [f"{where}: other entries"]
        return [
            place for key in kept for place in differing(kept[key], found[key], f"{where}/{key}")
        ]
    if np.shape(kept) != np.shape(found):
        return [f"{where}: another number of values"]
    most = float(np.abs(np.subtract(kept, found)).max())
    allowed = 0.1 if where == "/volume" else SAME  # mm^3 of some 400,000
    return [f"{where}: off by {most:.3g}"] if most > allowed else []


def test_a_change_of_a_thousandth_would_be_seen(example_file):
    kept = json.loads(file_of(example_file).read_text("utf-8"))
    changed = json.loads(json.dumps(kept))
    changed["back"]["nut"]["y, z"][6][1] += 1e-3
    assert len(differing(kept, changed)) == 1


def test_nothing_is_kept_of_what_is_no_example():
    assert {file.stem for file in FOLDER.glob("*.json")} == {file.stem for file in EXAMPLES}


def test_every_family_of_headstock_and_heel_is_among_the_examples():
    necks = [load(file).neck for file in EXAMPLES]
    heads = [neck.headstock for neck in necks]
    assert None in heads
    there = [head for head in heads if head is not None]
    families = {head.outline.family for head in there if head.outline is not None}
    assert families == {"straight", "waisted"}
    assert any(head.drawn for head in there)
    assert any(head.tilt for head in there)
    assert any(head.drop for head in there)
    assert any(head.joint == "scarfed" for head in there)
    assert any(head.volute for head in there)
    assert {len(head.tuners) for head in there} == {1, 2}
    assert {None if neck.heel is None else neck.heel.kind for neck in necks} == {
        *(None, "bolted", "tenon", "carved", "through")
    }


def test_trimeshs_sections_of_the_mesh_lie_on_the_shape(example_file):
    part = make(load(example_file), CHORD, only=["neck"]).parts[0]
    shape = part.shape
    mesh = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    slanted = square_from(shape)  # on rows that lean with the nut the mesh begins slanted
    for name, x in places(shape).items():
        if shape.nut_slant and x < slanted:
            continue
        at = min(max(x, shape.start + SAME), shape.carved_end - SAME)
        cut = trimesh.intersections.mesh_plane(mesh, [1.0, 0, 0], [at, 0, 0])[:, :, 1:]
        lines = shapely.multilinestrings(shapely.linestrings(cut))
        points = shape.outside(np.array([at]), ACROSS)[0, :, 1:]
        face = 0.0 if shape.head is None else float(shape.head.face_depth(np.array([at]))[0])
        points = points[points[:, 1] < -face - 0.05]  # what the headstock's face leaves of it
        away = shapely.distance(lines, shapely.points(points))
        assert len(points) >= 5, name
        assert away.max() <= CHORD + SAME, name
        # as thick as a caliper finds it, on the keel
        depth = float(shape.depth(np.array([at]))[0])
        assert -cut[..., 1].min() == pytest.approx(depth, abs=CHORD)


def test_trimeshs_sections_have_the_shapes_area(example_file):
    part = make(load(example_file), CHORD, only=["neck"]).parts[0]
    shape = part.shape
    mesh = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    holes = [hole for end in (shape.head, shape.heel) if end for hole in end.holes]
    for name, x in places(shape).items():
        at = min(x + 0.013, shape.carved_end - 0.013)
        if at < square_from(shape) or any(abs(hole.x - at) < 1.2 * hole.radius for hole in holes):
            continue
        cut = trimesh.intersections.mesh_plane(mesh, [1.0, 0, 0], [at, 0, 0])[:, :, 1:]
        noded = shapely.set_precision(shapely.multilinestrings(shapely.linestrings(cut)), 1e-6)
        (wood,) = shapely.polygonize(shapely.get_parts(noded)).geoms
        asked = float(section_area(shape, np.array([at]))[0])
        assert wood.area == pytest.approx(asked, abs=CHORD * wood.length), name
