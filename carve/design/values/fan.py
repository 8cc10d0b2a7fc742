"""A neck of two scale lengths: its fan of nut, frets and saddle, seen from above.

The scale lengths are those of the two outer strings, each measured along its own string
from nut to saddle before compensation (common practice). A fret is the straight line that
joins equal shares of the two. Written with N for the nut points, S for the saddle's, f for
the share of the length and s for the place between bass and treble, the points

    P(s, f) = (1 - s) (N_bass + f (S_bass - N_bass)) + s (N_treble + f (S_treble - N_treble))

lie for a fixed f on a fret and for a fixed s on a straight string that every fret divides in
the same shares as the outer ones. So each string that stands at one share of the spread at
nut and saddle alike plays as truly as they do.

The x axis is the centre line, and its 0 is where the nut crosses it.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

FAN_TURNS = 100  # of the iteration; each makes the error some hundred times smaller
SHORTEST_TAPER = 1.0  # mm; a neck that ends sooner is refused by its own rule


@dataclass(frozen=True)
class SlantedLine:
    """A straight line across the board: x = at + slant y. at: mm on the centre line."""

    at: float
    slant: float

    def x(self, y: float) -> float:
        """Place in mm from the nut, at y mm from the centre line."""
        return self.at + self.slant * y

    def stretch(self) -> float:
        """How much longer a length square to the line is when it is measured along x."""
        return float((1 + self.slant**2) ** 0.5)

    def halfway(self, other: "SlantedLine") -> "SlantedLine":
        """The line half way to another."""
        return SlantedLine((self.at + other.at) / 2, (self.slant + other.slant) / 2)

    def moved(self, by: float) -> "SlantedLine":
        """The parallel line that is ``by`` mm nearer to the bridge on the centre line."""
        return SlantedLine(self.at + by, self.slant)


def corner_behind(slant: float, half: float, flare: float) -> float:
    """How far the rear corner of a slanted line lies behind its place on the centre line, mm.

    half: mm from the centre line to an edge where the line crosses it, flare: its growth per mm.
    On the edge y = h + k x, and on the line x = slant y.
    """
    return abs(slant) * half / (1 + abs(slant) * flare)


SQUARE = SlantedLine(0.0, 0.0)
"""The nut of a neck of one scale length."""


@dataclass(frozen=True)
class OuterString:
    """An outer string in plan: x and y in mm at nut and saddle, before compensation."""

    nut: tuple[float, float]
    saddle: tuple[float, float]

    def at(self, share: float) -> tuple[float, float]:
        """Place in mm, x and y, at a share of its length from the nut."""
        (x0, y0), (x1, y1) = self.nut, self.saddle
        return x0 + share * (x1 - x0), y0 + share * (y1 - y0)

    @property
    def length(self) -> float:
        """Its scale length in mm, along it."""
        (x0, y0), (x1, y1) = self.nut, self.saddle
        return float(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5)

    @property
    def drift(self) -> float:
        """How far it moves toward the treble side per mm along the neck."""
        (x0, y0), (x1, y1) = self.nut, self.saddle
        return (y1 - y0) / (x1 - x0)


@dataclass(frozen=True)
class Fan:
    """Two outer strings of two scale lengths."""

    bass: OuterString
    treble: OuterString

    def line(self, share: float) -> SlantedLine:
        """The line across that joins equal shares of both strings: a fret, nut or saddle."""
        (xb, yb), (xt, yt) = self.bass.at(share), self.treble.at(share)
        slant = (xt - xb) / (yt - yb)
        return SlantedLine(xb - slant * yb, slant)

    @property
    def nut(self) -> SlantedLine:
        """Where the scale starts."""
        return self.line(0.0)

    @property
    def saddle(self) -> SlantedLine:
        """Where it ends, before compensation."""
        return self.line(1.0)


class OuterStrings(Protocol):
    """Where the outer strings lie, mm: all that a fan asks of a design's strings. Hashable."""

    @property
    def nut_edge_bass(self) -> float:
        """From the bass string to the board's edge, at the nut."""

    @property
    def nut_edge_treble(self) -> float:
        """From the treble string to the board's edge, at the nut."""

    @property
    def bridge_spread(self) -> float:
        """Between the outer strings at the bridge."""

    @property
    def bridge_offset(self) -> float:
        """Of their middle from the centre line at the bridge, toward the treble side."""


@lru_cache(maxsize=64)
def fan_of(
    scales: tuple[float, float],
    square: float,
    widths: tuple[float, float],
    heel: float | tuple[float],
    strings: OuterStrings,
) -> Fan | None:
    """The fan that a design asks for, None where there are no two such strings.

    scales: mm, bass and treble. square: the share of the scale whose fret stands square to
    the centre line. widths: mm of the neck at the nut's and at the heel's end, straight
    across. heel: mm from the nut to the heel's end, or (share,) where it is a fret's place.

    The nut's points lie on the board's taper, which may end at a fret, which depends on the
    nut's points: so all is found by turns, starting with a square nut.
    """
    half, heel_half = widths[0] / 2, widths[1] / 2
    reach, offset = strings.bridge_spread / 2, strings.bridge_offset
    end_bass, end_treble = offset - reach, offset + reach
    bass_x = treble_x = 0.0
    found: Fan | None = None
    for _ in range(FAN_TURNS):
        if isinstance(heel, float):
            length = heel
        else:
            length = scales[0] * heel[0] if found is None else found.line(heel[0]).at
        flare = (heel_half - half) / max(length, SHORTEST_TAPER)
        bass_y = -(half + flare * bass_x) + strings.nut_edge_bass
        treble_y = half + flare * treble_x - strings.nut_edge_treble
        if not bass_y < 0 < treble_y or not end_bass < end_treble:
            return None
        along = []
        for scale, aside in zip(scales, (end_bass - bass_y, end_treble - treble_y), strict=True):
            if scale <= 2 * abs(aside):
                return None
            along.append((scale**2 - aside**2) ** 0.5)
        # both strings reach the square fret at one x, and the nut's line crosses y = 0 at x = 0
        behind = square * (along[1] - along[0])  # of the bass nut point, before the treble one
        bass_x = -behind * bass_y / (treble_y - bass_y)
        treble_x = bass_x - behind
        turned = Fan(
            OuterString((bass_x, bass_y), (bass_x + along[0], end_bass)),
            OuterString((treble_x, treble_y), (treble_x + along[1], end_treble)),
        )
        if turned == found:
            break
        found = turned
    return found
