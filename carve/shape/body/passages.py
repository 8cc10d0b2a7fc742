"""How wide the widest way for a wire is from one cavity of the body to another.

A way is as wide as the thickest ball that can be rolled along it. Of a ball of radius r the
middle may be anywhere in a cavity where its plan, r smaller all around, has ground. From there it
comes into the next cavity

- sideways, where both share a layer as high as the ball: over both plans together, r smaller; or
- up or down past a sill, where they share a layer of h, less than the ball: the sills stand h/2
  over and under its middle, so it passes where both plans, each sqrt(r^2 - h^2/4) smaller all
  around, have ground.

In a bore the middle may be as far from the axis as the bore's radius is more than r; through its
side a ball goes as out of a box within the bore, and down into it through the slit that it leaves
in a floor. The widest of all ways is then found by halves: the thicker a ball, the fewer cavities
are one for it. A way is never narrower than is said; it is wider where a ball would have
to lean on more than two cavities at once, or where a bore runs half under a floor.
"""

import heapq
import math
from collections import deque
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import count, pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array
from carve.shape.body.clearance import Clearance, place_of
from carve.shape.body.cuts import Cut, RoundBore
from carve.shape.body.shape import BodyShape

STEP = 0.01  # mm, to which a way's width is found
WIDEST = 6400  # steps; a way is not looked at for more
NARROWEST = 5  # steps; a narrower way is none
SLACK = 1e-3  # mm by which a ball is let through; a plan as wide as the ball has no ground left
FILLED = ("neck", "cover recess", "screw hole")
"""Kinds of cuts that something else lies in, so that no wire goes through them."""

PRISMS = (0.4, 0.7, 0.92)
"""Heights of boxes that a bore is taken for where a ball goes through its side, in its own."""

BEYOND = 500.0  # mm, further than any cavity reaches beyond a bore's end

Span = tuple[float, float]
"""Floor and ceiling of a cavity, mm."""

Node = tuple[int, int]
"""A place for the ball's middle: number of a cavity, and of the piece of ground in it."""


@dataclass(frozen=True)
class WireWay:
    """The widest way from one cavity to another.

    width: mm, 0 where there is none. target: number of the cavity that it reaches, or should.
    narrowest: numbers of the cavity, or of the two, where it is narrowest. between: where there
    is no way, the least wood to drill through. point: (3,) x, y, z in mm of the narrowest place,
    or of the thinnest of that wood.
    """

    width: float
    target: int
    narrowest: tuple[int, ...]
    between: tuple[Clearance, ...]
    point: tuple[float, float, float]


def open_to_wires(shape: BodyShape) -> tuple[int, ...]:
    """Numbers of the removals that wires may go through."""
    filled = (taken.kind in FILLED or taken.key.endswith(".bolts") for taken in shape.removals)
    return tuple(number for number, is_filled in enumerate(filled) if not is_filled)


