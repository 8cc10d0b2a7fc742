"""Front and back as open skins: together the closed solid, each reached from its own side."""

import numpy as np
import pytest
import trimesh

from carve.design import load
from carve.parts.job import make
from carve.solid.as_written import as_written
from carve.solid.faces import SIDES

EXAMPLES = [
    *(
        "wren",
        "heron",
        "plover",
        "kite",
        "siskin",
        "wheatear",
        "dunlin",
        "redstart",
        "curlew",
        "linnet",
        "dotterel",
        "bittern",
        "wigeon",
        "brambling",
        "dipper",
    ),
]
BARELY = 1e-3  # of a unit normal; 32 bits turn an upright wall by less


@pytest.fixture(scope="module", params=EXAMPLES)
def job(request):
    """Every example, so that every surface there is has been told its side."""
    return make(load(request.config.rootpath / "examples" / f"{request.param}.toml"), 0.08)


def corners(mesh):
    """Each triangle by its corners, beginning with the least: the same in any numbering."""
    found = mesh.corners
    order = np.lexsort(found.transpose(2, 0, 1)[::-1], axis=1)[:, 0]
    turned = (order[:, None] + np.arange(3)) % 3
    return np.take_along_axis(found, turned[..., None], axis=1).reshape(len(found), 9)


def routed(names):
    """Without what no cutter comes to from front or back: bores from the side and chambers."""
    return [name for name in names if not name.endswith(("(bore)", "(chamber)"))]


def test_together_they_are_exactly_the_closed_meshs_triangles(job):
    for part in job.parts:
        mesh = as_written(part.mesh)
        both = np.vstack([corners(part.type.faces(part.shape).of(mesh, side)) for side in SIDES])
        assert np.array_equal(np.unique(both, axis=0), np.unique(corners(mesh), axis=0))


def test_what_both_have_are_upright_walls_and_nothing_else(job):
    for part in job.parts:
        names = [set(part.type.faces(part.shape).named(part.mesh, side)) for side in SIDES]
        walls = part.mesh.only(*routed(names[0] & names[1]))
        normals = trimesh.Trimesh(walls.points, walls.triangles, process=False).face_normals
        if part.name == "neck" and (head := job.design.neck.headstock) is not None and head.tilt:
            # tuner holes are square to a tilted face, and are drilled from either side
            holes = walls.surface == walls.names.index("tuner holes")
            normals = normals[~holes[: len(normals)]]
        assert np.abs(normals[:, 2]).max() < BARELY


def test_no_triangle_of_the_front_faces_down_and_none_of_the_back_up(job):
    for part in job.parts:
        for side, up in (("front", 1.0), ("back", -1.0)):
            skin = part.type.faces(part.shape).of(part.mesh, side)
            skin = skin.only(*(n for n in skin.names if not n.endswith("(bore)")))
            if part.name == "neck" and job.design.neck.headstock is not None:
                holes = skin.only("tuner holes")
                skin = skin.only(*(n for n in skin.names if n != "tuner holes"))
                assert len(holes.triangles)
            skin = skin.only(*routed(skin.names))
            area = skin.doubled_areas / 2
            sheet = trimesh.Trimesh(skin.points, skin.triangles, process=False)
            away = up * sheet.face_normals[:, 2] < -BARELY
            assert area[away].sum() < 1e-3


def test_seen_from_its_side_each_skin_covers_the_whole_part(job):
    # a ray from above meets the front, one from below the back, at the closed mesh's first hit
    generator = np.random.default_rng(7)
    for part in job.parts:
        low, high = part.mesh.points.min(axis=0), part.mesh.points.max(axis=0)
        places = generator.uniform(low[:2], high[:2], (60, 2))
        closed = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
        for side, way in (("front", -1.0), ("back", 1.0)):
            skin = part.type.faces(part.shape).of(part.mesh, side)
            sheet = trimesh.Trimesh(skin.points, skin.triangles, process=False)
            start = np.column_stack([places, np.full(60, -way * 500.0)])
            down = np.tile([0.0, 0.0, way], (60, 1))
            nearest = [_first(mesh, start, down) for mesh in (closed, sheet)]
            assert set(nearest[0]) == set(nearest[1])
            for ray, distance in nearest[0].items():
                assert nearest[1][ray] == pytest.approx(distance, abs=1e-6)


def _first(mesh, start, way):
    hits, rays, _ = mesh.ray.intersects_location(start, way, multiple_hits=True)
    found = {}
    for hit, ray in zip(hits, rays, strict=True):
        away = float(np.linalg.norm(hit - start[ray]))
        found[int(ray)] = min(away, found.get(int(ray), np.inf))
    return found


def test_every_kind_of_part_says_which_surface_is_whose(job):
    for part in job.parts:
        faces = part.type.faces(part.shape)
        assert faces.front
        assert faces.back
        assert not faces.front & faces.back
