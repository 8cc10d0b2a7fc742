"""What a drawing has where its outline and pockets are looked for, and what is not used of it."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from carve.design.derived.outline_choice import Named, is_chosen, on
from carve.design.drawing.chains import Loop, Open
from carve.design.schema.outline import OutlineFile
from carve.design.values.curve import Curve, Point, moved_pieces, moved_point
from carve.shape.outlines.placed import InDrawing, placed
from carve.shape.outlines.problems import Owner
from carve.shape.outlines.sound import CROSSING_TOLERANCE, region_of, same_region
from carve.shape.planar.curves import as_point, curve_extent

Lies = Literal["within", "outside", "open", "no curve"]
"""A closed curve within the outline or outside of it, an open one, or what is no curve at all."""


@dataclass(frozen=True)
class LeftOver:
    """Something that is shown in the drawing and not used.

    lies: what sort. kind: what it is, in words. name: its own, empty where it has none. layer: it
    lies on, empty where it lies on none. size: on the page, mm. shown: where, as the drawing
    program counts, mm. at: where, in the placed frame, mm. Each of these None where it has none.
    """

    lies: Lies
    kind: str
    name: str
    layer: str
    size: Point | None
    shown: Point | None
    at: Point | None


@dataclass(frozen=True)
class UsedOfDrawing:
    """What became of what a drawing has where it was looked for.

    left_over: what is not used, the largest first. hidden: reasons why something is not shown,
    and of how many. twice: curves that lie upon the outline, and count as one with it.
    """

    left_over: tuple[LeftOver, ...]
    hidden: tuple[tuple[str, int], ...]
    twice: int


def used_of_drawing(outline: OutlineFile, of: Owner, pockets: Sequence[str]) -> UsedOfDrawing:
    """What of an outline's drawing is used; nothing is left over where it has none.

    of: whose outline it is. pockets: layers whose closed curves are cut as pockets. What counts
    is what lies on the outline's layer, or has its id where the design asks for that; where it
    asks for neither, on the layer where the outline was found. Raises ShapeError as ``placed``.
    """
    found = placed(outline, of).drawing
    if found is None:
        return UsedOfDrawing((), (), 0)
    page = found.page

    def asked(one: Named) -> bool:
        if outline.layer is None and outline.curve is None:
            return one.layers == found.loop.layers
        return is_chosen(one, outline)

    def in_pocket(one: Named) -> bool:
        return any(on(one, layer) for layer in pockets)

    def centring(one: Named) -> bool:
        return outline.centre_layer is not None and on(one, outline.centre_layer)

    own = region_of(found.loop)
    left: list[LeftOver] = []
    twice = 0
    for loop in page.joined.loops:
        if loop is found.loop or in_pocket(loop) or centring(loop) or not asked(loop):
            continue
        region = region_of(loop)
        if same_region(region, own):
            twice += 1
        else:
            within = bool(own.contains(region))
            left.append(_curve(found, loop, "within" if within else "outside"))
    for way in page.joined.open:
        if asked(way) and not (in_pocket(way) or centring(way) or _is_centre_line(found, way)):
            left.append(_curve(found, way, "open"))
    for thing in page.no_curves:
        if (asked(thing) or in_pocket(thing)) and not centring(thing):
            shown = None if thing.at is None else page.shown(thing.at)
            at = None if thing.at is None else moved_point(thing.at, found.move)
            name, layer = next(iter(thing.names), ""), next(iter(thing.layers[::-1]), "")
            left.append(LeftOver("no curve", thing.kind, name, layer, None, shown, at))
    unseen = Counter(one.why for one in page.hidden if asked(one) or in_pocket(one))
    left.sort(key=lambda one: -max(one.size or (0.0,)))
    return UsedOfDrawing(tuple(left), tuple(unseen.items()), twice)


def _curve(found: InDrawing, one: Loop | Open, lies: Lies) -> LeftOver:
    low, high = curve_extent(Curve("", one.pieces))
    middle = as_point((low + high) / 2)
    return LeftOver(
        lies,
        "open curve" if lies == "open" else "closed curve",
        next(iter(one.names), ""),
        next(iter(one.layers[::-1]), ""),
        as_point(high - low),
        found.page.shown(middle),
        moved_point(middle, found.move),
    )


def _is_centre_line(found: InDrawing, way: Open) -> bool:
    """Whether a way runs straight along the instrument's centre line, as one drawn there does."""
    points = np.array(moved_pieces(way.pieces, found.move)).reshape(-1, 2)
    return bool(np.abs(points[:, 1]).max() < CROSSING_TOLERANCE)