class Ways:
    """All ways for wires through a body, each thickness of ball looked at once."""

    def __init__(self, shape: BodyShape) -> None:
        self._shape = shape
        self._open = open_to_wires(shape)
        known = set(self._open)
        self._walls = [w for w in shape.walls if w.one in known and w.other in known]
        self._tall = {number: _height(shape, number) for number in self._open}
        meeting = ((w.one, w.other) for w in self._walls if w.meets)
        self._spans = {pair: _spans(shape, *pair) for pair in meeting}
        self._found: dict[float, dict[Node, list[Node]]] = {}

    def widest(self, source: int, targets: Collection[int]) -> WireWay:
        """The widest way from a cavity to that of others which it reaches best, by number."""
        path = self._reached(NARROWEST * STEP, source, targets)
        if not path:
            return self._blocked(source, targets)
        low, high = NARROWEST, WIDEST
        while high - low > 1:
            middle = (low + high) // 2
            if wider := self._reached(middle * STEP, source, targets):
                low, path = middle, wider
            else:
                high = middle
        narrowest = self._narrowest(path, high * STEP)
        return WireWay(low * STEP, path[-1][0], narrowest, (), self._middle(narrowest))

    def passes(self, wide: float, source: int, targets: Collection[int]) -> bool:
        """Whether there is a way as wide as asked, in mm."""
        return bool(self._reached(wide, source, targets))

    def _reached(self, wide: float, source: int, targets: Collection[int]) -> list[Node]:
        """A way for a ball of a diameter in mm, node by node; empty where there is none."""
        links = self._links(wide)
        before: dict[Node, Node | None] = {node: None for node in links if node[0] == source}
        queue = deque(before)
        while queue:
            node = queue.popleft()
            if node[0] in targets:
                path = [node]
                while (last := before[path[-1]]) is not None:
                    path.append(last)
                return path[::-1]
            for other in links[node]:
                if other not in before:
                    before[other] = node
                    queue.append(other)
        return []

    def _links(self, wide: float) -> dict[Node, list[Node]]:
        """From each node the others that a ball of a diameter in mm comes to at once."""
        if wide not in self._found:
            radius = wide / 2 - SLACK
            grounds = {
                n: _pieces(_smaller(self._shape.within[n], radius))
                if self._tall[n] >= 2 * radius
                else []
                for n in self._open
            }
            links: dict[Node, list[Node]] = {
                (n, k): [] for n, pieces in grounds.items() for k in range(len(pieces))
            }
            for (one, other), spans in self._spans.items():
                for a, b in _linked(self._shape, (one, other), spans, grounds, radius):
                    links[one, a].append((other, b))
                    links[other, b].append((one, a))
            self._found[wide] = links
        return self._found[wide]

    def _narrowest(self, path: Sequence[Node], wide: float) -> tuple[int, ...]:
        """Where a thicker ball gets stuck: between which two cavities, or in which one."""
        links = self._links(wide)
        for number, _ in path:
            if not any(node[0] == number for node in links):
                return (number,)
        for (one, _), (other, _) in pairwise(path):
            ends = (end for node, ends in links.items() if node[0] == one for end in ends)
            if not any(end[0] == other for end in ends):
                return one, other
        return (path[len(path) // 2][0],)  # its ground falls apart there

    def _middle(self, numbers: Sequence[int]) -> tuple[float, float, float]:
        """A place in the opening between two cavities, or in the middle of one."""
        shape, plan = self._shape, self._shape.within[numbers[0]]
        for number in numbers[1:]:
            shared = shapely.intersection(plan, shape.within[number])
            plan = plan if shared.is_empty else shared
        at = shapely.point_on_surface(plan)
        spans = [_span(shape, number, at) for number in numbers]
        z = (max(low for low, _ in spans) + min(high for _, high in spans)) / 2
        return float(at.x), float(at.y), z

    def _blocked(self, source: int, targets: Collection[int]) -> WireWay:
        """What lies between, where there is no way: the least wood, from cavity to cavity."""
        shape, links = self._shape, self._links(NARROWEST * STEP)
        opened = {frozenset((node[0], end[0])) for node, ends in links.items() for end in ends}
        beside: dict[int, list[tuple[int, Clearance]]] = {n: [] for n in self._open}
        for wall in self._walls:
            beside[wall.one].append((wall.other, wall))
            beside[wall.other].append((wall.one, wall))
        # the way with the least wood in all (Dijkstra's), and of those the one of fewest steps
        queue: list[tuple[float, int, int, int, tuple[Clearance, ...]]] = [(0.0, 0, 0, source, ())]
        order = count(1)  # so that no two are alike before their walls would be compared
        done: set[int] = set()
        while queue:
            wood, steps, _, number, through = heapq.heappop(queue)
            if number in targets:
                if not through:  # a cavity in pieces that no ball goes between
                    return WireWay(0.0, number, (source,), (), self._middle((source,)))
                thickest = max(through, key=lambda wall: wall.wood)
                point = place_of(thickest, shape.removals, shape.within, shape.thickness)
                return WireWay(0.0, number, (), through, point)
            if number in done:
                continue
            done.add(number)
            for other, wall in beside[number]:
                if frozenset((number, other)) in opened:
                    step = (wood, steps + 1, next(order), other, through)
                else:
                    step = (wood + wall.wood, steps + 1, next(order), other, (*through, wall))
                heapq.heappush(queue, step)
        raise ValueError(f"cavity {source} has no other to reach among {sorted(targets)}")


def _pieces(ground: BaseGeometry) -> list[BaseGeometry]:
    return [part for part in shapely.get_parts(ground) if not part.is_empty]


def _smaller(plan: BaseGeometry, by: float) -> BaseGeometry:
    return plan if by <= 0 else plan.buffer(-by)


def _height(shape: BodyShape, number: int) -> float:
    """How thick a ball a cavity is high enough for somewhere, mm."""
    if isinstance(taken := shape.removals[number], RoundBore):
        return 2 * taken.radius
    low, high = _heights(shape, number, _around(shape.within[number]))
    return float((high - low).max())


def _spans(shape: BodyShape, one: int, other: int) -> list[Span]:
    """Floor and ceiling of two cavities over the ground they share."""
    shared = shapely.intersection(shape.within[one], shape.within[other])
    return [_span(shape, number, shared) for number in (one, other)]


def _around(plan: BaseGeometry) -> Array:
    """(n, 2) mm: places on a plan's rim, and one within."""
    inner = shapely.point_on_surface(plan)
    return np.vstack([shapely.get_coordinates(plan), [[inner.x, inner.y]]])


def _heights(shape: BodyShape, number: int, points: Array) -> tuple[Array, Array]:
    """(n,) and (n,): floor and ceiling of a cavity over points (n, 2), below faces and covers."""
    low, high = shape.removals[number].heights(points)
    low, high = np.maximum(low, shape.back_at(points)), np.minimum(high, shape.top_at(points))
    for cover in (cut for cut in shape.cuts if cut.kind == "cover recess"):
        under = shapely.intersects_xy(cover.polygon, *points.T)
        low = np.where(under & (cover.opens == "back"), np.maximum(low, cover.high), low)
        high = np.where(under & (cover.opens == "front"), np.minimum(high, cover.low), high)
    return low, high


def _span(shape: BodyShape, number: int, plan: BaseGeometry) -> Span:
    """Floor and ceiling of a cavity between which all of a part of its plan is free."""
    if isinstance(taken := shape.removals[number], RoundBore):
        return taken.axis - taken.radius, taken.axis + taken.radius
    low, high = _heights(shape, number, _around(plan))
    return float(low.max()), float(high.min())


def _linked(
    shape: BodyShape,
    pair: tuple[int, int],
    spans: Sequence[Span],
    grounds: dict[int, list[BaseGeometry]],
    radius: float,
) -> set[tuple[int, int]]:
    """Which pieces of ground of two cavities a ball goes between at once. radius: mm."""
    one, other = pair
    if not grounds[one] or not grounds[other]:
        return set()
    found: set[tuple[int, int]] = set()
    for ways in _openings(shape, pair, spans, radius):
        here, there = (
            [k for k, piece in enumerate(grounds[number]) if _touch(piece, way)]
            for number, way in zip(pair, ways, strict=True)
        )
        found |= {(a, b) for a in here for b in there}
        if len(found) == len(grounds[one]) * len(grounds[other]):
            break
    return found


def _touch(one: BaseGeometry, other: BaseGeometry) -> bool:
    return bool(shapely.dwithin(one, other, 2 * SLACK))


def _openings(
    shape: BodyShape, pair: tuple[int, int], spans: Sequence[Span], radius: float
) -> Iterator[tuple[BaseGeometry, BaseGeometry]]:
    """Where a ball goes from one cavity to the other: ground in both, in one piece. radius: mm."""
    taken = [shape.removals[number] for number in pair]
    plans = [shape.within[number] for number in pair]
    if not any(isinstance(one, RoundBore) for one in taken):
        yield from _upright_openings(plans, spans, radius)
        return
    yield from ((way, way) for way in _pieces(_along_bores(taken, plans, spans, radius)))
    for share in PRISMS:
        boxes = [
            (plan, span) if isinstance(one, Cut) else _box_in(one, plan, share)
            for one, plan, span in zip(taken, plans, spans, strict=True)
        ]
        yield from _upright_openings([plan for plan, _ in boxes], [s for _, s in boxes], radius)
    common = min(high for _, high in spans) - max(low for low, _ in spans)
    if common >= 0:
        # where one lies over the other the ball goes through what both leave of a level between
        level = _between(taken, spans)
        slit = shapely.intersection(*plans)
        for one in taken:
            if isinstance(one, RoundBore):
                slit = shapely.intersection(slit, _strip(one, _half_chord(one, level)))
        yield from ((way, way) for way in _pieces(_smaller(slit, radius)))


def _upright_openings(
    plans: Sequence[BaseGeometry], spans: Sequence[Span], radius: float
) -> Iterator[tuple[BaseGeometry, BaseGeometry]]:
    """The same between two upright cuts. plans, spans: of both."""
    common = min(high for _, high in spans) - max(low for low, _ in spans)
    if common < 0:
        return
    both = _smaller(shapely.union(*plans), radius)
    if common >= 2 * radius:
        yield from ((way, way) for way in _pieces(both))
        return
    if any(high - low < 2 * radius for low, high in spans):
        return
    sill = math.sqrt(max(radius**2 - common**2 / 4, 0.0))
    one, other = (_smaller(plan, sill) for plan in plans)
    # what lies between the sills is as wide as both plans together
    for piece in _pieces(shapely.intersection(shapely.intersection(one, other), both)):
        yield (
            shapely.union_all([part for part in _pieces(one) if _touch(part, piece)]),
            shapely.union_all([part for part in _pieces(other) if _touch(part, piece)]),
        )


def _box_in(bore: RoundBore, plan: BaseGeometry, share: float) -> tuple[BaseGeometry, Span]:
    """A box within a bore, its height such a share of the bore's: its plan and its span."""
    half = share * bore.radius
    strip = _strip(bore, _half_chord(bore, bore.axis + half))
    return shapely.intersection(plan, strip), (bore.axis - half, bore.axis + half)


def _along_bores(
    taken: Sequence[Cut | RoundBore],
    plans: Sequence[BaseGeometry],
    spans: Sequence[Span],
    radius: float,
) -> BaseGeometry:
    """Ground where a ball that moves along a bore is in the other cavity too, or comes into it."""
    level = _level(taken, spans, radius)
    if level is None:
        return shapely.Polygon()
    ground = _smaller(shapely.union(*plans), radius)
    for one in taken:
        if isinstance(one, RoundBore):
            give, off = one.radius - radius, abs(level - one.axis)
            if off > give + SLACK:
                return shapely.Polygon()
            aside = max(math.sqrt(max(give**2 - off**2, 0.0)), SLACK)
            # beyond its end as well: what is outside the bore there lies in the other
            ground = shapely.intersection(ground, _strip(one, aside, BEYOND))
    return ground


def _level(taken: Sequence[Cut | RoundBore], spans: Sequence[Span], radius: float) -> float | None:
    """A height at which a ball's middle is free in both, nearest to the bores' axes, or None."""
    low = max(low for low, _ in spans) + radius
    high = min(high for _, high in spans) - radius
    if low > high + SLACK:
        return None
    bores = [one for one in taken if isinstance(one, RoundBore)]
    wanted = bores[0].axis
    if len(bores) > 1:
        # of two bores the thinner one has less to give
        give = [max(bore.radius - radius, 0.0) for bore in bores]
        wanted += give[0] / max(sum(give), SLACK) * (bores[1].axis - bores[0].axis)
    return min(max(wanted, low), max(low, high))


def _strip(bore: RoundBore, half: float, beyond: float = 0.0) -> BaseGeometry:
    """A strip along a bore's axis, so far to either side, and beyond its end. half, beyond: mm."""
    first, last = -bore.before * bore.along, (bore.depth + beyond) * bore.along
    across = half * bore.aside
    return shapely.Polygon(
        bore.start + np.array([first - across, last - across, last + across, first + across])
    )


def _half_chord(bore: RoundBore, level: float) -> float:
    """Half of the bore's width in mm at a height in mm."""
    return math.sqrt(max(bore.radius**2 - (level - bore.axis) ** 2, 0.0))


def _between(taken: Sequence[Cut | RoundBore], spans: Sequence[Span]) -> float:
    """The height at which a bore opens widest into what lies over or under it.

    Into an upright cut that is at its floor or its ceiling, into another bore where both are
    equally wide.
    """
    a, b = taken
    if isinstance(a, RoundBore) and isinstance(b, RoundBore):
        apart = b.axis - a.axis
        if abs(apart) < SLACK:
            return a.axis
        even = a.axis + apart / 2 + (a.radius**2 - b.radius**2) / (2 * apart)
        return min(max(even, min(a.axis, b.axis)), max(a.axis, b.axis))
    bore, (low, high) = (a, spans[1]) if isinstance(a, RoundBore) else (b, spans[0])
    assert isinstance(bore, RoundBore)
    # a face beyond the axis leaves the bore its whole width
    return max(low, bore.axis) if (low + high) / 2 > bore.axis else min(high, bore.axis)
