"""DXF files, by ezdxf: lines, arcs, polylines, ellipses and splines as cubic pieces.

A bulge is the tangent of a quarter of its arc's angle (DXF reference, LWPOLYLINE, code 42);
$INSUNITS says what a unit is (DXF reference, header section). Blocks are laid where they are
inserted; what lies on layer 0 of a block lies on the layer of its insert, as the format has it.
"""

from __future__ import annotations

import logging
import math
import re
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from carve.design.drawing.clipping import Clip, Effort, left_by
from carve.design.drawing.dxf_shown import (
    MM_A_UNIT,
    LayerStates,
    clips_of,
    lost,
    no_curve,
    unit_inside,
    unscaled,
    without_block,
)
from carve.design.drawing.limits import (
    Budget,
    WatchedBytes,
    hold_corners,
    hold_lines,
    hold_spline,
    in_our_words,
)
from carve.design.drawing.model import (
    ARC_TURN,
    Chain,
    Drawn,
    Hidden,
    NoCurve,
    Unreadable,
    UnscaledBlock,
)
from carve.design.values.curve import Piece, Point, moved_pieces, straight
from carve.design.values.quote import quoted

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.math import BSpline

MOST_ENTITIES = 50_000  # those of blocks counted wherever they are inserted
DEEPEST_BLOCK = 16  # blocks in blocks
FLAT_TOLERANCE = 1e-3  # of a unit, that a curve may rise out of the page
SPLINE_ERROR = 1e-6  # of a spline's size, that its cubic pieces may be off
SPLINE_HALVINGS = 10  # of one span, at most

_CURVES = {"LINE", "ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE", "POLYLINE"}
_BINARY = b"AutoCAD Binary DXF"


def read_dxf(data: bytes) -> Drawn:
    """Read a DXF file, with text or binary. Raises Unreadable."""
    if b"SECTION" not in data[:100_000].upper() and not data.startswith(_BINARY):
        raise Unreadable("is neither SVG nor DXF")
    hold_lines(data)
    with _unheard():
        return _read(data)


@contextmanager
def _unheard() -> Iterator[None]:
    """Keep what ezdxf logs off the screen: it mends much, and what it can't is reported here."""
    log = logging.getLogger("ezdxf")
    before = log.level
    log.setLevel(logging.CRITICAL)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        log.setLevel(before)


def _read(data: bytes) -> Drawn:
    budget = Budget()
    try:
        document, fixes = _document(data, budget)
        unit = int(document.header.get("$INSUNITS", 0))
    except Unreadable:
        raise
    except Exception as error:  # a damaged file makes the library stumble anywhere
        raise Unreadable(f"is damaged{_line_in(error)}, or not DXF; save it anew") from None
    if unit != 0 and unit not in MM_A_UNIT:
        raise Unreadable(f"counts in a unit no instrument is drawn in ($INSUNITS is {unit})")
    unit_mm = MM_A_UNIT.get(unit)
    reading = _Reading(document, unit, unit_mm or 1.0, budget)
    with in_our_words():
        named = tuple(str(layer.dxf.name) for layer in document.layers)
        _hold_within_reason(document)
        reading.read(document.modelspace())
        reading.no_curves += lost(WatchedBytes(data, budget), document, fixes, unit_mm or 1.0)
        if not reading.chains and any(map(_has_paper, document.layouts)):
            paper = NoCurve((), (), "what lies on a paper layout", None)
            reading.no_curves.append(paper)
    return Drawn(
        tuple(reading.chains),
        unit_mm,
        y_down=False,
        named=named,
        hidden=tuple(reading.hidden),
        no_curves=tuple(reading.no_curves),
        unscaled=tuple(reading.unscaled),
    )


def _document(data: bytes, budget: Budget) -> tuple[Document, Sequence[Any]]:
    """The file's contents, and what had to be mended in it."""
    from ezdxf import recover
    from ezdxf.document import Drawing as NewDocument
    from ezdxf.lldxf.tagger import binary_tags_loader

    if data.startswith(_BINARY):
        return NewDocument.load(binary_tags_loader(data)), ()
    document, auditor = recover.read(WatchedBytes(data, budget))
    return document, auditor.fixes


def _line_in(error: Exception) -> str:
    """Where the library stumbled, as far as it says so; its other words are not a builder's."""
    found = re.search(r"\bline:? (\d{1,9})\b", str(error))
    return f" in line {found[1]}" if found else ""


@dataclass(frozen=True)
class _Around:
    """What an insert lays on its block. layer: it lies on, None outside of blocks. gone: why
    nothing is shown, empty where it is. clips: what cuts off. unit: that it counts in.
    """

    unit: int
    layer: str | None = None
    gone: str = ""
    clips: tuple[Clip, ...] = ()


