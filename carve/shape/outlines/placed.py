"""An outline placed in the instrument: from the builder's page, or from points.

``frame`` tells how it lies there, ``sound`` what it must be.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import shapely

from carve.design.derived.outline_choice import (
    DrawingPage,
    chosen,
    is_chosen,
    on_layer,
    page_in_mm,
)
from carve.design.drawing.chains import Gap, Loop
from carve.design.drawing.model import listed_whys
from carve.design.schema.outline import OutlineFile
from carve.design.values.curve import Curve, Move, Point, closed_polygon, moved_pieces
from carve.design.values.tolerances import TINY
from carve.errors import ShapeError
from carve.shape.outlines.frame import move_to_frame
from carve.shape.outlines.problems import (
    CurveNarrow,
    CurveOutside,
    CurveWithin,
    NeighboursAlike,
    NoDrawing,
    OutlineAlone,
    Owner,
)
from carve.shape.outlines.sound import (
    CROSSING_TOLERANCE,
    hold_to_length,
    outermost,
    region_of,
    sound,
)
from carve.shape.planar.curves import through

SMALLEST_POCKET = 1.0  # mm; less is no hole that is drilled


@dataclass(frozen=True)
class Inner:
    """A closed curve within an outline, such as a pocket's. layer: of the drawing."""

    layer: str
    curve: Curve


@dataclass(frozen=True)
class PlacedOutline:
    """An outline and what lies in it, in the placed frame. All in mm.

    outline: the closed curve. inner: the other closed curves of its drawing that lie in it.
    gaps: those of the outline's own layer that were closed, places as on the page, y upward.
    drawing: where it lies in its drawing, None where there is none.
    """

    outline: Curve
    inner: tuple[Inner, ...] = ()
    gaps: tuple[Gap, ...] = ()
    drawing: "InDrawing | None" = field(default=None, repr=False, compare=False)

    def on(self, layer: str) -> tuple[Curve, ...]:
        """The curves within the outline that lie on a layer; the case of letters doesn't count."""
        return tuple(one.curve for one in self.inner if one.layer.casefold() == layer.casefold())


@dataclass(frozen=True, eq=False)
class InDrawing:
    """An outline's loop on its page, and the move that places what is on the page."""

    page: DrawingPage
    loop: Loop
    move: Move

    def placed(self, loop: Loop) -> Curve:
        """A curve of the page in the placed frame."""
        return Curve(loop.name, moved_pieces(loop.pieces, self.move))


# An outline and its pockets are asked for by shapes and by findings at every turn of a dial,
# and change only with the drawing or its own keys: that one is remembered here.
@lru_cache(maxsize=8)
def placed(outline: OutlineFile, of: Owner) -> PlacedOutline:
    """The outline that a table of the design means, one that the rules have passed.

    of: whose it is; a headstock lies on the other side of its joint than a body.
    Raises ShapeError where the drawing doesn't hold what it should.
    """
    if outline.points is not None:
        _hold_apart(outline.points, of)
        make = through if outline.smooth else closed_polygon
        return PlacedOutline(sound(make(of, outline.points), of, None))
    found = _found(outline, of)
    layer = found.loop.layers[-1] if found.loop.layers else ""
    gaps = tuple(gap for gap in found.page.joined.gaps if gap.layer == layer)
    return PlacedOutline(found.placed(found.loop), _inner(found), gaps, found)


def _hold_apart(points: Sequence[Point], of: Owner) -> None:
    """Raises ShapeError where two points that follow one another are the same."""
    for number, (one, other) in enumerate(zip(points, (*points[1:], points[0]), strict=True)):
        if one == other:
            raise ShapeError(NeighboursAlike(of, number + 1, (number + 1) % len(points) + 1))


def _found(outline: OutlineFile, of: Owner) -> InDrawing:
    page = page_in_mm(outline)
    loop = outermost(chosen(page, outline), page, outline, of)
    curve = sound(Curve(loop.name, loop.pieces), of, page)
    found = InDrawing(page, loop, move_to_frame(page, curve, outline, of))
    unseen = listed_whys(one for one in page.hidden if is_chosen(one, outline))
    hold_to_length(found.placed(loop), outline, of, unseen)
    return found


def _inner(found: InDrawing) -> tuple[Inner, ...]:
    """The drawing's closed curves that lie within the outline, as placed."""
    enclosed = region_of(found.loop)
    shapely.prepare(enclosed)  # looked at once for each curve of the drawing
    inner = []
    for loop in found.page.joined.loops:
        if loop is not found.loop and enclosed.contains(region_of(loop)):
            inner.append(Inner(loop.layers[-1] if loop.layers else "", found.placed(loop)))
    return tuple(inner)


@lru_cache(maxsize=32)
def curves_on_layer(outline: OutlineFile, layer: str, of: Owner, where: str) -> tuple[Curve, ...]:
    """The closed curves of one layer of an outline's drawing, in the placed frame.

    They may run out over the outline's edge, as a neck pocket does. of: whose outline it is.
    where: of the pocket that asks for them, to be given back in a problem. At least one. Raises
    ShapeError where none is there, a curve crosses itself, or one lies outside the outline or
    within another of them.
    """
    found = placed(outline, of).drawing
    if found is None:
        raise ShapeError(NoDrawing(where, layer, of))
    loops = [loop for loop in on_layer(found.page, layer) if loop is not found.loop]
    if not loops:
        raise ShapeError(OutlineAlone(where, layer))
    enclosed, regions = region_of(found.loop), [region_of(loop) for loop in loops]
    for number, (loop, region) in enumerate(zip(loops, regions, strict=True)):
        sound(Curve(loop.name, loop.pieces), of, found.page, SMALLEST_POCKET, where)
        at = found.page.shown(loop.pieces[0][0])
        if not enclosed.intersects(region):
            raise ShapeError(CurveOutside(where, layer, at))
        if region.buffer(-TINY / 2).is_empty:
            raise ShapeError(CurveNarrow(where, layer, at, TINY))
        others = (other for one, other in enumerate(regions) if one != number)
        if any(_within(region, other) for other in others):
            raise ShapeError(CurveWithin(where, layer, at))
    return tuple(found.placed(loop) for loop in loops)


def _within(region: shapely.Geometry, other: shapely.Geometry) -> bool:
    """Whether a region lies in another one, or is the same but for the pen's width."""
    if not region.intersects(other):
        return False
    return bool(shapely.difference(region, other.buffer(CROSSING_TOLERANCE)).is_empty)


def behind_nut(curve: Curve) -> Curve:
    """A headstock's placed outline in the instrument's frame, where it lies at x below 0."""
    return Curve(curve.name, moved_pieces(curve.pieces, (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)))
