"""Where the strings run in plan, and the board's radius that keeps their paths straight.

Strings are straight lines from nut to bridge, numbered from bass to treble; y grows to
the treble side. All places are those of a string's middle.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import assert_never

import numpy as np

from carve.arrays import Array
from carve.design.schema.assembly import Spacing, Strings
from carve.design.schema.design import Design
from carve.design.values.circle import sagitta
from carve.design.values.fan import SQUARE, Fan, SlantedLine


@dataclass(frozen=True, eq=False)
class StringLayout:
    """The strings in plan.

    nut, bridge: (k,) y in mm from bass to treble, on the lines of nut and saddle.
    gauges: (k,) diameters in mm, 0 where the design does not say. length: mm from nut to
    saddle on the centre line. nut_line, saddle_slant: how the two lie from above.
    """

    nut: Array
    bridge: Array
    gauges: Array
    length: float
    nut_line: SlantedLine = SQUARE
    saddle_slant: float = 0.0

    @property
    def saddle_line(self) -> SlantedLine:
        """Where the scale ends, from above."""
        return SlantedLine(self.length, self.saddle_slant)

    @property
    def slanted(self) -> bool:
        """Whether the strings have scale lengths of their own: a multi-scale neck."""
        return self.nut_line.slant != 0 or self.saddle_slant != 0

    @property
    def starts(self) -> Array:
        """(k,) mm along the centre line: where each string leaves the nut."""
        return np.asarray(self.nut_line.at + self.nut_line.slant * self.nut)

    @property
    def ends(self) -> Array:
        """(k,) mm along the centre line: where each string's own scale ends."""
        return np.asarray(self.length + self.saddle_slant * self.bridge)

    @property
    def scales(self) -> Array:
        """(k,) mm: each string's own length from nut to saddle, before compensation."""
        return np.hypot(self.ends - self.starts, self.bridge - self.nut)

    @property
    def count(self) -> int:
        """How many strings."""
        return len(self.nut)

    def y(self, x: Array) -> Array:
        """(k, n) mm: where each string runs at x, (n,) for all or (k, n) for each its own."""
        start, end = self.starts[:, None], self.ends[:, None]
        share = (np.asarray(x, dtype=float) - start) / (end - start)
        return np.asarray(self.nut[:, None] + (self.bridge - self.nut)[:, None] * share)

    def crossings(self, lines: Sequence[SlantedLine]) -> Array:
        """(k, n) mm along the centre line: where each string crosses each of n lines."""
        at, slant = np.array([[line.at, line.slant] for line in lines]).reshape(-1, 2).T
        drift = ((self.bridge - self.nut) / (self.ends - self.starts))[:, None]
        on_axis = self.nut[:, None] - drift * self.starts[:, None]
        return np.asarray((at + slant * on_axis) / (1 - slant * drift))

    def spread(self, x: Array) -> Array:
        """(n,) mm between the middles of the outer strings at x (n,)."""
        y = self.y(x)
        return np.asarray(y[-1] - y[0])

    def overhang(self, x: Array, half_width: Array) -> tuple[Array, Array]:
        """Distance of the outer strings from the board's edges, straight across.

        x: (n,) mm. half_width: (n,) mm, of the board there. Returns two (n,) arrays in mm,
        bass and treble; negative where a string lies beside the board.
        """
        y = self.y(x)
        return np.asarray(y[0] + half_width), np.asarray(half_width - y[-1])


def strings_of_design(design: Design, strings: Strings) -> StringLayout:
    """A design's strings, over its neck. strings: ``design.strings``, where it has them."""
    return string_layout(strings, design.neck.nut_width, design.scale_length, design.fan)


def string_layout(
    strings: Strings, nut_width: float, scale_length: float, fan: Fan | None = None
) -> StringLayout:
    """The strings as the design lays them. nut_width: of the board at the nut, mm.

    fan: of a multi-scale neck; its outer strings, nut and saddle then take the place of
    nut_width and scale_length. Spaces between strings are measured straight across.
    """
    count = strings.number
    gauges = np.zeros(count) if strings.gauges is None else np.array(strings.gauges)
    half = nut_width / 2
    middle, reach = strings.bridge_offset, strings.bridge_spread / 2
    outer = (-half + strings.nut_edge_bass, half - strings.nut_edge_treble)
    nut, saddle = SQUARE, SlantedLine(scale_length, 0.0)
    if fan is not None:
        outer = (fan.bass.nut[1], fan.treble.nut[1])
        nut, saddle = SlantedLine(0.0, fan.nut.slant), fan.saddle
    return StringLayout(
        nut=spaced_strings(*outer, gauges, strings.nut_spacing),
        bridge=spaced_strings(middle - reach, middle + reach, gauges, strings.bridge_spacing),
        gauges=gauges,
        length=saddle.at,
        nut_line=nut,
        saddle_slant=saddle.slant,
    )


def spaced_strings(first: float, last: float, gauges: Array, spacing: Spacing) -> Array:
    """Middles of the strings from the first to the last. gauges: (k,) mm. Returns (k,) mm.

    With even gaps the clear space between neighbours is the same everywhere:
    (last - first - half of the outer strings - all of the inner ones) / (k - 1).
    """
    count = len(gauges)
    match spacing:
        case "even centres":
            return np.linspace(first, last, count)
        case "even gaps":
            radii = gauges / 2
            touching = radii[:-1] + radii[1:]  # from middle to middle of neighbours without a gap
            gap = (last - first - touching.sum()) / (count - 1)
            return np.asarray(first + np.r_[0.0, np.cumsum(touching + gap)])
        case _:
            assert_never(spacing)


def cone_radius(
    x: Array, nut_radius: float, nut_spread: float, bridge_spread: float, length: float
) -> Array:
    """Radius of the board on which the strings' paths are straight: the cone through them.

    x: (n,) mm from the nut. nut_radius: mm at the nut. nut_spread, bridge_spread: mm
    between the outer strings at x = 0 and x = ``length``. Returns (n,) mm.

    Sections across the board that are circles touching the crown line, each grown from
    one apex in step with its distance, are one (oblique) cone, and every line through the
    apex on it is straight. The strings meet, drawn on, at one point; with the apex there
    the radius grows as their spread does: R(x) = R(0) spread(x) / spread(0). Earls,
    American Lutherie 30 (1991): 12 in where the board is 42 mm wide is 16 in where it is 56.
    """
    spread = nut_spread + (bridge_spread - nut_spread) * np.asarray(x, dtype=float) / length
    return np.asarray(nut_radius * spread / nut_spread)


def bow_under(layout: StringLayout, x: Array, radius: Array) -> Array:
    """How far the board lies below the straight line between its ends, under each string.

    x: (n,) mm from the nut, rising. radius: (n,) mm of the board there. Returns (k, n) mm:
    0 everywhere for a string whose path is straight, positive where the board is hollow.
    """
    low = sagitta(radius[None, :], layout.y(x))
    share = (x - x[0]) / (x[-1] - x[0])
    straight = low[:, :1] + (low[:, -1:] - low[:, :1]) * share
    return np.asarray(low - straight)
