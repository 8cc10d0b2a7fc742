"""Which of a drawing's curves an outline's keys choose, and where its centre line runs.

Two sorts of functions stand here. ``page_of``, ``candidates``, ``hold_layer`` and ``hold_centre``
are for the rules: each problem is one sentence, and a place in it is where the drawing program
shows it. ``page_in_mm``, ``chosen``, ``on_layer`` and ``centre_line`` are for shapes, which are
made only of a design that the rules have passed: they refuse nothing.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from carve.design.drawing.chains import Joined, Loop, Open, joined_chains
from carve.design.drawing.model import (
    Chain,
    Drawn,
    Hidden,
    NoCurve,
    Unreadable,
    UnscaledBlock,
    listed_whys,
)
from carve.design.drawing.source import DrawingFile
from carve.design.schema.outline import WIDEST_GAP, OutlineFile
from carve.design.values.curve import Piece, Point, moved_pieces, moved_point
from carve.design.values.quote import quoted
from carve.design.values.units import MM_PER_UNIT, Unit, show_length
from carve.errors import DesignError

MOST_NAMED = 8  # layers or curves that a sentence lists
BEND_TOLERANCE = 0.01  # mm that a centre line may be bent

Named = Chain | Loop | Open | Hidden | NoCurve
"""What lies on layers and may have names."""

Laid = Named | UnscaledBlock
"""What lies on layers."""


@dataclass(frozen=True)
class DrawingPage:
    """A drawing in mm, y upward, and how its builder reads a place on it.

    file: its name. joined: of all its chains, gaps up to ``gap`` mm closed. y_down: whether the
    program counts y downward. named: its layers, those without a curve too. The rest is as
    ``Drawn`` has it, in mm.
    """

    file: str
    chains: tuple[Chain, ...]
    joined: Joined
    gap: float
    y_down: bool
    named: tuple[str, ...]
    hidden: tuple[Hidden, ...]
    no_curves: tuple[NoCurve, ...]
    unscaled: tuple[UnscaledBlock, ...]

    def show(self, point: Point, unit: Unit) -> str:
        """A place as the drawing program shows it, in words."""
        x, y = self.shown(point)
        return f"x {show_length(x, unit)}, y {show_length(y, unit)}"

    def shown(self, point: Point) -> Point:
        """A place as the drawing program shows it, mm."""
        x, y = point
        return x, -y if self.y_down else y


def page_of(outline: OutlineFile, key: str) -> DrawingPage:
    """The drawing of an outline in mm, its chains joined.

    Raises DesignError where its unit is not known, or said twice and not alike.
    """
    assert outline.file is not None
    assert outline.file.drawn is not None
    drawn = outline.file.drawn
    explicit = None if outline.unit is None else MM_PER_UNIT[outline.unit]
    if drawn.unit_mm is None and explicit is None:
        raise DesignError(
            [
                f"{key}.unit: missing; {quoted(outline.file.name)} doesn't say what its numbers "
                'are: write "mm" or "in"'
            ]
        )
    if (
        drawn.unit_mm is not None
        and explicit is not None
        and abs(explicit / drawn.unit_mm - 1) > 1e-6
    ):
        raise DesignError(
            [
                f"{key}.unit: {quoted(outline.unit)} is not what {quoted(outline.file.name)} says "
                f"of itself, that a unit is {drawn.unit_mm:.6g} mm; leave it out"
            ]
        )
    try:
        return page_in_mm(outline)
    except Unreadable as error:
        raise DesignError([f"{key}.file: {quoted(outline.file.name)} {error}"]) from None


def page_in_mm(outline: OutlineFile) -> DrawingPage:
    """The same, of an outline whose unit is known."""
    assert outline.file is not None
    assert outline.file.drawn is not None
    # what a drawing says of its unit has been heeded as it was read
    unit: Unit = "mm" if outline.file.drawn.unit_mm is not None else outline.unit or "mm"
    return _page(outline.file, MM_PER_UNIT[unit], outline.gap)


# A drawing is scaled and joined once, whatever dial of the instrument turns.
@lru_cache(maxsize=8)
def _page(file: DrawingFile, scale: float, gap: float) -> DrawingPage:
    drawn: Drawn | None = file.drawn
    assert drawn is not None
    chains, no_curves = drawn.chains, drawn.no_curves
    if scale != 1:
        move = (scale, 0.0, 0.0, scale, 0.0, 0.0)
        chains = tuple(
            Chain(chain.layers, chain.names, moved_pieces(chain.pieces, move)) for chain in chains
        )
        no_curves = tuple(
            replace(one, at=None if one.at is None else moved_point(one.at, move))
            for one in no_curves
        )
    return DrawingPage(
        file.name,
        chains,
        joined_chains(chains, gap),
        gap,
        drawn.y_down,
        drawn.named,
        drawn.hidden,
        no_curves,
        drawn.unscaled,
    )


def candidates(
    page: DrawingPage, outline: OutlineFile, key: str, unit: Unit = "mm"
) -> tuple[Loop, ...]:
    """The closed curves that the outline's keys allow for; at least one.

    key: where its table stands. Raises DesignError where there is no such layer or curve, or
    where one is open.
    """
    if outline.layer is not None:
        _hold_to_layers(page, outline.layer, f"{key}.layer")
    if outline.curve is None:  # what a block repeats has no name to be chosen by
        _hold_to_units(page, outline.layer, f"{key}.file")
    loops = chosen(page, outline)
    left = [way for way in page.joined.open if is_chosen(way, outline)]
    if outline.layer is None and outline.curve is None:
        # where nothing is chosen, only a way larger than all that is closed was the outline
        largest = max(map(_extent, loops), default=0.0)
        left = [way for way in left if not _is_straight(way) and _extent(way) > largest]
    if left:
        raise DesignError([_said_open(page, f"{key}.file", max(left, key=_extent), unit)])
    if not loops and outline.curve is None:
        where = f"layer {quoted(outline.layer)}" if outline.layer else "the drawing"
        unseen = [one for one in page.hidden if is_chosen(one, outline)]
        besides = f"; {_count(unseen, 'curve')} not shown: {listed_whys(unseen)}" if unseen else ""
        raise DesignError([f"{key}.file: {where} holds no closed curve{besides}"])
    if not loops:
        unseen = [one for one in page.hidden if is_chosen(one, outline)]
        if unseen:
            raise DesignError(
                [
                    f"{key}.curve: {quoted(page.file)} does not show the curve "
                    f"{quoted(outline.curve)}: {listed_whys(unseen)}; show it there, or name "
                    "another"
                ]
            )
        here = [one for one in page.chains if outline.layer is None or on(one, outline.layer)]
        names = [name for chain in here for name in chain.names]
        raise DesignError(
            [f"{key}.curve: no curve {quoted(outline.curve)} in the drawing; {_listed(names)}"]
        )
    return loops


def chosen(page: DrawingPage, outline: OutlineFile) -> tuple[Loop, ...]:
    """The closed curves that the outline's keys allow for, as many as there are."""
    return tuple(loop for loop in page.joined.loops if is_chosen(loop, outline))


