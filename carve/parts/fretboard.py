"""The fretboard as a part. What draws it is loaded when it is drawn, as the neck's."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from carve.design.derived.board_plan import board_plan
from carve.design.schema.blank import Blank
from carve.design.schema.design import Design
from carve.parts.kind import Instance, PartType
from carve.shape.fretboard.frets import fret_places
from carve.shape.fretboard.shape import FretboardShape, fretboard_shape
from carve.solid.faces import Faces
from carve.solid.fretboard import FRETBOARD_FACES, fretboard_solid
from carve.solid.mesh import Mesh

if TYPE_CHECKING:
    from carve.shape.views.kit.drawing import Drawing
    from carve.shape.views.kit.table import DataTable


class _Fretboard(PartType[FretboardShape]):
    """One fretboard, always."""

    colour = "#8b6347"

    def instances(self, design: Design) -> tuple[Instance, ...]:
        return (Instance("fretboard", "fretboard"),)

    def inputs(self, design: Design, instance: Instance) -> tuple[Hashable, ...]:
        return (board_plan(design),)

    def shape(self, *inputs: Any) -> FretboardShape:
        return fretboard_shape(*inputs)

    def solid(self, shape: FretboardShape, chord_error: float) -> tuple[Mesh, float]:
        return fretboard_solid(shape, chord_error)

    def volume(self, shape: FretboardShape) -> float:
        return shape.volume()

    def faces(self, shape: FretboardShape) -> Faces:
        return FRETBOARD_FACES

    def blank(self, design: Design, instance: Instance) -> Blank | None:
        return design.fretboard.blank

    def sections(self, design: Design, shape: FretboardShape) -> tuple[Drawing, ...]:
        from carve.shape.views.fretboard_drawings import end_views

        return end_views(shape, design.units)

    def outlines(self, design: Design, shape: FretboardShape) -> Mapping[str, Drawing]:
        from carve.shape.views.fretboard_drawings import plan_drawing

        return {"from-above": plan_drawing(shape, f"{design.title}, fretboard", design.units)}

    def tables(self, design: Design, shape: FretboardShape) -> Mapping[str, DataTable]:
        from carve.shape.views.tables.fret_table import fret_table

        if not len(shape.frets):
            return {}
        step, fan = design.fretboard.table_step, design.fan
        sides = None
        if fan is not None:
            ratios = np.array(design.fretboard.ratios())
            sides = {
                f"outer {name} string": fret_places(ratios, string.length)
                for name, string in (("bass", fan.bass), ("treble", fan.treble))
            }
        return {"frets": fret_table(shape.frets, step, design.units, sides)}


FRETBOARD = _Fretboard()