class _Reading:
    """What is found while entities are walked. unit: of $INSUNITS. scale: mm a unit."""

    def __init__(self, document: Document, unit: int, scale: float, budget: Budget) -> None:
        self.budget = budget
        self.states = LayerStates(document)
        self.unit = unit
        self.scale = scale
        self.effort = Effort()
        self.chains: list[Chain] = []
        self.hidden: list[Hidden] = []
        self.no_curves: list[NoCurve] = []
        self.unscaled: dict[UnscaledBlock, None] = {}

    def read(self, entities: Any, around: _Around | None = None) -> None:
        """Read entities, those of blocks where they are inserted."""
        around = around or _Around(self.unit)
        for entity in entities:
            self.budget.spend()
            own = str(entity.dxf.get("layer", "0"))
            on = around.layer if own == "0" and around.layer is not None else own
            kind = entity.dxftype()
            if kind == "INSERT":
                self._insert(entity, on, around)
                continue
            why = around.gone or self.states.why_hidden(entity, on)
            if kind in _CURVES or kind == "SPLINE":
                self._curve(entity, on, why, around.clips)
            elif not why:
                self.no_curves.append(no_curve(entity, on, self.scale))

    def _insert(self, insert: Any, on: str, around: _Around) -> None:
        gone = around.gone or self.states.hides_all(insert, on)
        if (missing := without_block(insert, on, self.scale)) is not None:
            if not gone:
                self.no_curves.append(missing)
            return
        if not gone and (doubt := unscaled(insert, around.unit, on)) is not None:
            self.unscaled[doubt] = None
        self.read(insert.attribs, _Around(around.unit, around.layer, gone))
        clips = around.clips + tuple(clips_of(insert, self.scale))
        inside = _Around(unit_inside(insert, around.unit), on, gone, clips)

        def left_out(entity: Any, _: str) -> None:
            if not gone:
                self.no_curves.append(no_curve(entity, on, self.scale))

        for one in insert.multi_insert() if insert.mcount > 1 else [insert]:
            self.read(one.virtual_entities(skipped_entity_callback=left_out), inside)

    def _curve(self, entity: Any, on: str, why: str, clips: tuple[Clip, ...]) -> None:
        names, scale = _names(entity), self.scale
        if why:
            self.hidden.append(Hidden((on,), names, why))
            return
        larger = (scale, 0.0, 0.0, scale, 0.0, 0.0)
        drawn = False
        for way in _ways(entity, on):
            drawn = True
            if not way:
                continue  # no length
            self.budget.spend(len(way))
            pieces = moved_pieces(way, larger)
            left, by = left_by(clips, pieces, self.effort)
            if left == "nothing":
                self.hidden.append(Hidden((on,), names, f"a {by} cuts all of it off"))
                continue
            self.chains.append(Chain((on,), names, pieces))
            if left == "part":
                cut = f"curve cut off by a {by}"
                self.no_curves.append(NoCurve((on,), names, cut, pieces[0][0]))
        if not drawn:
            self.no_curves.append(no_curve(entity, on, scale))


def _has_paper(layout: Any) -> bool:
    return not layout.is_modelspace and any(one.dxftype() != "VIEWPORT" for one in layout)


def _hold_within_reason(document: Document) -> None:
    """Refuse a drawing whose blocks of blocks grow without end."""
    known: dict[str, int] = {}

    def weigh(entities: Any, depth: int) -> int:
        """How many entities there are, those of blocks counted wherever they are inserted."""
        if depth > DEEPEST_BLOCK:
            raise Unreadable(f"nests more than {DEEPEST_BLOCK} blocks in one another")
        count = 0
        for entity in entities:
            count += 1
            if entity.dxftype() == "INSERT":
                name = str(entity.dxf.get("name", "")).casefold()
                block = document.blocks.get(name)
                if name not in known:
                    known[name] = 0 if block is None else weigh(block, depth + 1)
                count += known[name] * max(1, entity.mcount) + max(0, entity.mcount - 1)
        if count > MOST_ENTITIES:
            raise Unreadable(f"holds more than {MOST_ENTITIES} things to draw")
        return count

    weigh(document.modelspace(), 0)


def _names(entity: Any) -> tuple[str, ...]:
    """Its handle; what a block repeats has none."""
    handle = entity.dxf.get("handle")
    return (str(handle),) if handle else ()


