"""Curvature along the neck's lines: what an eye along the edge and a thumb on the back notice.

Between its breaks every line is a polynomial in x or nearly one, so through enough Chebyshev
nodes it is found again to rounding, and its derivatives with it. The nodes lie inside a piece,
so what is said of its ends is one-sided: two pieces that meet are free to disagree there.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.polynomial import chebyshev

from carve.arrays import Array
from carve.shape.neck.shape import NeckShape

# on a piece: depth and upright share are quintics, and of a section's dials, quintics too, there
# are products of seven (the keel's curvature times the last leg squared): degree 5 + 5 + 35 at
# most. With 21 a V that turns into a U looked as if its curvature jumped, by up to 2e-5 per mm
NODES = 46
# on a piece so short that the same line goes on smoothly beside it: few say as much there, and the
# rounding of their heights counts less
FEW_NODES, SHORT = 12, 0.3  # mm
SAMPLES_PER_PIECE = 33  # places on a piece at which its curvature is evaluated, its ends among them
LINE_SHARES = (0.25, 0.5, 0.75)  # of the way from keel to edge, for the lines between
SAME_X = 1e-6  # mm
SAME_LINE = 1e-9  # mm
STRAIGHT = 1e-6  # per mm; a line no more curved is straight: its radius would be a kilometre
ROUNDED = float(np.spacing(1300.0))  # mm; of a place on the longest neck, and of a height there


def _matrices(count: int) -> tuple[Array, tuple[Array, ...]]:
    """Nodes (count,) from -1 to 1; from values there to a polynomial's and its derivatives'.

    The latter for orders 0 to 2, (SAMPLES_PER_PIECE, count) each.
    """
    nodes = np.cos(np.pi * (np.arange(count)[::-1] + 0.5) / count)
    coefficients = np.linalg.inv(chebyshev.chebvander(nodes, count - 1))
    at = np.linspace(-1, 1, SAMPLES_PER_PIECE)
    derived = (
        chebyshev.chebvander(at, count - 1 - order) @ chebyshev.chebder(coefficients, order)
        for order in range(3)
    )
    return nodes, tuple(np.asarray(matrix, dtype=np.float64) for matrix in derived)


def _noise(count: int) -> float:
    """What rounding makes of a second derivative at most, in mm, twice over a piece's length.

    By V. Markov's inequality for the second derivative of a polynomial; from memory.
    """
    degree = count - 1
    return 4 * ROUNDED * degree**2 * (degree**2 - 1) / 3


_MANY, _FEW = _matrices(NODES), _matrices(FEW_NODES)
_NOISE_OF_MANY, _NOISE_OF_FEW = _noise(NODES), _noise(FEW_NODES)


@dataclass(frozen=True, eq=False)
class LineCurvature:
    """Curvature of one line, piece by piece.

    name: of the line. x: (pieces, SAMPLES_PER_PIECE) mm from the nut, rising. values: of the same
    shape, per mm, positive where the line bends toward the strings or, seen from above, outward.
    """

    name: str
    x: Array
    values: Array

    def jumps(self) -> tuple[Array, Array]:
        """Where pieces meet: places (n,) in mm, and by how much (n,) per mm they disagree.

        What rounding alone may do is taken off, which counts on very short pieces only.
        """
        spans = self.x[:, -1] - self.x[:, 0]
        noise = np.where(spans < SHORT, _NOISE_OF_FEW, _NOISE_OF_MANY) / spans**2
        rounding = np.maximum(noise[1:], noise[:-1])
        apart = np.abs(self.values[1:, 0] - self.values[:-1, -1])
        return self.x[1:, 0], np.maximum(apart - rounding, 0.0)


def curvatures(shape: NeckShape) -> tuple[LineCurvature, ...]:
    """The keel from the side, both glue edges from above, and lines between from the side.

    From the headstock's tip to the heel end, where the line goes so far. One side stands for
    both where they are alike.
    """
    places = shape.breaks()
    lines = [_keel(shape, places)]
    bass, treble = shape.edges
    alike = bass.x.shape == treble.x.shape and np.abs(bass.c - treble.c).max() < SAME_LINE
    if alike:
        lines.append(_line("glue edges", bass.x, bass))
    else:
        lines += [
            _line("bass glue edge", bass.x, bass),
            _line("treble glue edge", treble.x, treble),
        ]
    carved = np.r_[places[places < shape.carved_end - SAME_X], shape.carved_end]
    return (*lines, *_between(shape, carved, alike=alike))


def _keel(shape: NeckShape, places: Array) -> LineCurvature:
    """With the headstock's flat back, which is straight."""
    keel = _line("keel", places, lambda x: -shape.depth(x))
    if shape.head is None:
        return keel
    flat = np.linspace(shape.head.tip, shape.start, SAMPLES_PER_PIECE)[None]
    return LineCurvature(
        keel.name,
        np.vstack([flat, keel.x]),
        np.vstack([np.zeros_like(flat), keel.values]),
    )


