"""A page as a DXF file, written by ezdxf."""

import io
from collections.abc import Callable
from typing import Any

import ezdxf

from trials.page import Page, Point

_UNITS = {1: 25.4, 4: 1.0, 5: 10.0}  # $INSUNITS: inch, mm, cm
_BEZIER = [0, 0, 0, 0, 1, 1, 1, 1]


class _Dxf:
    """What is written. outline: the layer it lies on, and whatever counts."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.document: Any = ezdxf.new("R2010", units=page.rng.choice(list(_UNITS)))
        self.mm = _UNITS[self.document.header["$INSUNITS"]]
        self.space = self.document.modelspace()
        self.on = {"layer": page.layer.upper() if page.rng.random() < 0.5 else page.layer}
        self.document.layers.add(self.on["layer"])
        self.hidden = "thawed"
        self.document.layers.add("off").off()
        self.document.layers.add("frozen").freeze()
        self.unit = 0  # of the outline's block, where it is in one of another unit
        self.scaled = True

    def at(self, point: Point) -> Point:
        return (self.page.across + point[1]) / self.mm, -(self.page.down + point[0]) / self.mm

    def box(self, space: Any = None, **attributes: Any) -> Any:
        corners = [self.at(point) for point in self.page.box()]
        space = self.space if space is None else space
        return space.add_lwpolyline(corners, close=True, dxfattribs={**self.on, **attributes})

    def rim(self, space: Any, layer: str, larger: float = 1.0) -> None:
        """The outline as loose lines and splines, in any order and either way round."""
        pieces = list(self.page.pieces)
        self.page.rng.shuffle(pieces)
        for piece in pieces:
            points = [tuple(value / larger for value in self.at(point)) for point in piece]
            if self.page.rng.random() < 0.5:
                points.reverse()
            if len(points) == 2:
                space.add_line(*points, dxfattribs={"layer": layer})
            else:
                spline = space.add_spline(degree=3, dxfattribs={"layer": layer})
                spline.control_points = [(*point, 0) for point in points]
                spline.knots = _BEZIER


def dxf_of(page: Page) -> tuple[str, bytes]:
    """The file's name and what it holds."""
    page.by_layer, page.by_id = page.by_layer or page.by_id, False  # its loose lines have no name
    dxf = _Dxf(page)
    for extra in page.rng.sample(_EXTRAS, page.rng.randint(0, 4)):
        extra(dxf)
    if dxf.unit:
        factor = _UNITS[dxf.unit] / dxf.mm
        block = dxf.document.blocks.new("OUTLINE")
        block.block_record.dxf.units = dxf.unit
        dxf.rim(block, "0", factor)
        scale = factor if dxf.scaled else 1.0
        scales = dict.fromkeys(("xscale", "yscale", "zscale"), scale)
        dxf.space.add_blockref("OUTLINE", (0, 0), dxfattribs={**dxf.on, **scales})
    else:
        dxf.rim(dxf.space, dxf.on["layer"])
    text = io.StringIO()
    dxf.document.write(text)
    return "body.dxf", dxf.document.encode(text.getvalue())


def _invisible(dxf: _Dxf) -> None:
    dxf.box(invisible=1)
    dxf.page.add("invisible", hidden=1)


def _block(dxf: _Dxf) -> None:
    """Curves of a block: on layer 0 and on the outline's own."""
    name = f"B{len(dxf.page.extras)}"
    block = dxf.document.blocks.new(name)
    own, inherited = dxf.box(block), dxf.box(block, layer="0")
    way = dxf.page.rng.choice(["shown", "off", "frozen", "invisible", "one invisible"])
    layer = {"off": "off", "frozen": "frozen"}.get(way, dxf.on["layer"])
    insert = dxf.space.add_blockref(name, (0, 0), dxfattribs={"layer": layer})
    if way == "invisible":
        insert.dxf.invisible = 1
    if way == "one invisible":
        own.dxf.invisible = 1
    assert inherited.dxf.layer == "0"
    # a frozen or invisible insert hides all; one whose layer is off only what takes its layer
    counts = {"shown": (2, 0), "off": (1, 0), "frozen": (0, 1), "invisible": (0, 2)}
    left, hidden = counts.get(way, (1, 1))
    dxf.page.add(f"block, {way}", left=left, hidden=hidden)


