"""The neck as a part. What draws it is loaded when it is drawn, since a check draws nothing."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import TYPE_CHECKING, Any

from carve.design.schema.blank import Blank
from carve.design.schema.design import Design
from carve.design.values.units import Place
from carve.parts.kind import Instance, PartType
from carve.shape.assembly.side_view import body_plane
from carve.shape.neck.area import neck_volume
from carve.shape.neck.build import neck_shape
from carve.shape.neck.finish import neck_film
from carve.shape.neck.heel_blend import SAME_PLACE
from carve.shape.neck.shape import NeckShape
from carve.solid.faces import Faces
from carve.solid.mesh import Mesh
from carve.solid.neck import BACK, NECK_FACES, neck_solid

if TYPE_CHECKING:
    from carve.shape.views.kit.colour_fields import ColourField
    from carve.shape.views.kit.drawing import Drawing
    from carve.shape.views.kit.section_cuts import SectionPlanes


class _Neck(PartType[NeckShape]):
    """One neck, always."""

    def instances(self, design: Design) -> tuple[Instance, ...]:
        return (Instance("neck", "neck"),)

    def inputs(self, design: Design, instance: Instance) -> tuple[Hashable, ...]:
        return (
            design.placed_neck(),
            design.saddle_line.at,
            design.fretboard.thickness,
            neck_film(design.finish),
            design.nut_line.slant,
            body_plane(design),
        )

    def shape(self, *inputs: Any) -> NeckShape:
        return neck_shape(*inputs)

    def solid(self, shape: NeckShape, chord_error: float) -> tuple[Mesh, float]:
        return neck_solid(shape, chord_error)

    def volume(self, shape: NeckShape) -> float:
        return neck_volume(shape)

    def faces(self, shape: NeckShape) -> Faces:
        return NECK_FACES

    def blank(self, design: Design, instance: Instance) -> Blank | None:
        return design.neck.blank

    def board_to_saw(self, shape: NeckShape) -> tuple[float, float] | None:
        return shape.board_to_saw()

    def sections(self, design: Design, shape: NeckShape) -> tuple[Drawing, ...]:
        from carve.shape.views.neck_sections import neck_section_drawing

        return tuple(
            neck_section_drawing(shape, x, title, design.units)
            for title, fret in (("1st fret", 1), ("12th fret", 12))
            if (x := design.place(Place(fret=fret))) <= shape.length
        )

    def outlines(self, design: Design, shape: NeckShape) -> Mapping[str, Drawing]:
        from carve.shape.views.curvature_drawing import curvature_drawing
        from carve.shape.views.neck_drawings import gauges, neck_from_side, plan_view

        title, unit = f"{design.title}, neck", design.units
        asked = design.neck.gauges
        places = stations_on_shaft(design, shape) if asked is None else list(asked)
        named = [(place.show(unit), design.place(place)) for place in places]
        drawn = {
            "from-above": plan_view(shape, title, unit),
            "from-the-side": neck_from_side(shape, f"{title} from the side", unit),
        }
        if named:
            drawn["gauges"] = gauges(shape, named, f"{title}, gauges for its back", unit)
        drawn["curvature"] = curvature_drawing(shape, f"{title}, curvature", unit)
        return drawn

    def colour_fields(self, design: Design, shape: NeckShape) -> Mapping[str, ColourField]:
        from carve.shape.views.neck_colours import neck_shades

        thin, good = design.limits.wood_under_channel, design.limits.wood_under_channel_good
        return neck_shades(shape, BACK, thin, max(2 * good, thin + 1.0))

    def section_cuts(self, design: Design, shape: NeckShape) -> SectionPlanes | None:
        from carve.shape.views.neck_sections import neck_cuts

        return neck_cuts(shape, design.units)


def stations_on_shaft(design: Design, shape: NeckShape) -> list[Place]:
    """Places of the stations before the heel: on the heel itself no gauge fits."""
    end = shape.shaft_end + SAME_PLACE
    return [s.at for s in design.neck.stations if design.place(s.at) <= end]


NECK = _Neck()
