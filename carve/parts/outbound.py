"""What leaves the house of a part: meshes, drawings and maps, mirrored for the hand."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from carve.arrays import Array
from carve.design.schema.design import Design
from carve.parts.job import Part
from carve.parts.mirror import for_hand
from carve.shape.views.kit.drawing import Drawing, PlanMap
from carve.shape.views.kit.section_cuts import SectionPlane
from carve.solid.mesh import Mesh


def outbound_mesh(design: Design, part: Part[Any]) -> Mesh:
    """A part's mesh as files have it."""
    return for_hand(design, part.written)


def outbound_placement(design: Design, part: Part[Any]) -> Array:
    """(4, 4) from the frame of ``outbound_mesh`` to that of the instrument for this hand."""
    placed = part.to_instrument(design)
    if design.handed == "right":
        return placed
    turned_over = np.diag([1.0, -1.0, 1.0, 1.0])  # in both frames y points to the other side
    return np.asarray(turned_over @ placed @ turned_over)


def outbound_outlines(design: Design, part: Part[Any]) -> Mapping[str, Drawing]:
    """A part's drawings at true scale, by name, as files and screens have them."""
    drawn = part.type.outlines(design, part.shape)
    return {name: for_hand(design, drawing) for name, drawing in drawn.items()}


def outbound_sections(design: Design, part: Part[Any]) -> tuple[Drawing, ...]:
    """A part's small drawings, as screens have them."""
    return tuple(for_hand(design, drawing) for drawing in part.type.sections(design, part.shape))


def outbound_cut(design: Design, part: Part[Any], plane: SectionPlane) -> Drawing | None:
    """The section that a plane opens, as screens have it; None where the part shows none."""
    planes = part.type.section_cuts(design, part.shape)
    return None if planes is None else for_hand(design, planes.drawn(planes.within(plane)))


def outbound_maps(design: Design, part: Part[Any]) -> Mapping[str, PlanMap]:
    """A part's maps, by name, as screens have them."""
    found = part.type.maps(design, part.shape)
    return {name: for_hand(design, plan) for name, plan in found.items()}
