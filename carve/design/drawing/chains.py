"""Chains that meet end to end, joined into closed curves; what stays open, and where."""

import heapq
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from carve.design.drawing.model import Chain, Unreadable
from carve.design.values.curve import Piece, Point, between_ends, turned_round

MEETING = 0.001  # mm; ends so close are one point, and what is between them is rounding

MOST_MEETINGS = 500_000  # pairs of ends that may be one; two thousand ends at one place


@dataclass(frozen=True)
class Gap:
    """A small gap that was closed. layer: where. x, y: mm on the page, y upward. width: mm."""

    layer: str
    x: float
    y: float
    width: float


@dataclass(frozen=True)
class Loop:
    """A closed curve of the drawing. layers, names: as a chain has them."""

    layers: tuple[str, ...]
    names: tuple[str, ...]
    pieces: tuple[Piece, ...]

    @property
    def name(self) -> str:
        """What to call it in a sentence."""
        return next(iter((*self.layers[::-1], *self.names)), "curve")


@dataclass(frozen=True)
class Open:
    """A chain that doesn't close.

    pieces: joined as far as they go. ends: where it stops, mm on the page. free: every open end
    there is on its layer, its own among them.
    """

    layers: tuple[str, ...]
    names: tuple[str, ...]
    pieces: tuple[Piece, ...]
    ends: tuple[Point, Point]
    free: tuple[Point, ...] = field(repr=False, compare=False)

    @property
    def away(self) -> tuple[float, float]:
        """From either end to the nearest other open one, mm; infinite where there is none."""
        first, last = (_away(end, self.free) for end in self.ends)
        return first, last


@dataclass(frozen=True)
class Joined:
    """What became of the chains of a drawing."""

    loops: tuple[Loop, ...]
    gaps: tuple[Gap, ...]
    open: tuple[Open, ...]


def joined_chains(chains: Sequence[Chain], gap: float) -> Joined:
    """Join chains that lie on the same layer and meet end to end.

    chains: in mm. gap: mm that their ends may be apart. Ends that are nearest to each other
    are joined first. A chain drawn twice counts once, and one without any length not at all.
    Raises Unreadable where so many ends lie together that it would take for ever.
    """
    by_layer: dict[tuple[str, ...], list[Chain]] = defaultdict(list)
    for chain in chains:
        start = chain.pieces[0][0]
        if any(point != start for piece in chain.pieces for point in piece):
            by_layer[chain.layers].append(chain)
    loops: list[Loop] = []
    gaps: list[Gap] = []
    left: list[Open] = []
    for layers, members in by_layer.items():
        for way, closed, free in _ways(_once(members), gap):
            names = tuple(dict.fromkeys(name for chain in way for name in chain.names if name))
            pieces, mended = _mended([chain.pieces for chain in way], closed)
            layer = layers[-1] if layers else ""
            gaps += [Gap(layer, x, y, width) for (x, y), width in mended if width > MEETING]
            if closed:
                loops.append(Loop(layers, names, pieces))
            else:
                left.append(Open(layers, names, pieces, (pieces[0][0], pieces[-1][3]), free))
    return Joined(tuple(loops), tuple(gaps), tuple(left))


def _once(chains: Sequence[Chain]) -> list[Chain]:
    """Chains without those drawn twice, either way round."""

    def rounded(pieces: Sequence[Piece]) -> tuple[tuple[float, ...], ...]:
        return tuple(tuple(round(v, 4) for point in piece for v in point) for piece in pieces)

    seen: dict[Any, Chain] = {}
    for chain in chains:
        key = min(rounded(chain.pieces), rounded(turned_round(chain.pieces)))
        seen.setdefault(key, chain)
    return list(seen.values())


End = tuple[int, bool]
"""A chain by its number, and whether its last end is meant."""


