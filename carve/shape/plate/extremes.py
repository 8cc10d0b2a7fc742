"""The extremes of a height over a grid: its highest point, its tops, and the hollows of sections.

How much a top stands out is its *prominence*: its height above the highest pass to a higher top.
Of a function on a grid that is exact. Each place goes up to its highest neighbour until it is on
a top; two tops whose slopes meet are joined by the pass where they meet; and passes are crossed
from the highest down, at each of which the lower top ends (persistent homology of dimension 0,
Edelsbrunner and Harer, Computational Topology, 2010, chapter VII; from memory).

A groove whose floor falls all along has no lowest place, so tops and pits do not show it. A
section across it does: there water would stand between its banks, as deep as the prominence of
its bottom.
"""

from dataclasses import dataclass

import numpy as np

from carve.arrays import Array, BoolArray, IntArray
from carve.shape.plate.relief import Extreme, Relief

CLOSER = 3  # times the highest point is looked for more closely
PLACES = 17  # along a side of the grid on which it is
ROUNDING = 1e-9  # mm
PART = 1e5  # mm between the heights of two pieces of a section; no plate is as high
AROUND = 0  # the first place of a frame stands for all that lies around
HALVES = ((0, 1), (1, -1), (1, 0), (1, 1))  # steps to half of the eight places around one


def highest_point(surface: Relief, x: Array, y: Array, z: Array, within: BoolArray) -> Extreme:
    """The highest point in mm of a surface, found on a grid and then ever closer around.

    x: (n,), y: (m,) mm, evenly spaced. z: (n, m) mm there. within: (n, m) which places count.
    """
    i, j = np.unravel_index(int(np.argmax(np.where(within, z, -np.inf))), z.shape)
    best = Extreme(float(z[i, j]), (float(x[i]), float(y[j])))
    half = float(x[1] - x[0])
    for _ in range(CLOSER):
        along, across = (at + np.linspace(-half, half, PLACES) for at in best.at)
        near = surface.grid(along, across)
        i, j = np.unravel_index(int(np.argmax(near)), near.shape)
        if near[i, j] > best.value:
            best = Extreme(float(near[i, j]), (float(along[i]), float(across[j])))
        half *= 2 / (PLACES - 1)
    return best


@dataclass(frozen=True)
class Top:
    """A place higher than all around it. row, column: on the grid. prominence: mm."""

    row: int
    column: int
    prominence: float


def tops(z: Array, within: BoolArray, base: float) -> list[Top]:
    """The tops of heights z (n, m) mm, the most prominent first.

    within: (n, m) which places there are. base: mm, the height to which a top's prominence is
    counted where no way leads to a higher one.
    """
    return _tops(z, within, base, shore=False)


def pits(z: Array, within: BoolArray) -> list[Top]:
    """The pits of heights z (n, m) mm, the deepest first, as tops of the surface upside down.

    within: (n, m) which places there are; over their edge all runs off.
    """
    return _tops(-z, within, -np.inf, shore=True)