def _between(shape: NeckShape, places: Array, *, alike: bool) -> list[LineCurvature]:
    shares = np.array([*(-s for s in LINE_SHARES), *LINE_SHARES])
    order = np.argsort(shares)
    # where a line meets a volute's rim is no place of its own, so the volute is added apart
    bare = replace(shape, volute=None)

    def over(x: Array) -> Array:
        points = np.empty((len(x), len(shares), 2))
        points[:, order] = bare.surface(x, shares[order])[..., 1:]
        return points

    x, (at, slope, bend) = _pieces(places, over)
    slopes, bends = slope[..., 1], bend[..., 1]
    if shape.volute is not None:
        swell = shape.volute.along(x[..., None], at[..., 0], slope[..., 0], bend[..., 0])
        slopes, bends = slopes - swell[0], bends - swell[1]
    values = _curvature(slopes, bends)
    bass, treble = np.split(values, 2, axis=-1)
    alike = alike and float(np.abs(bass - treble).max()) < STRAIGHT
    lines = []
    for number, share in enumerate(LINE_SHARES):
        where = f"{share:g} of the way from keel to edge"
        if alike:
            lines.append(LineCurvature(where, x, bass[..., number]))
            continue
        lines.append(LineCurvature(f"{where}, bass", x, bass[..., number]))
        lines.append(LineCurvature(f"{where}, treble", x, treble[..., number]))
    return lines


def _line(
    name: str, places: Sequence[float] | Array, of: Callable[[Array], Array]
) -> LineCurvature:
    x, (_, slope, bend) = _pieces(np.asarray(places, dtype=float), of)
    return LineCurvature(name, x, _curvature(slope, bend))


def _curvature(slope: Array, bend: Array) -> Array:
    return np.asarray(bend / (1 + slope**2) ** 1.5)


def _pieces(places: Array, of: Callable[[Array], Array]) -> tuple[Array, list[Array]]:
    """Curves over x between places (n,) mm, and their first two derivatives.

    of: x (m,) to (m, ...) mm. Returns x (n - 1, SAMPLES_PER_PIECE) and three arrays
    (n - 1, SAMPLES_PER_PIECE, ...).
    """
    places = places[np.r_[True, np.diff(places) > SAME_X]]
    starts, half = places[:-1, None], np.diff(places)[:, None] / 2
    derived = _derived(starts, half, of, _MANY)
    short = 2 * half[:, 0] < SHORT
    if short.any():
        few = _derived(starts[short], half[short], of, _FEW)
        for all_of_them, closer in zip(derived, few, strict=True):
            all_of_them[short] = closer
    return starts + half * np.linspace(0, 2, SAMPLES_PER_PIECE), derived


def _derived(
    starts: Array,
    half: Array,
    of: Callable[[Array], Array],
    by: tuple[Array, tuple[Array, ...]],
) -> list[Array]:
    """Values and first two derivatives on pieces from starts (n, 1), half as long as ``half``."""
    nodes, matrices = by
    heights = of((starts + half * (1 + nodes)).ravel())
    heights = heights.reshape(len(half), len(nodes), *heights.shape[1:])
    first = heights[:, :1]  # what is straight in a piece has no curvature, but its digits count
    found = [np.einsum("ln,pn...->pl...", matrix, heights - first) for matrix in matrices]
    found[0] += first
    long = half.reshape(len(half), *(1,) * (heights.ndim - 1))
    return [value / long**order for order, value in enumerate(found)]