def _ways(
    chains: Sequence[Chain], gap: float
) -> Iterator[tuple[list[Chain], bool, tuple[Point, ...]]]:
    """Chains in the order they follow one another, whether closed, and all ends left open."""
    partner = _partners(chains, gap)
    free = tuple(_end(chains, end) for end in _ends(chains) if end not in partner)
    used: set[int] = set()
    starts = [end for end in _ends(chains) if end not in partner]  # open ways from their ends
    for end in starts + [end for end in _ends(chains) if not end[1]]:
        if end[0] in used:
            continue
        way, at = [], end
        while True:
            number, last = at
            used.add(number)
            chain = chains[number]
            way.append(_reversed(chain) if last else chain)
            leaving = (number, not last)
            following = partner.get(leaving)
            if following is None or following[0] in used:
                break
            at = following
        closed = partner.get(leaving) == end
        yield way, closed, free


def _ends(chains: Sequence[Chain]) -> list[End]:
    return [(number, last) for number in range(len(chains)) for last in (False, True)]


def _end(chains: Sequence[Chain], end: End) -> Point:
    pieces = chains[end[0]].pieces
    return pieces[-1][3] if end[1] else pieces[0][0]


def _reversed(chain: Chain) -> Chain:
    return Chain(chain.layers, chain.names, turned_round(chain.pieces))


def _away(point: Point, free: Sequence[Point]) -> float:
    """How far the nearest other free end is; the end itself is among them once."""
    nearest = heapq.nsmallest(2, (math.dist(point, other) for other in free))
    return nearest[1] if len(nearest) > 1 else math.inf


def _partners(chains: Sequence[Chain], gap: float) -> dict[End, End]:
    """Which end goes on at which, nearest first."""
    reach = max(gap, MEETING)
    cells: dict[tuple[int, int], list[End]] = defaultdict(list)
    for end in _ends(chains):
        x, y = _end(chains, end)
        cells[math.floor(x / reach), math.floor(y / reach)].append(end)
    pairs: list[tuple[float, End, End]] = []
    for (i, j), members in cells.items():
        around = [
            end for a in (-1, 0, 1) for b in (-1, 0, 1) for end in cells.get((i + a, j + b), ())
        ]
        for one in members:
            for other in around:
                if one < other and not _a_speck(chains, one, other, reach):
                    away = math.dist(_end(chains, one), _end(chains, other))
                    if away <= reach:
                        pairs.append((away, one, other))
                if len(pairs) > MOST_MEETINGS:
                    raise Unreadable(
                        f"has more than {MOST_MEETINGS} pairs of ends within {reach:g} mm of each "
                        "other; leave out what is no outline, or make `gap` less"
                    )
    partner: dict[End, End] = {}
    for _, one, other in sorted(pairs):
        if one not in partner and other not in partner:
            partner[one], partner[other] = other, one
    return partner


def _a_speck(chains: Sequence[Chain], one: End, other: End, reach: float) -> bool:
    """Whether both ends belong to one chain that is no longer than the gap itself."""
    if one[0] != other[0]:
        return False
    start = _end(chains, one)
    return all(math.dist(start, p) <= reach for piece in chains[one[0]].pieces for p in piece)


def _mended(
    runs: Sequence[tuple[Piece, ...]], closed: bool
) -> tuple[tuple[Piece, ...], list[tuple[Point, float]]]:
    """Runs as one, ends that meet put half way between them, and where that was how wide."""
    pieces = [piece for run in runs for piece in run]
    places = []
    for number in range(0 if closed else 1, len(pieces)):
        before, after = pieces[number - 1], pieces[number]
        (ax, ay), (bx, by) = before[3], after[0]
        if (ax, ay) == (bx, by):
            continue
        middle = (ax + bx) / 2, (ay + by) / 2
        places.append((middle, math.dist((ax, ay), (bx, by))))
        if len(pieces) == 1:
            pieces[0] = between_ends(pieces[0], middle, middle)
            break
        pieces[number - 1] = between_ends(before, before[0], middle)
        pieces[number] = between_ends(after, middle, after[3])
    return tuple(pieces), places