def _nested(dxf: _Dxf) -> None:
    inner, outer = dxf.document.blocks.new("INNER"), dxf.document.blocks.new("OUTER")
    dxf.box(inner)
    frozen = dxf.page.rng.random() < 0.5
    outer.add_blockref("INNER", (0, 0), dxfattribs={"layer": "0"})
    layer = "frozen" if frozen else "off"
    dxf.space.add_blockref("OUTER", (0, 0), dxfattribs={"layer": layer})
    dxf.page.add(f"nested block, {layer}", left=not frozen, hidden=frozen)


def _second(dxf: _Dxf) -> None:
    dxf.box()
    dxf.page.add("second shape", left=1)


def _no_curves(dxf: _Dxf) -> None:
    rng, space, on = dxf.page.rng, dxf.space, dxf.on
    kind = rng.choice(["text", "mtext", "point", "hatch", "dimension", "missing block", "solid"])
    if kind == "text":
        space.add_text("rim", dxfattribs=on)
    elif kind == "mtext":
        space.add_mtext("rim", dxfattribs=on)
    elif kind == "point":
        space.add_point(dxf.at((200, 0)), dxfattribs=on)
    elif kind == "hatch":
        space.add_hatch(dxfattribs=on).paths.add_polyline_path([(0, 0), (9, 0), (9, 9)])
    elif kind == "dimension":
        space.add_linear_dim((0, 9), (0, 0), (9, 0), dxfattribs=on).render()
    elif kind == "solid":
        space.add_solid([(0, 0), (9, 0), (9, 9)], dxfattribs=on)
    else:
        space.add_blockref("NOWHERE", (5, 5), dxfattribs=on)
    dxf.page.add(kind, left=1)


def _elsewhere(dxf: _Dxf) -> None:
    dxf.space.add_text("a word", dxfattribs={"layer": "notes"})
    dxf.box(layer="notes")
    dxf.box(layer="off")
    dxf.box(layer="frozen")
    dxf.page.add("other layers")


def _no_length(dxf: _Dxf) -> None:
    dxf.space.add_line((5, 5), (5, 5), dxfattribs=dxf.on)
    dxf.page.add("no length")


def _twice(dxf: _Dxf) -> None:
    state = dxf.page.rng.getstate()
    dxf.rim(dxf.space, dxf.on["layer"])
    dxf.page.rng.setstate(state)
    if dxf.unit:
        dxf.unit = 0
        dxf.page.refused.clear()
    dxf.page.add("lines twice")


def _other_unit(dxf: _Dxf) -> None:
    if "lines twice" in dxf.page.extras:
        return
    dxf.unit = dxf.page.rng.choice([one for one in _UNITS if _UNITS[one] != dxf.mm])
    dxf.scaled = dxf.page.rng.random() < 0.5
    refused = "" if dxf.scaled else 'the block "OUTLINE" counts in'
    dxf.page.add(f"block in unit {dxf.unit}, {dxf.scaled}", refused=refused)


def _all_hidden(dxf: _Dxf) -> None:
    if not dxf.page.by_layer:
        return
    layer = dxf.document.layers.get(dxf.on["layer"])
    if dxf.page.rng.random() < 0.5:
        layer.freeze()
        said = "is frozen"
    else:
        layer.off()
        said = "is off"
    dxf.space.add_line((0, 0), (0, 5), dxfattribs={"layer": "shown"})
    dxf.page.add("all hidden", refused=f'layer "{dxf.on["layer"]}" {said}')


_EXTRAS: list[Callable[[_Dxf], None]] = [
    _invisible, _block, _block, _nested, _second, _second, _no_curves, _no_curves, _elsewhere,
    _no_length, _twice, _other_unit, _all_hidden,
]  # fmt: skip