def _tops(z: Array, within: BoolArray, base: float, *, shore: bool) -> list[Top]:
    """shore: whether what lies around counts, as one top that is higher than all."""
    rows, columns = (count + 2 for count in z.shape)
    framed = np.full((rows, columns), -np.inf)
    np.copyto(framed[1:-1, 1:-1], z, where=within)
    found = _local(framed, within, np.inf if shore else -np.inf)
    if not len(found):
        return []
    if len(found) == 1 and not shore:  # as of a fair plate
        row, column = found[0].tolist()
        return [Top(row, column, float(z[row, column]) - base)]
    heights = framed.ravel()
    there = np.flatnonzero(np.isfinite(heights))
    # equal heights have an order too, so that a flat has one top
    rank = np.zeros(heights.size, dtype=np.int64)
    rank[there[np.argsort(heights[there], kind="stable")]] = np.arange(1, len(there) + 1)
    if shore:
        rank[~np.isfinite(heights)] = heights.size
        heights[AROUND] = np.inf
    steps = [i * columns + j for i, j in HALVES]
    summits = _summits(rank, there, steps)
    every = np.unique(summits[there])
    prominences = _prominences(heights, rank, summits, steps) if len(every) > 1 else {}
    told = [
        Top(top // columns - 1, top % columns - 1, prominences.get(top, float(heights[top]) - base))
        for top in every.tolist()
        if not (shore and top == AROUND)
    ]
    return sorted(told, key=lambda top: -top.prominence)


def _local(framed: Array, within: BoolArray, around: float) -> IntArray:
    """(k, 2) rows and columns of the places that are higher than their neighbours.

    Of equal ones the last counts as the highest. around: mm, what lies beside.
    """
    heights = np.where(np.isfinite(framed), framed, around)
    here = heights[1:-1, 1:-1]
    local = within.copy()
    for i, j in HALVES:
        after = heights[1 + i : heights.shape[0] - 1 + i, 1 + j : heights.shape[1] - 1 + j]
        before = heights[1 - i : heights.shape[0] - 1 - i, 1 - j : heights.shape[1] - 1 - j]
        local &= (here > after) & (here >= before)
    return np.argwhere(local)


def _summits(rank: IntArray, there: IntArray, steps: list[int]) -> IntArray:
    """(size,) the top to which one comes from each place by its highest neighbours, -1 beside."""
    best = there.copy()
    for step in (*steps, *(-step for step in steps)):
        best = np.where(rank[there + step] > rank[best], there + step, best)
    best[rank[best] == rank.size] = AROUND
    up = np.full(rank.size, -1, dtype=np.int64)
    up[AROUND] = AROUND
    up[there] = best
    while True:
        further = up[up[there]]
        if np.array_equal(further, up[there]):
            up[AROUND] = -1
            return up
        up[there] = further


def _prominences(
    heights: Array, rank: IntArray, summits: IntArray, steps: list[int]
) -> dict[int, float]:
    """Mm of prominence of each top from which a way leads to a higher one."""
    leader: dict[int, int] = {}

    def highest(top: int) -> int:
        while top in leader:
            top = leader[top]
        return top

    found: dict[int, float] = {}
    for a, b, z in _passes(heights, summits, steps):
        lower, higher = sorted((highest(a), highest(b)), key=lambda top: int(rank[top]))
        if lower != higher:
            leader[lower] = higher
            found[lower] = float(heights[lower]) - z
    return found


def _passes(heights: Array, summits: IntArray, steps: list[int]) -> list[tuple[int, int, float]]:
    """Of each two tops whose slopes meet these two and mm of the highest pass, from that down."""
    pairs, passes = [], []
    for step in steps:
        here = np.flatnonzero(summits[:-step] >= 0)
        a, b = summits[here], summits[here + step]
        apart = (b >= 0) & (a != b)
        pairs.append(np.sort(np.stack([a[apart], b[apart]]), axis=0))
        passes.append(np.minimum(heights[here], heights[here + step])[apart])
    (a, b), z = np.concatenate(pairs, axis=1), np.concatenate(passes)
    down = np.argsort(-z, kind="stable")
    _, first = np.unique(a[down] * heights.size + b[down], return_index=True)
    highest = down[np.sort(first)]
    return list(zip(a[highest].tolist(), b[highest].tolist(), z[highest].tolist(), strict=True))


@dataclass(frozen=True, eq=False)
class Hollows:
    """Where water would stand in the sections along the rows of a grid.

    Of each of k hollows: depth: (k,) mm. row: (k,) of its section. first, bottom, last: (k,)
    columns of its lower bank, or the place next to it, on either side, and of its lowest place.
    """

    depth: Array
    row: IntArray
    first: IntArray
    bottom: IntArray
    last: IntArray


def hollows(z: Array, within: BoolArray, least: float) -> Hollows:
    """The hollows of the sections along the rows of heights z (n, m) mm.

    within: (n, m) which places there are; where there are none a section is parted. least: mm,
    more than 0, a hollow is deeper than that.
    """
    water = standing_water(z, within)
    columns = z.shape[1]
    wet = (water > ROUNDING).ravel()  # a piece of a section has no water at its ends
    change = np.flatnonzero(wet[1:] != wet[:-1])
    first, last = change[::2], change[1::2] + 1
    if not len(first):
        return Hollows(np.zeros(0), *(np.zeros(0, dtype=np.int64) for _ in range(4)))
    flat = water.ravel()
    depth = np.maximum.reduceat(flat, np.stack([first, last], axis=1).ravel())[::2]
    deep = depth > least
    depth, first, last = depth[deep], first[deep], last[deep]
    bottom = np.array(
        [a + int(np.argmax(flat[a:b])) for a, b in zip(first, last, strict=True)], dtype=np.int64
    )
    return Hollows(
        depth,
        first // columns,
        first % columns,
        bottom % columns,
        last - columns * (first // columns),
    )


def standing_water(z: Array, within: BoolArray) -> Array:
    """(n, m) mm of water that would stand in the sections along the rows of heights z (n, m) mm.

    within: (n, m) which places there are; at the ends of each piece of a section it runs off.
    """
    starts = within.copy()
    starts[:, 1:] &= ~within[:, :-1]
    piece = np.cumsum(starts, axis=1)
    sides = []
    for there, lift in ((slice(None), PART * piece), (slice(None, None, -1), -PART * piece)):
        lifted = np.where(within, z + lift, -np.inf)[:, there]
        sides.append(np.maximum.accumulate(lifted, axis=1)[:, there] - lift)
    with np.errstate(invalid="ignore"):
        return np.where(within, np.minimum(*sides) - z, 0.0)
