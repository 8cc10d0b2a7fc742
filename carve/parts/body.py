"""The body as a part."""

from collections.abc import Hashable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from carve.arrays import Array
from carve.design.schema.blank import Blank
from carve.design.schema.body import Body, Hollow
from carve.design.schema.design import Design
from carve.parts.cache import first_equal, kept
from carve.parts.kind import EXPORT_CHORD, Instance, PartType
from carve.parts.settle import body_outline, carved_face
from carve.shape.assembly.frames import BODYS, inverse_rigid
from carve.shape.assembly.neck_on_body import heel_in_body, neck_on_body
from carve.shape.body.build import BodyLabels, body_shape
from carve.shape.body.chambers import Chamber, InnerSurface
from carve.shape.body.shape import BodyShape
from carve.shape.body.thickness_map import wood_grid
from carve.shape.body.volume import body_volume
from carve.shape.planar.outline import Outline
from carve.shape.plate.carved_face import CarvedFace
from carve.shape.views.body_drawings import body_outlines
from carve.shape.views.body_faces import body_shades, relief_maps, relief_outlines
from carve.shape.views.body_sections import body_cuts
from carve.shape.views.body_thickness import wood_map
from carve.shape.views.kit.colour_fields import ColourField
from carve.shape.views.kit.drawing import Drawing, PlanMap
from carve.shape.views.kit.section_cuts import SectionPlanes
from carve.solid.body import BACK, TOP, body_faces, body_solid
from carve.solid.faces import Faces
from carve.solid.kit.reusable_plan import ReusablePlan, chamber_plan, face_plan, plan_for_many
from carve.solid.mesh import Mesh


class _Body(PartType[BodyShape]):
    """One body, where a design has one."""

    colour = "#c08a55"
    frame = BODYS

    def instances(self, design: Design) -> tuple[Instance, ...]:
        return () if design.body is None else (Instance("body", "body"),)

    def inputs(self, design: Design, instance: Instance) -> tuple[Hashable, ...]:
        body = design.body
        assert body is not None  # instances says so
        heel = None
        if any(pocket.shape == "heel" for pocket in body.pockets):
            heel = heel_in_body(design)
        if heel is not None:  # its pocket is the same however high the neck stands
            heel = replace(heel, height=0.0)
        top, back = carved_face(design, "top"), carved_face(design, "back")
        insides = None if body.hollow is None else _insides(body.hollow, top, back)
        outline = body_outline(body.outline)
        return body, outline, heel, labels_of(body), top, back, insides

    def shape(self, *inputs: Any) -> BodyShape:
        return body_shape(*inputs)

    def solid(self, shape: BodyShape, chord_error: float) -> tuple[Mesh, float]:
        # what is made once, for a file, is not worth a plan that serves other heights too
        if not shape.carvings or chord_error <= EXPORT_CHORD:
            return body_solid(shape, chord_error)
        rounded = tuple(face.rounded_for_cache() for face in shape.carvings)
        chambers = [
            _chamber_plan(
                (
                    first_equal(chamber.ceiling.rounded_for_cache()),
                    first_equal(chamber.under.rounded_for_cache()),
                ),
                tuple(map(tuple, chamber.plan.points(chord_error).tolist())),
                chord_error,
            )
            for chamber in shape.cuts
            if isinstance(chamber, Chamber)
            and chamber.ceiling is not None
            and chamber.under is not None
        ]
        plan = _face_plan(rounded, shape.outline, chord_error)
        return body_solid(shape, chord_error, plan, chambers)

    def volume(self, shape: BodyShape) -> float:
        return body_volume(shape)

    def faces(self, shape: BodyShape) -> Faces:
        return body_faces(shape)

    def blank(self, design: Design, instance: Instance) -> Blank | None:
        return None if design.body is None else design.body.blank

    def to_instrument(self, design: Design, instance: Instance) -> Array:
        return inverse_rigid(neck_on_body(design).to_body())

    def outlines(self, design: Design, shape: BodyShape) -> Mapping[str, Drawing]:
        title, unit = design.title, design.units
        return {**body_outlines(shape, title, unit), **relief_outlines(shape, title, unit)}

    def maps(self, design: Design, shape: BodyShape) -> Mapping[str, PlanMap]:
        limits = design.limits
        least = min(limits.wood_under_pockets, limits.wood_over_pockets)
        if any(cut.opens == "nowhere" for cut in shape.cuts):
            least = min(least, limits.hollow_plate)
        wood = wood_map(shape, wood_of(shape), design.units, least, 3 * least)
        return {"wood left": wood, **relief_maps(shape, design.units)}

    def colour_fields(self, design: Design, shape: BodyShape) -> Mapping[str, ColourField]:
        return body_shades(shape, TOP, BACK)

    def section_cuts(self, design: Design, shape: BodyShape) -> SectionPlanes | None:
        return body_cuts(shape, design.units)


BODY = _Body()


@kept
def wood_of(shape: BodyShape) -> tuple[Array, tuple[float, float]]:
    """How much wood is left through a body, as ``wood_grid`` has it."""
    return wood_grid(shape)


def labels_of(body: Body) -> BodyLabels:
    """Where a body's cuts stand in the design file."""
    pockets = tuple(f"body.pockets[{number}]" for number in range(len(body.pockets)))
    return BodyLabels(
        pockets=pockets,
        bolts=tuple(f"{pocket}.bolts" for pocket in pockets),
        bores=tuple(f"body.bores[{number}]" for number in range(len(body.bores))),
        hollow="body.hollow",
    )


def _insides(
    hollow: Hollow, top: CarvedFace | None, back: CarvedFace | None
) -> tuple[InnerSurface, InnerSurface] | None:
    """Those of top and back, where one of the plates at least is graduated."""
    if hollow.top_graduation is None and hollow.back_graduation is None:
        return None
    on = next(face.foundation for face in (top, back) if face is not None)
    rim = hollow.rim
    ceiling = InnerSurface(top, hollow.top_graduation, rim, hollow.top or 0.0, on)
    under = InnerSurface(back, hollow.back_graduation, rim, hollow.back or 0.0, on)
    return first_equal(ceiling), first_equal(under)


@kept
def _face_plan(
    faces: tuple[CarvedFace, ...], outline: Outline, chord_error: float
) -> ReusablePlan[CarvedFace] | None:
    return plan_for_many(face_plan, faces, outline, chord_error)


@kept
def _chamber_plan(
    insides: tuple[InnerSurface, InnerSurface],
    around: tuple[tuple[float, float], ...],
    chord_error: float,
) -> ReusablePlan[InnerSurface] | None:
    return plan_for_many(chamber_plan, insides, np.array(around), chord_error)