def is_chosen(one: Named, outline: OutlineFile) -> bool:
    """Whether something lies where the outline's keys ask for it, and is called as they say."""
    return (outline.layer is None or on(one, outline.layer)) and (
        outline.curve is None or outline.curve in one.names
    )


def hold_layer(page: DrawingPage, layer: str, key: str, unit: Unit = "mm") -> None:
    """Raises DesignError where there is no such layer, or where a curve on it is open.

    key: the one that asks for the layer.
    """
    _hold_to_layers(page, layer, key)
    _hold_to_units(page, layer, key)
    left = [way for way in page.joined.open if on(way, layer)]
    if left:
        raise DesignError([_said_open(page, key, max(left, key=_extent), unit)])


def on_layer(page: DrawingPage, layer: str) -> tuple[Loop, ...]:
    """The closed curves of one layer, as many as there are."""
    return tuple(loop for loop in page.joined.loops if on(loop, layer))


def _hold_to_layers(page: DrawingPage, layer: str, key: str) -> None:
    """Refuse a layer that the drawing doesn't have, or has with nothing on it."""
    if any(on(chain, layer) for chain in page.chains):
        return
    if unseen := [one for one in page.hidden if on(one, layer)]:
        raise DesignError(
            [
                f"{key}: {quoted(page.file)} does not show what layer {quoted(layer)} holds: "
                f"{listed_whys(unseen)}; show it there, or name another layer"
            ]
        )
    if layer.casefold() in (name.casefold() for name in page.named):
        raise DesignError([f"{key}: layer {quoted(layer)} holds no lines and no curves"])
    there = [name for chain in page.chains for name in chain.layers]
    raise DesignError([f"{key}: no layer {quoted(layer)} in the drawing; {_listed(there)}"])


