"""The fretboard's keys as plain numbers, with what it takes from the neck and the strings."""

import math
from dataclasses import dataclass
from itertools import pairwise

from carve.design.circle import sagitta
from carve.design.fretboard import Fretboard
from carve.design.models import Design


@dataclass(frozen=True)
class BoardPlan:
    """Where the board lies and what is cut into it. Lengths in mm, places in mm from the nut.

    start, end: of the finished board, binding and all. nut_half: half width of the finished
    board at the nut. flare: growth of the half width per mm. radius: at the nut, None where
    the board is flat. growth: of the radius per mm. frets: places of the frets, rising.
    outer: places of the outer strings from the centre line at the nut and their drift per mm,
    bass then treble; empty where no strings are given.
    """

    board: Fretboard
    start: float
    end: float
    nut_half: float
    flare: float
    radius: float | None
    growth: float
    frets: tuple[float, ...]
    outer: tuple[tuple[float, float], ...]

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

    def radius_at(self, x: float) -> float | None:
        """Radius of the playing surface, None where it is flat."""
        return None if self.radius is None else self.radius + self.growth * x

    def fall_at(self, x: float, y: float) -> float:
        """How far the playing surface lies below the crown at y mm from the centre line."""
        radius = self.radius_at(x)
        return 0.0 if radius is None else sagitta(radius, y)

    def gaps(self) -> tuple[tuple[float, float], ...]:
        """For each fret, the fret before it (the nut for the first) and itself."""
        return tuple(pairwise((0.0, *self.frets)))


def board_plan(design: Design) -> BoardPlan:
    """The plan of a design's fretboard."""
    board, neck, scale = design.fretboard, design.neck, design.scale_length
    heel_end = design.place(neck.heel_end)
    frets = tuple(scale * (1 - 1 / ratio) for ratio in board.ratios())
    last = frets[-1] if frets else 0.0
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
        flare=(neck.heel_width - neck.nut_width) / 2 / heel_end,
        radius=None if radius is None else radius.nut,
        growth=growth,
        frets=frets,
        outer=outer,
    )


def _outer_strings(design: Design) -> tuple[tuple[float, float], ...]:
    strings = design.strings
    if strings is None:
        return ()
    half = design.neck.nut_width / 2
    at_nut = (-half + strings.nut_edge_bass, half - strings.nut_edge_treble)
    spread = strings.bridge_spread / 2
    at_bridge = (strings.bridge_offset - spread, strings.bridge_offset + spread)
    return tuple(
        (nut, (bridge - nut) / design.scale_length)
        for nut, bridge in zip(at_nut, at_bridge, strict=True)
    )