def _ways(entity: Any, layer: str) -> Iterator[tuple[Piece, ...]]:
    if entity.dxftype() == "SPLINE":
        hold_spline(max(entity.control_points, entity.fit_points, key=len), layer)
        spline = entity.construction_tool()
        _flat([point.z for point in spline.control_points], entity, layer)
        yield tuple(_spline_pieces(spline))
        return
    from ezdxf.path import make_path

    if entity.dxftype() == "POLYLINE" and not (entity.is_2d_polyline or entity.is_3d_polyline):
        return  # a mesh
    hold_corners(entity, _segments(entity), layer)
    path = make_path(entity, segments=_segments(entity))
    _flat([point.z for point in path.control_vertices()], entity, layer)
    for way in path.sub_paths() if path.has_sub_paths else [path]:
        yield tuple(_path_pieces(way))


def _segments(entity: Any) -> int:
    """How many pieces ezdxf should make of an arc; of a bulged side it counts three to a piece."""
    kind = entity.dxftype()
    if kind == "LWPOLYLINE":
        bulges = [abs(corner[2]) for corner in entity.get_points("xyb")]
        return 3 * _arc_pieces(4 * math.atan(max(bulges, default=0.0)))
    if kind == "POLYLINE":
        bulges = [abs(vertex.dxf.get("bulge", 0.0)) for vertex in entity.vertices]
        return 3 * _arc_pieces(4 * math.atan(max(bulges, default=0.0)))
    if kind == "ARC":
        return _arc_pieces(math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360))
    return _arc_pieces(math.tau)


def _arc_pieces(turn: float) -> int:
    return max(1, math.ceil(turn / ARC_TURN))


def _path_pieces(path: Any) -> Iterator[Piece]:
    start = _point(path.start)
    for command in path.commands():
        stop = _point(command.end)
        if hasattr(command, "ctrl1"):
            yield start, _point(command.ctrl1), _point(command.ctrl2), stop
        elif start != stop:
            yield straight(start, stop)
        start = stop


def _spline_pieces(spline: BSpline) -> Iterator[Piece]:
    """A spline's spans as cubic pieces, each halved until it is close enough.

    Through four points of a span goes one cubic; of a cubic span it is that span exactly.
    A periodic spline's knots go on beyond its domain, where it is not to be followed.
    """
    knots, degree = list(spline.knots()), spline.degree
    inner = knots[degree : len(knots) - degree]
    corners = spline.control_points
    size = max(
        max(point.x for point in corners) - min(point.x for point in corners),
        max(point.y for point in corners) - min(point.y for point in corners),
    )
    evaluator = spline.evaluator

    def at(t: float) -> Point:
        return _point(evaluator.point(t))

    for first, last in pairwise(inner):
        if last > first:
            yield from fitted_pieces(at, first, last, SPLINE_ERROR * size, SPLINE_HALVINGS)


def fitted_pieces(
    at: Callable[[float], Point], first: float, last: float, error: float, halvings: int
) -> Iterator[Piece]:
    """Cubic pieces along a way between two of its parameters, within an error."""
    span = last - first
    a, b, c, d = (at(first + span * share) for share in (0.0, 1 / 3, 2 / 3, 1.0))
    piece = (
        a,
        (
            (-5 * a[0] + 18 * b[0] - 9 * c[0] + 2 * d[0]) / 6,
            (-5 * a[1] + 18 * b[1] - 9 * c[1] + 2 * d[1]) / 6,
        ),
        (
            (2 * a[0] - 9 * b[0] + 18 * c[0] - 5 * d[0]) / 6,
            (2 * a[1] - 9 * b[1] + 18 * c[1] - 5 * d[1]) / 6,
        ),
        d,
    )
    off = max(
        math.dist(at(first + span * share), _on(piece, share)) for share in (1 / 6, 1 / 2, 5 / 6)
    )
    if not off > error or halvings == 0:  # what is no number is not halved either
        yield piece
        return
    middle = first + span / 2
    yield from fitted_pieces(at, first, middle, error, halvings - 1)
    yield from fitted_pieces(at, middle, last, error, halvings - 1)


def _on(piece: Piece, t: float) -> Point:
    weights = ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3)
    return (
        sum(weight * point[0] for weight, point in zip(weights, piece, strict=True)),
        sum(weight * point[1] for weight, point in zip(weights, piece, strict=True)),
    )


def _flat(heights: list[float], entity: Any, layer: str) -> None:
    if heights and max(heights) - min(heights) > FLAT_TOLERANCE:
        raise Unreadable(
            f"has a curve that does not lie flat on the page: {entity.dxftype()} on layer "
            f"{quoted(layer)} rises by {max(heights) - min(heights):.4g}"
        )


def _point(point: Any) -> Point:
    return float(point[0]), float(point[1])
