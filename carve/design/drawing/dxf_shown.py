"""What of a DXF file its own program shows, and what of it is no curve.

A layer is off where its colour is negative, and frozen by a bit of code 70; code 60 makes an
entity invisible (DXF reference: LAYER, common group codes for entities). An insert on a frozen
layer is not shown whatever lies in its block; where its layer is off, only what lies on layer 0 of
the block goes with it (common practice of programs that write the format).

A block's own unit (DXF reference: BLOCK_RECORD, code 70) changes nothing of what is drawn: an
insert's scale factors, codes 41 to 43, hold all of its scale (ezdxf's documentation, DXF units).
So an insert that counts in another unit and has no scale was never scaled.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any, BinaryIO

from carve.design.drawing.clipping import Clip
from carve.design.drawing.model import NoCurve, UnscaledBlock
from carve.design.values.quote import quoted
from carve.design.values.units import MM_PER_INCH

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

MM_A_UNIT = {
    1: MM_PER_INCH,
    2: 12 * MM_PER_INCH,
    4: 1.0,
    5: 10.0,
    6: 1000.0,
    8: MM_PER_INCH / 1e6,
    9: MM_PER_INCH / 1e3,
    10: 36 * MM_PER_INCH,
    13: 1e-3,
    14: 100.0,
}
"""$INSUNITS: inch, foot, mm, cm, m, microinch, mil, yard, micrometre, decimetre."""

_UNITS = {
    1: "inches",
    2: "feet",
    4: "millimetres",
    5: "centimetres",
    6: "metres",
    8: "microinches",
    9: "mils",
    10: "yards",
    13: "micrometres",
    14: "decimetres",
}
UNSCALED = 1e-6  # of a scale, that it may be off 1

_KINDS = {
    "TEXT": "words",
    "MTEXT": "words",
    "ATTDEF": "words",
    "ATTRIB": "words",
    "ARC_DIMENSION": "dimension",
    "LARGE_RADIAL_DIMENSION": "dimension",
    "MPOLYGON": "hatch",
    "MULTILEADER": "leader",
    "TRACE": "solid",
    "3DFACE": "solid",
    "POLYLINE": "mesh",
}
_BY_HANDLE = re.compile(r"\(#([0-9A-Fa-f]+)\)")
_PLACES = ("insert", "location", "start", "defpoint", "center")


class LayerStates:
    """Which layers of a file are shown."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._known: dict[str, tuple[str, bool]] = {}

    def why_hidden(self, entity: Any, layer: str) -> str:
        """A clause that says why an entity on a layer is not shown, empty where it is."""
        if entity.dxf.get("invisible", 0):
            return "it is marked as invisible (code 60)"
        return self._state(layer)[0]

    def hides_all(self, insert: Any, layer: str) -> str:
        """The same of everything in a block that is inserted on a layer."""
        if insert.dxf.get("invisible", 0):
            return f"its block {quoted(str(insert.dxf.name))} is marked as invisible (code 60)"
        why, frozen = self._state(layer)
        return why if frozen else ""

    def _state(self, layer: str) -> tuple[str, bool]:
        """Why a layer is not shown, and whether it is frozen."""
        if layer not in self._known:
            state = "", False
            if self._document.layers.has_entry(layer):
                entry = self._document.layers.get(layer)
                if entry.is_frozen():
                    state = f"layer {quoted(layer)} is frozen", True
                elif entry.is_off():
                    state = f"layer {quoted(layer)} is off", False
            self._known[layer] = state
        return self._known[layer]


def no_curve(entity: Any, layer: str, scale: float) -> NoCurve:
    """An entity that is none. scale: mm a unit."""
    name = entity.dxftype()
    return NoCurve((layer,), (), _KINDS.get(name, name.lower()), _place(entity, scale))


def _place(entity: Any, scale: float) -> tuple[float, float] | None:
    for name in _PLACES:
        point = entity.dxf.get(name) if entity.is_supported_dxf_attrib(name) else None
        if point is not None:
            return float(point[0]) * scale, float(point[1]) * scale
    try:
        from ezdxf.bbox import extents

        box = extents([entity], fast=True)
    except Exception:  # a damaged entity, or a sort that has no place: it is told all the same
        return None
    return (box.center.x * scale, box.center.y * scale) if box.has_data else None


def lost(
    data: BinaryIO, document: Document, fixes: Iterable[Any], scale: float
) -> Iterator[NoCurve]:
    """Entities that ezdxf took out of a damaged file while it mended it.

    data: the file. document: what was made of it. fixes: as ezdxf's auditor tells of them; it
    has forgotten the entities, so that they are looked up in the file again. scale: mm a unit.
    """
    named = {match[1].upper() for fix in fixes for match in _BY_HANDLE.finditer(fix.message)}
    gone = {handle for handle in named if handle not in document.entitydb}
    if not gone:
        return
    from ezdxf.recover import Recover

    sections = Recover.run(data).section_dict
    for tags in (*sections.get("ENTITIES", ()), *sections.get("BLOCKS", ())):
        if str(tags.get_first_value(5, "")).upper() not in gone:
            continue
        kind, layer = str(tags[0].value), str(tags.get_first_value(8, "0"))
        name = quoted(str(tags.get_first_value(2, "")))
        what = f"block {name}, which is missing" if kind == "INSERT" else f"damaged {kind.lower()}"
        x, y = tags.get_first_value(10, None), tags.get_first_value(20, None)
        if x is not None and y is None:  # already read as a point
            x, y = x[0], x[1]
        at = None if x is None else (float(x) * scale, float(y) * scale)
        yield NoCurve((layer,), (), what, at)


def without_block(insert: Any, layer: str, scale: float) -> NoCurve | None:
    """An insert of a block that the file does not hold, None where it does."""
    block = insert.block()
    name = quoted(str(insert.dxf.get("name", "")))
    if block is None:
        return NoCurve((layer,), (), f"block {name}, which is missing", _place(insert, scale))
    if block.block is not None and block.block.is_xref:
        return NoCurve((layer,), (), f"block {name} of another file", _place(insert, scale))
    return None


def unit_inside(insert: Any, around: int) -> int:
    """The unit that an insert's block counts in. around: that of where it is inserted."""
    block = insert.block()
    own = int(block.block_record.dxf.get("units", 0)) if block is not None else 0
    return own or around


def unscaled(insert: Any, around: int, layer: str) -> UnscaledBlock | None:
    """An insert's block whose size is in doubt, None where it is not."""
    inside = unit_inside(insert, around)
    scales = (insert.dxf.get("xscale", 1.0), insert.dxf.get("yscale", 1.0))
    if inside == around or not around or any(abs(abs(one) - 1) > UNSCALED for one in scales):
        return None
    factor = MM_A_UNIT.get(inside, 0.0) / MM_A_UNIT.get(around, 1.0)
    name, into = _UNITS.get(inside, f"unit {inside}"), _UNITS.get(around, f"unit {around}")
    return UnscaledBlock((layer,), str(insert.dxf.name), name, into, factor)


def clips_of(insert: Any, scale: float) -> Iterator[Clip]:
    """What a clipped insert leaves of its block. scale: mm a unit."""
    if not insert.has_extension_dict:
        return
    from ezdxf.xclip import XClip

    clip = XClip(insert)
    if not (clip.has_clipping_path and clip.is_clipping_enabled):
        return
    path = clip.get_wcs_clipping_path()
    corners = [(point[0] * scale, point[1] * scale) for point in path.vertices]
    followed = len(corners) > 2 and not path.is_inverted_clip
    yield Clip("block's clipping", (((*corners, corners[0]),),) if followed else None)