def _hold_to_units(page: DrawingPage, layer: str | None, key: str) -> None:
    """Refuse a block of a layer, or of any, whose size is in doubt."""
    for block in page.unscaled:
        if layer is None or on(block, layer):
            by = f" by {block.factor:.6g}" if block.factor else ""
            raise DesignError(
                [
                    f"{key}: in {quoted(page.file)} the block {quoted(block.name)} counts in "
                    f"{block.unit}, but is inserted without a scale where {block.into} count; "
                    f"scale it{by} in the drawing, or give the block its drawing's unit"
                ]
            )


def _count(things: Sequence[object], name: str) -> str:
    return f"{len(things)} {name}{'s are' if len(things) > 1 else ' is'}"


def _said_open(page: DrawingPage, key: str, way: Open, unit: Unit) -> str:
    end = 0 if way.away[0] <= way.away[1] else 1
    place, away = page.show(way.ends[end], unit), way.away[end]
    where = f"layer {quoted(way.layers[-1])}" if way.layers else "the drawing"
    if math.isinf(away):
        how = "and nothing goes on from there"
    elif away <= page.gap:
        how = "more than two ends meet there, and only two can be joined"
    else:
        how = f"the next end is {show_length(away, unit)} away"
    unseen = {one.why for one in page.hidden if one.layers == way.layers}
    if unseen:
        how += f", but there is more that the drawing does not show ({sorted(unseen)[0]})"
    wider = ", or let a wider `gap` be closed" if page.gap < away <= WIDEST_GAP else ""
    return f"{key}: {where} is open at {place}: {how}; close it in the drawing{wider}"


def hold_centre(page: DrawingPage, layer: str, key: str) -> None:
    """Raises DesignError where the layer isn't there or holds anything but one straight line."""
    _hold_to_layers(page, layer, f"{key}.centre_layer")
    _hold_to_units(page, layer, f"{key}.centre_layer")
    start, stop = centre_line(page, layer)
    points = [point for piece in _pieces_on(page, layer) for point in piece]
    if math.dist(start, stop) < 1 or max(_aside(p, start, stop) for p in points) > BEND_TOLERANCE:
        raise DesignError(
            [
                f"{key}.centre_layer: layer {quoted(layer)} holds more than one straight line; "
                "put the centre line, and nothing else, on a layer of its own"
            ]
        )


def centre_line(page: DrawingPage, layer: str) -> tuple[Point, Point]:
    """Both ends of the centre line, mm on the page: the furthest points of what the layer holds."""
    pieces = _pieces_on(page, layer)
    points = [point for piece in pieces for point in piece]
    start, stop = max(
        ((a, b) for a in (pieces[0][0], pieces[0][3]) for b in points),
        key=lambda pair: math.dist(*pair),
    )
    start = max(points, key=lambda point: math.dist(point, stop))
    return start, stop


def _pieces_on(page: DrawingPage, layer: str) -> list[Piece]:
    return [piece for chain in page.chains if on(chain, layer) for piece in chain.pieces]


def _aside(point: Point, start: Point, stop: Point) -> float:
    """How far a point lies from the line through two others, mm."""
    (px, py), (ax, ay), (bx, by) = point, start, stop
    return abs((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / math.dist(start, stop)


def on(one: Laid, layer: str) -> bool:
    """Whether it lies on a layer; the case of letters doesn't count, as DXF has it."""
    return layer.casefold() in (name.casefold() for name in one.layers)


def _is_straight(way: Open) -> bool:
    """Whether it is a straight line, as a centre line or a measure's is."""
    start, stop = way.ends
    if math.dist(start, stop) < BEND_TOLERANCE:
        return False
    return all(
        _aside(point, start, stop) < BEND_TOLERANCE for piece in way.pieces for point in piece
    )


def _extent(way: Open | Loop) -> float:
    """The longer side of the box around it, mm."""
    xs, ys = zip(*(point for piece in way.pieces for point in piece), strict=True)
    return float(max(max(xs) - min(xs), max(ys) - min(ys)))


def _listed(names: list[str]) -> str:
    there = list(dict.fromkeys(names))
    if not there:
        return "it has none"
    more = f" and {len(there) - MOST_NAMED} more" if len(there) > MOST_NAMED else ""
    return f"there are {', '.join(map(quoted, there[:MOST_NAMED]))}{more}"
