"""The register of what is shown of all parts together: views and tables of how they meet.

A view joins by one entry: from a design to drawings or to tables by name, none where the
design doesn't say enough. The export writes a file for each, the lab shows the views.
"""

from collections.abc import Callable, Mapping

from carve.design.derived.board_plan import board_plan
from carve.design.schema.design import Design
from carve.parts.mirror import leaving
from carve.parts.registry import BODY, NECK, shape_of
from carve.shape.assembly.side_view import playing, side_view
from carve.shape.assembly.string_heights import string_heights
from carve.shape.fretboard.strings import laid
from carve.shape.views.body_drawings import along_the_centre_line
from carve.shape.views.kit.drawing import Drawing, Line
from carve.shape.views.kit.table import Sheet
from carve.shape.views.side_drawing import close_views, side_drawing
from carve.shape.views.string_tables import layout_sheet, radius_sheet, strings_drawing


def assembly_outlines(design: Design) -> Mapping[str, Drawing]:
    """Whole views at true scale, by name."""
    return {
        name: leaving(design, drawing)
        for make in OUTLINES
        for name, drawing in make(design).items()
    }


def assembly_drawings(design: Design) -> tuple[Drawing, ...]:
    """Small views, to be shown beside the parts' sections."""
    return tuple(leaving(design, drawing) for make in DRAWINGS for drawing in make(design))


def assembly_sheets(design: Design) -> Mapping[str, Sheet]:
    """Tables, by name."""
    return {name: sheet for make in SHEETS for name, sheet in make(design).items()}


def _side(design: Design) -> Mapping[str, Drawing]:
    if design.action is None:
        return {}
    over, side = playing(design, design.action), side_view(design)
    title = f"{design.title}, side view"
    body: tuple[Line, ...] = ()
    if side is not None and BODY.asked(design):
        body = along_the_centre_line(shape_of(BODY, design), "other part", "body")
    neck = shape_of(NECK, design)
    return {"side-view": side_drawing(over, neck, side, title, design.units, body)}


def _close(design: Design) -> tuple[Drawing, ...]:
    if design.action is None:
        return ()
    over, side = playing(design, design.action), side_view(design)
    return close_views(over, shape_of(NECK, design), side, design.units)


def _strings(design: Design) -> Mapping[str, Drawing]:
    if design.strings is None:
        return {}
    layout, plan = laid(design, design.strings), board_plan(design)
    title = f"{design.title}, strings from above"
    return {"strings-from-above": strings_drawing(layout, plan, title, design.units)}


def _string_sheets(design: Design) -> Mapping[str, Sheet]:
    if design.strings is None:
        return {}
    layout, plan = laid(design, design.strings), board_plan(design)
    found = {"strings": layout_sheet(layout, string_heights(design), plan, design.units)}
    if plan.radius is not None:
        found["radius"] = radius_sheet(layout, plan, design.units)
    return found


OUTLINES: tuple[Callable[[Design], Mapping[str, Drawing]], ...] = (_side, _strings)
DRAWINGS: tuple[Callable[[Design], tuple[Drawing, ...]], ...] = (_close,)
SHEETS: tuple[Callable[[Design], Mapping[str, Sheet]], ...] = (_string_sheets,)
