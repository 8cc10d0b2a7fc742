"""The bar in the picture that says which colour stands for which figure."""

from typing import Any

import pyvista as pv

from carve.lab.view3d.layer import WOOD
from carve.lab.view3d.page import Plotter
from carve.render.colours import INK, colour_table
from carve.shape.views.kit.drawing import Colours

TITLE_SIZE = 16
"""Points, of a scale bar's title."""

BAR_BAND = 0.17
"""Share of the picture's height that one scale bar takes up at the bottom."""


def lookup_table(colours: Colours) -> pv.LookupTable:
    """The colours, with the wood's where there is no value."""
    table = pv.LookupTable()
    table.values = colour_table(colours)
    table.nan_color = WOOD
    return table


def add_bar(plotter: Plotter, label: str, table: pv.LookupTable, bottom: float) -> None:
    """Put a scale bar in the picture; `bottom` is its lower edge as a share of the height."""
    bar = plotter.add_scalar_bar(
        title=label,
        lookup_table=table,
        width=0.5,
        height=0.09,
        position_x=0.25,
        position_y=bottom,
        vertical=False,
        n_labels=5,
        fmt="%.1f",
        color=INK,
        title_font_size=TITLE_SIZE,
        label_font_size=TITLE_SIZE - 2,
        unconstrained_font_size=True,
        render=False,
    )
    bar.SetTextPositionToPrecedeScalarBar()
    bar.SetTextPad(3)
    # VTK prints a bar's title over its numbers, so the title is a text of its own.
    bar.SetTitle("")
    title: Any = pv.Text(label, position=(0.5, bottom + 0.1), name=title_of(label))
    title.GetPositionCoordinate().SetCoordinateSystemToNormalizedViewport()
    title.prop.SetJustificationToCentered()
    title.prop.color = INK
    title.prop.font_size = TITLE_SIZE
    plotter.add_actor(title, name=title_of(label), render=False)


def remove_bar(plotter: Plotter, label: str) -> None:
    """Take a scale bar and its title out of the picture."""
    plotter.remove_scalar_bar(label, render=False)
    plotter.remove_actor(title_of(label), render=False)


def title_of(label: str) -> str:
    """Name of the actor that shows a scale bar's title."""
    return f"title of {label}"
