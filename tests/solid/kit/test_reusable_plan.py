"""A plan that is meshed once serves the heights near by within the bound, and no others."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from carve.design import load, with_values
from carve.errors import SolidError
from carve.parts.body import BODY
from carve.parts.job import make
from carve.solid.kit.reusable_plan import chamber_plan, face_plan, lift_or_remesh, plan_for_many

CHORD = 0.16  # mm
HEIGHT = "body.top.stations[1].height"


def body(request, example, height):
    design = load(request.config.rootpath / "examples" / f"{example}.toml")
    (part,) = make(with_values(design, {HEIGHT: height}), CHORD, only=["body"]).parts
    assert part.type is BODY
    return part.shape


@pytest.fixture(scope="module", params=["brambling", "dipper"])
def shape(request):
    return body(request, request.param, 14.7)


def with_heights(faces, added):
    """Faces whose first station is so much higher in mm."""
    first, *others = faces
    stations = list(first.asked.stations)
    stations[1] = replace(stations[1], height=stations[1].height + added)
    return replace(first, asked=replace(first.asked, stations=tuple(stations))), *others


def test_a_plan_serves_the_heights_near_by(shape):
    rounded = tuple(face.rounded_for_cache() for face in shape.carvings)
    reusable = plan_for_many(face_plan, rounded, shape.outline, CHORD)
    for added in (0.0, 0.1):
        faces = with_heights(shape.carvings, added)
        lifted = lift_or_remesh(face_plan, faces, shape.outline, CHORD, reusable)
        assert lifted.plan is reusable.plan
        assert 0 < lifted.error <= CHORD
        for face, heights in zip(faces, lifted.heights, strict=True):
            assert heights == pytest.approx(face.surface(*lifted.plan.points.T), abs=1e-9)
            # trimesh: places of the surface are as near to the triangles as was measured
            points = np.column_stack([lifted.plan.points, heights])
            mesh = trimesh.Trimesh(points, lifted.plan.triangles, process=False)
            at = lifted.plan.probes[::97]
            places = np.column_stack([at, face.surface(*at.T)])
            assert mesh.nearest.on_surface(places)[1].max() <= lifted.error + 1e-9


def test_heights_that_a_plan_does_not_hold_are_meshed_anew(shape):
    reusable = face_plan(shape.carvings, shape.outline, 10 * CHORD)
    assert reusable.lift(shape.carvings).error > CHORD
    lifted = lift_or_remesh(face_plan, shape.carvings, shape.outline, CHORD, reusable)
    assert lifted.plan is not reusable.plan
    assert lifted.error <= CHORD


def test_a_chambers_ceiling_and_floor_have_one_plan(request):
    shape = body(request, "dipper", 14.7)
    chamber = next(cut for cut in shape.cuts if cut.opens == "nowhere")
    insides, around = (chamber.ceiling, chamber.under), chamber.plan.points(CHORD)
    lifted = lift_or_remesh(chamber_plan, insides, around, CHORD)
    assert 0 < lifted.error <= CHORD
    for inside, heights in zip(insides, lifted.heights, strict=True):
        # scipy's own evaluation of its spline, place by place
        assert heights == pytest.approx(inside(*lifted.plan.points.T), abs=1e-9)


def test_rounded_heights_that_cannot_be_meshed_give_no_plan(shape):
    def refuse(surfaces, within, chord_error):
        raise SolidError("for once")

    assert plan_for_many(refuse, shape.carvings, shape.outline, CHORD) is None
    with pytest.raises(SolidError, match="for once"):
        lift_or_remesh(refuse, shape.carvings, shape.outline, CHORD)
