"""What is shown of a job: layers in 3D, drawings, maps, sections and tables, part by part.

A dial turns one part and the others stay. So each part's share is kept until the part has been
made anew or something of the design that was read for it has another value.
"""

from collections.abc import Callable, Iterator
from typing import Any, TypeVar

import numpy as np

from carve.design import Design
from carve.lab.tables import table_html
from carve.lab.view3d.layer import Layer
from carve.parts.assembly import assembly_drawings, assembly_outlines, assembly_tables
from carve.parts.cache import LastMade
from carve.parts.job import Job, Part
from carve.parts.mirror import for_hand
from carve.parts.outbound import (
    outbound_cut,
    outbound_maps,
    outbound_outlines,
    outbound_placement,
    outbound_sections,
)
from carve.render.map_picture import map_picture
from carve.render.screen_views import SCREEN_WIDTH, fitted_to_screen, row_of_drawings
from carve.shape.assembly.frames import moved
from carve.shape.views.kit.drawing import Drawing, extent
from carve.shape.views.kit.section_cuts import SectionPlane, SectionPlanes
from carve.solid.faces import Side

SECTION_SCALE = 1.6  # small drawings on the screen, to one
TOGETHER = "all parts"  # whose views are those of how the parts meet

T = TypeVar("T")

Placement = tuple[tuple[float, ...], ...]
"""A 4 by 4 matrix, row by row."""


class JobViews:
    """What one lab shows of its job. The same whatever was shown before, only sooner."""

    def __init__(self) -> None:
        self._made: dict[str, LastMade] = {}

    def forget_missing(self, job: Job) -> None:
        """Let go of parts that the design no longer has."""
        there = {part.name for part in job.parts}
        self._made = {name: made for name, made in self._made.items() if name in there}

    def colours(self, job: Job) -> list[str]:
        """Names of what parts can be coloured by, each once."""
        of_parts = [self._kept(_colours, job.design, part) for part in job.parts]
        return list(dict.fromkeys(name for names in of_parts for name in names))

    def layers(self, job: Job, side: Side | None = None, colour: str = "") -> list[Layer]:
        """All parts as the view in 3D shows them, in the instrument's frame.

        side: only what is machined from there, None for whole parts. colour: the name of what
        surfaces are coloured by; those of which it says nothing are plain wood.
        """
        found: list[Layer] = []
        for part in job.parts:
            placed: Placement = tuple(map(tuple, outbound_placement(job.design, part).tolist()))
            found += self._kept(part_layers, job.design, part, placed, side, colour)
        return found

    def drawings(self, job: Job) -> dict[str, str]:
        """Small drawings of each part and of how they meet, then large views, then maps, as HTML.

        Where the page is narrow, small ones go on in the next row and large ones can be scrolled:
        they keep their scale.
        """
        design, found = job.design, {}
        for part in job.parts:
            found[f"{part.name}, drawings"] = self._kept(_drawings, design, part)
        found[f"{TOGETHER}, drawings"] = _row(assembly_drawings(design))
        for part in job.parts:
            found[f"{part.name}, views"] = self._kept(_views, design, part)
        together = assembly_outlines(design).values()
        found[f"{TOGETHER}, views"] = _scrolled(map(fitted_to_screen, together))
        for part in job.parts:
            found[f"{part.name}, maps"] = self._kept(_maps, design, part)
        return found

    def section_planes(self, job: Job) -> dict[str, SectionPlanes]:
        """Where parts may be cut open, by the part's name; those that show no section left out."""
        found = {part.name: part.type.section_cuts(job.design, part.shape) for part in job.parts}
        return {name: planes for name, planes in found.items() if planes is not None}

    def section(self, job: Job, part: Part[Any], plane: SectionPlane) -> str:
        """The section that a plane opens, as SVG; nothing where the part shows none."""
        return self._kept(_section, job.design, part, plane)

    def tables(self, job: Job) -> dict[str, str]:
        """The tables of each part and of how they meet, folded, as HTML."""
        found = {
            f"{part.name}, tables": self._kept(_tables, job.design, part) for part in job.parts
        }
        together = assembly_tables(job.design).values()
        return found | {f"{TOGETHER}, tables": "".join(map(table_html, together))}

    def _kept(self, make: Callable[..., T], design: Design, part: Part[Any], *given: Any) -> T:
        return self._made.setdefault(part.name, LastMade()).get(make, design, part, *given)


def part_layers(
    design: Design, part: Part[Any], placed: Placement, side: Side | None, colour: str
) -> list[Layer]:
    """One part's layers; the rest as for ``JobViews.layers``. placed: to the instrument's frame."""
    to_instrument = np.array(placed)
    field = part.type.colour_fields(design, part.shape).get(colour)
    mesh = part.mesh if side is None else part.type.faces(part.shape).of(part.mesh, side)
    coloured: list[Layer] = []
    plain = list(mesh.names)
    for name, values in {} if field is None else field.values.items():
        inside = mesh.only(name)
        if field is None or not len(inside.triangles):
            continue
        plain.remove(name)
        shown = for_hand(design, inside)
        coloured.append(
            Layer(
                f"{part.name}, {name}",
                moved(shown.points, to_instrument),
                shown.triangles,
                values(inside.points),
                field.label,
                (field.lowest, field.highest),
                field.colours,
            )
        )
    rest = for_hand(design, mesh.only(*plain) if coloured else mesh)
    wood = Layer(
        part.name, moved(rest.points, to_instrument), rest.triangles, colour=part.type.colour
    )
    return [*coloured, wood]


def _colours(design: Design, part: Part[Any]) -> tuple[str, ...]:
    return tuple(part.type.colour_fields(design, part.shape))


def _drawings(design: Design, part: Part[Any]) -> str:
    return _row(outbound_sections(design, part))


def _views(design: Design, part: Part[Any]) -> str:
    return _scrolled(map(fitted_to_screen, outbound_outlines(design, part).values()))


def _maps(design: Design, part: Part[Any]) -> str:
    return _scrolled(map(map_picture, outbound_maps(design, part).values()))


def _tables(design: Design, part: Part[Any]) -> str:
    return "".join(map(table_html, part.type.tables(design, part.shape).values()))


def _section(design: Design, part: Part[Any], plane: SectionPlane) -> str:
    """As large as the small drawings are, or as large as the page has room for."""
    drawing = outbound_cut(design, part, plane)
    if drawing is None:
        return ""
    low, high = extent(drawing)
    is_small = float(high[0] - low[0]) * SECTION_SCALE < SCREEN_WIDTH
    return row_of_drawings([drawing], SECTION_SCALE) if is_small else fitted_to_screen(drawing)


def _row(drawings: tuple[Drawing, ...]) -> str:
    if not drawings:
        return ""
    pictures = "".join(row_of_drawings([drawing], SECTION_SCALE) for drawing in drawings)
    return f'<div style="display:flex;flex-wrap:wrap;margin-bottom:8px">{pictures}</div>'


def _scrolled(pictures: Iterator[str]) -> str:
    return "".join(f'<div style="overflow-x:auto">{picture}</div>' for picture in pictures)
