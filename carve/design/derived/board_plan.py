"""The fretboard's keys as plain numbers, with what it takes from the neck and the strings."""

import math
from dataclasses import dataclass
from itertools import pairwise

from carve.design.schema.design import Design
from carve.design.schema.fretboard import Fretboard
from carve.design.values.circle import sagitta
from carve.design.values.fan import SlantedLine


@dataclass(frozen=True)
class BoardPlan:
    """Where the board lies and what is cut into it. Lengths in mm, places in mm from the nut.

    start, end: of the finished board on the centre line, binding and all. nut_half: half
    width of the finished board at the nut, straight across. flare: growth of the half width
    per mm. radius: at the nut, None where the board is flat. growth: of the radius per mm.
    lines: the frets from above, rising. nut, saddle: where the scale starts and ends, from
    above. outer: places of the outer strings from the centre line at x = 0 and their drift
    per mm, bass then treble; empty where no strings are given.
    """

    board: Fretboard
    start: float
    end: float
    nut_half: float
    flare: float
    radius: float | None
    growth: float
    lines: tuple[SlantedLine, ...]
    nut: SlantedLine
    saddle: SlantedLine
    outer: tuple[tuple[float, float], ...]

    @property
    def frets(self) -> tuple[float, ...]:
        """Places of the frets on the centre line, mm from the nut, rising."""
        return tuple(line.at for line in self.lines)

    @property
    def nut_end(self) -> SlantedLine:
        """The line on which the board starts."""
        return SlantedLine(self.start, self.nut.slant)

    @property
    def last_fret(self) -> float:
        """The last fret's place, 0 without frets."""
        return self.frets[-1] if self.frets else 0.0

    @property
    def binding(self) -> float:
        """Thickness of the binding, 0 without."""
        return self.board.binding.thickness if self.board.binding else 0.0

    @property
    def core_end(self) -> float:
        """Where the board itself ends: before the binding, if that goes across the end."""
        binding = self.board.binding
        across = binding is not None and binding.around == "sides and end"
        return self.end - (self.binding if across else 0.0)

    @property
    def core_half(self) -> float:
        """Half width at the nut of the board itself, without binding.

        The strip's thickness is measured square to the edge, which is not quite across.
        """
        return self.nut_half - self.binding * math.hypot(1, self.flare)

    def half_at(self, x: float) -> float:
        """Half width of the board itself."""
        return self.core_half + self.flare * x

    def edges(self, line: SlantedLine, *, finished: bool = False) -> tuple[float, float]:
        """Where a line across meets the edges, bass and treble: mm from the centre line.

        On the treble edge y = h + k x and on the line x = at + slant y.
        """
        half = self.nut_half if finished else self.core_half
        there = half + self.flare * line.at
        return -there / (1 + self.flare * line.slant), there / (1 - self.flare * line.slant)

    def radius_at(self, x: float) -> float | None:
        """Radius of the playing surface, None where it is flat."""
        return None if self.radius is None else self.radius + self.growth * x

    def fall_at(self, x: float, y: float) -> float:
        """How far the playing surface lies below the crown at y mm from the centre line."""
        radius = self.radius_at(x)
        return 0.0 if radius is None else sagitta(radius, y)

    def gaps(self) -> tuple[tuple[SlantedLine, SlantedLine], ...]:
        """For each fret, the fret before it (the nut for the first) and itself."""
        return tuple(pairwise((self.nut, *self.lines)))

    def least_gap(self, before: SlantedLine, after: SlantedLine, y: float | None = None) -> float:
        """Wood in mm between two lines' middles, square to them, where they are nearest.

        y: look no further than y mm either side of the centre line; left out, to the edges.
        """
        within = (*self.edges(before), *self.edges(after)) if y is None else (-y, y)
        return min((after.x(y) - before.x(y)) / before.stretch() for y in within)


def board_plan(design: Design) -> BoardPlan:
    """The plan of a design's fretboard."""
    board, neck = design.fretboard, design.neck
    heel_end = design.place(neck.heel_end)
    lines = tuple(design.line_at(1 - 1 / ratio) for ratio in board.ratios())
    last = lines[-1].at if lines else 0.0
    end = heel_end if board.beyond_last_fret is None else last + board.beyond_last_fret
    outer = _outer_strings(design)
    radius = board.radius
    growth = 0.0
    if radius is not None and radius.end is not None:
        growth = (radius.end - radius.nut) / (last or end)
    elif radius is not None and radius.follow is not None and outer:
        (bass, bass_drift), (treble, treble_drift) = outer
        # on a cone through the strings' common apex, radius and spread grow alike
        growth = radius.nut * (treble_drift - bass_drift) / (treble - bass)
    return BoardPlan(
        board=board,
        start=-board.behind,
        end=end,
        nut_half=neck.nut_width / 2,
        flare=(neck.heel_width - neck.nut_width) / 2 / design.place(design.taper_to),
        radius=None if radius is None else radius.nut,
        growth=growth,
        lines=lines,
        nut=design.nut_line,
        saddle=design.saddle_line,
        outer=outer,
    )


def _outer_strings(design: Design) -> tuple[tuple[float, float], ...]:
    strings = design.strings
    if strings is None:
        return ()
    if design.fan is not None:
        courses = (design.fan.bass, design.fan.treble)
        return tuple((c.nut[1] - c.drift * c.nut[0], c.drift) for c in courses)
    half = design.neck.nut_width / 2
    at_nut = (-half + strings.nut_edge_bass, half - strings.nut_edge_treble)
    spread = strings.bridge_spread / 2
    at_bridge = (strings.bridge_offset - spread, strings.bridge_offset + spread)
    return tuple(
        (nut, (bridge - nut) / design.scale_length)
        for nut, bridge in zip(at_nut, at_bridge, strict=True)
    )
