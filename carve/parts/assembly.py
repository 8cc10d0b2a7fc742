"""The register of what is shown of all parts together: views and tables of how they meet.

A view joins by one entry: from a design to drawings or to tables by name, none where the
design doesn't say enough. The export writes a file for each, the lab shows the views.
"""

from collections.abc import Callable, Mapping

from carve.design.derived.board_plan import board_plan
from carve.design.schema.design import Design
from carve.parts.body import BODY
from carve.parts.job import shape_of, shapes_of
from carve.parts.mirror import for_hand
from carve.parts.neck import NECK
from carve.shape.assembly.side_view import playing, side_view
from carve.shape.assembly.string_heights import string_heights
from carve.shape.fretboard.strings import strings_of_design
from carve.shape.views.body_drawings import along_the_centre_line
from carve.shape.views.kit.drawing import Drawing, Line
from carve.shape.views.kit.table import DataTable
from carve.shape.views.side_drawing import close_views, side_drawing
from carve.shape.views.tables.string_tables import (
    board_radius_table,
    string_layout_table,
    strings_drawing,
)


def assembly_outlines(design: Design) -> Mapping[str, Drawing]:
    """Whole views at true scale, by name."""
    return {
        name: for_hand(design, drawing)
        for make in OUTLINES
        for name, drawing in make(design).items()
    }


def assembly_drawings(design: Design) -> tuple[Drawing, ...]:
    """Small views, to be shown beside the parts' sections."""
    return tuple(for_hand(design, drawing) for make in DRAWINGS for drawing in make(design))


def assembly_tables(design: Design) -> Mapping[str, DataTable]:
    """Tables, by name."""
    return {name: sheet for make in SHEETS for name, sheet in make(design).items()}


def _side(design: Design) -> Mapping[str, Drawing]:
    if design.action is None:
        return {}
    over, side = playing(design, design.action), side_view(design)
    title = f"{design.title}, side view"
    body: tuple[Line, ...] = ()
    if side is not None:
        for shape in shapes_of(BODY, design):
            body = along_the_centre_line(shape, "other part", "body")
    neck = shape_of(NECK, design)
    return {"side-view": side_drawing(over, neck, side, title, design.units, body)}


def _close(design: Design) -> tuple[Drawing, ...]:
    if design.action is None:
        return ()
    over, side = playing(design, design.action), side_view(design)
    neck = shape_of(NECK, design)
    return close_views(over, neck, side, design.units)


def _strings(design: Design) -> Mapping[str, Drawing]:
    if design.strings is None:
        return {}
    layout, plan = strings_of_design(design, design.strings), board_plan(design)
    title = f"{design.title}, strings from above"
    return {"strings-from-above": strings_drawing(layout, plan, title, design.units)}


def _string_sheets(design: Design) -> Mapping[str, DataTable]:
    if design.strings is None:
        return {}
    layout, plan = strings_of_design(design, design.strings), board_plan(design)
    found = {"strings": string_layout_table(layout, string_heights(design), plan, design.units)}
    if plan.radius is not None:
        found["radius"] = board_radius_table(layout, plan, design.units)
    return found


OUTLINES: tuple[Callable[[Design], Mapping[str, Drawing]], ...] = (_side, _strings)
DRAWINGS: tuple[Callable[[Design], tuple[Drawing, ...]], ...] = (_close,)
SHEETS: tuple[Callable[[Design], Mapping[str, DataTable]], ...] = (_string_sheets,)
