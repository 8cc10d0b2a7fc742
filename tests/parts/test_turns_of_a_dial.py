"""What is kept from turn to turn of a dial never shows in what is made."""

import numpy as np
import pytest
import trimesh
from cold import cold_digest, digest

from carve.check.report import inspect
from carve.design import load, with_values
from carve.parts.cache import forget_all
from carve.parts.job import make
from carve.shape.body.chambers import InnerSurface
from carve.shape.body.thickness_map import _beside_one, _thinnest
from carve.shape.plate import graduation
from carve.shape.plate.graduation import GraduatedInside
from carve.solid import body as solid_body
from carve.solid.body import body_solid
from carve.solid.kit.reusable_plan import chamber_plan, plan_for_many
from carve.solid.measure import height_over
from carve.solid.mesh import soundness, volume

CHORD = 0.16
HEIGHT = "body.top.stations[1].height"


def made(design, height):
    return make(with_values(design, {HEIGHT: height}), CHORD, only=["body"])


@pytest.fixture(scope="module")
def dipper(request):
    return load(request.config.rootpath / "examples" / "dipper.toml")


@pytest.fixture(scope="module")
def turned(dipper):
    """A hollow body after a turn of its arch's height, and how the turn began."""
    forget_all()
    return made(dipper, 14.9), made(dipper, 14.7)


def test_the_way_a_dial_came_never_shows(turned, request):
    """A process that has never made another design makes the same, to the last digit."""
    before, after = turned
    path = request.config.rootpath / "examples" / "dipper.toml"
    assert digest(after) == cold_digest(path, CHORD, {HEIGHT: 14.7}, ["body"])
    assert digest(after) != digest(before)


def test_a_kept_plan_holds_the_chord_error_that_a_fresh_one_does(turned):
    (part,) = turned[1].parts
    fresh, error = body_solid(part.shape, CHORD)
    assert error <= CHORD
    assert part.chord_error <= CHORD
    assert soundness(part.written).sound
    room = part.shape.cuts[0]
    places = np.random.default_rng(5).uniform([60, -110], [380, 110], (300, 2))
    for name in part.mesh.names:
        kept, anew = (height_over(mesh, places, name) for mesh in (part.mesh, fresh))
        both = np.isfinite(kept) & np.isfinite(anew)
        assert np.abs(kept - anew)[both].max(initial=0.0) <= 3 * CHORD, (room.name, name)


def test_a_room_keeps_its_triangles_over_a_turn(turned):
    before, after = (job.parts[0].shape for job in turned)
    rooms = [[c for c in shape.cuts if c.opens == "nowhere"] for shape in (before, after)]
    assert rooms[0]
    for one, other in zip(*rooms, strict=True):
        assert one.under is other.under  # the back has not been turned
        assert one.ceiling is not other.ceiling
        roughly = (one.ceiling.rounded_for_cache(), one.under.rounded_for_cache())
        assert roughly == (other.ceiling.rounded_for_cache(), other.under.rounded_for_cache())
        reusable = plan_for_many(chamber_plan, roughly, one.plan.points(CHORD), CHORD)
        for room in (one, other):
            lifted = reusable.lift((room.ceiling, room.under))
            assert 0 < lifted.error <= CHORD
            ceiling, under = lifted.heights
            # scipy's own evaluation of its spline, place by place
            assert ceiling == pytest.approx(room.ceiling(*reusable.plan.points.T), abs=1e-9)
            assert under == pytest.approx(room.under(*reusable.plan.points.T), abs=1e-9)


def test_rooms_are_seen_on_the_map_as_place_by_place(turned):
    shape = turned[1].parts[0].shape
    for room in (c for c in shape.cuts if c.opens == "nowhere"):
        points, _ = room.seen
        for mapped, asked in zip(room.seen_heights, room.heights(points), strict=True):
            assert mapped == pytest.approx(asked, abs=1e-9)


def test_an_inside_is_found_as_nearly_as_by_many_more_rounds(turned, monkeypatch):
    top = turned[1].parts[0].shape.top
    (room,) = [c for c in turned[1].parts[0].shape.cuts if c.opens == "nowhere"][:1]
    inside: InnerSurface = room.ceiling
    points = room.seen[0][::7]
    wanted = graduation.GraduationRequest(
        inside.rim,
        *(getattr(inside.asked, key) for key in ("edge", "cove", "recurve", "at_recurve")),
        *(getattr(inside.asked, key) for key in ("centre", "at_centre")),
    )
    surface = GraduatedInside(top.surface, top.foundation.distance, wanted)
    found = surface(*points.T)
    monkeypatch.setattr(graduation, "ROUNDS", 20)
    assert found == pytest.approx(surface(*points.T), abs=1e-4)


@pytest.mark.parametrize("example", ["brambling", "dipper"])
def test_a_detached_patch_comes_back_as_if_it_had_been_cut(example, request, monkeypatch):
    """By manifold's boolean of the whole solids, and by trimesh."""
    design = load(request.config.rootpath / "examples" / f"{example}.toml")
    forget_all()
    cuts = []
    real = solid_body.cut
    monkeypatch.setattr(
        solid_body, "cut", lambda mesh, *more: cuts.append(len(mesh.triangles)) or real(mesh, *more)
    )
    near = make(design, CHORD, only=["body"])
    monkeypatch.setattr(solid_body, "detach_beside", lambda *_: None)
    forget_all()
    whole = make(design, CHORD, only=["body"])
    assert len(cuts) == 2  # reattached at once, not cut whole after all
    assert cuts[0] < 0.8 * cuts[1]
    one, other = near.parts[0].mesh, whole.parts[0].mesh
    loaded = trimesh.Trimesh(one.points, one.triangles, process=False)
    assert loaded.is_watertight
    assert loaded.is_winding_consistent
    assert soundness(near.parts[0].written).sound
    assert volume(one) == pytest.approx(volume(other), rel=1e-9)
    assert set(one.names) == set(other.names)
    for name in one.names:
        areas = [mesh.only(name).doubled_areas.sum() for mesh in (one, other)]
        assert areas[0] == pytest.approx(areas[1], rel=1e-9, abs=1e-6)
    said = [
        {(found.part, found.check, found.verdict, found.place) for found in inspect(job)}
        for job in (near, whole)
    ]
    assert said[0] == said[1]


def test_wood_beside_one_cut_is_what_sorting_all_heights_finds():
    generator = np.random.default_rng(6)
    back, top, one, other = generator.uniform(-50, 50, (4, 400))
    back, top = np.minimum(back, top), np.maximum(back, top)
    low, high = np.minimum(one, other), np.maximum(one, other)
    low[:60], high[40:100] = -np.inf, np.inf
    edge = np.full(400, np.inf)
    spans = np.stack([low, -edge, top]), np.stack([high, back, edge])
    assert np.array_equal(_beside_one(low, high, back, top), _thinnest(*spans))
