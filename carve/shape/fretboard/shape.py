"""The fretboard: its plan, its playing surface, and what is cut into it.

The surface over the board is z(x, y) = T - (R(x) - sqrt(R(x)^2 - y^2)): the crown lies level
at the thickness T, and every section across is a circle of radius R. R is one number (a
cylinder), grows evenly with x (a cone), or is infinite (flat).

On a multi-scale board nut, frets and slots are straight slanted lines x = at + slant y; the
board's body end is square to the centre line on every board.
"""

from dataclasses import dataclass
from typing import assert_never

import numpy as np

from carve.arrays import Array
from carve.design.derived.board_plan import BoardPlan
from carve.design.schema.fretboard import Floor
from carve.design.values.circle import sagitta
from carve.design.values.fan import SlantedLine

# 24 nodes: the surface is smooth, and this is exact to rounding; computed once, as it is slow
_GAUSS = np.polynomial.legendre.leggauss(24)


@dataclass(frozen=True)
class Slot:
    """A slot across the board. All mm.

    line: its middle. width: square to it. inset: wood left at its ends, 0 where it runs out.
    depth: below the crown. follows: whether its floor falls with the radius.
    """

    line: SlantedLine
    width: float
    inset: float
    depth: float
    follows: bool

    @property
    def x(self) -> float:
        """Where its middle crosses the centre line."""
        return self.line.at

    @property
    def walls(self) -> tuple[SlantedLine, SlantedLine]:
        """Its walls, the nut's side first."""
        half = self.width / 2 * self.line.stretch()
        return self.line.moved(-half), self.line.moved(half)


@dataclass(frozen=True)
class Marker:
    """A round pocket with a flat floor. x, y: its middle; radius; floor: z. All mm."""

    x: float
    y: float
    radius: float
    floor: float


@dataclass(frozen=True, eq=False)
class FretboardShape:
    """A fretboard without its binding, built once from its plan and then only evaluated.

    plan: where it lies and how wide, long and round it is. frets: (n,) mm from the nut on the
    centre line. slots: those of the frets, empty where none are sawn. markers: round pockets in
    its face. nut_slot: the nut's, None where it stands on a ledge.
    """

    plan: BoardPlan
    frets: Array
    slots: tuple[Slot, ...]
    markers: tuple[Marker, ...]
    nut_slot: Slot | None

    @property
    def start(self) -> float:
        """Where the board starts on the centre line, mm from the nut; negative behind it."""
        return self.plan.start

    @property
    def end(self) -> float:
        """Where the board itself ends, mm from the nut."""
        return self.plan.core_end

    @property
    def thickness(self) -> float:
        """Thickness at the crown, mm."""
        return self.plan.board.thickness

    def half_width(self, x: Array) -> Array:
        """(n,) half width of the board itself in mm at x (n,)."""
        return np.asarray(self.plan.core_half + self.plan.flare * np.asarray(x, dtype=float))

    def finished_half_width(self, x: Array) -> Array:
        """(n,) half width in mm at x (n,) with the binding on."""
        return np.asarray(self.plan.nut_half + self.plan.flare * np.asarray(x, dtype=float))

    def radius(self, x: Array) -> Array:
        """(n,) radius of the playing surface in mm at x (n,); infinite where it is flat."""
        x = np.asarray(x, dtype=float)
        if self.plan.radius is None:
            return np.full_like(x, np.inf)
        return np.asarray(self.plan.radius + self.plan.growth * x)

    def height(self, x: Array, y: Array) -> Array:
        """Height of the playing surface above the glue plane. x, y: mm, of one shape."""
        x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        if self.plan.radius is None:
            return np.full_like(x, self.thickness)
        return np.asarray(self.thickness - sagitta(self.radius(x), y))

    def surface(self, x: Array, t: Array) -> Array:
        """Points of the playing surface. x: (n,) mm; t: (m,), -1 bass to 1 treble edge.

        Returns (n, m, 3) mm.
        """
        return self.surface_along(np.zeros(len(x)), x, t)

    def surface_along(self, slant: Array, x: Array, t: Array) -> Array:
        """Points of the playing surface over slanted lines.

        slant: (n,) of each line. x: (n,) mm where it crosses the centre line; t: (m,), -1
        bass to 1 treble edge. Returns (n, m, 3) mm.
        """
        x = np.asarray(x, dtype=float)
        lean = self.plan.flare * slant  # where the line meets the edges: see BoardPlan.edges
        half = self.half_width(x)
        y = np.where(t < 0, (half / (1 + lean))[:, None] * t, (half / (1 - lean))[:, None] * t)
        across = x[:, None] + slant[:, None] * y
        return np.stack([across, y, self.height(across, y)], axis=-1)

    def floor(self, slot: Slot, y: Array) -> Array:
        """(n,) height of a slot's floor in mm at y (n,): one section, as the saw leaves it."""
        if slot.follows:
            return np.asarray(self.height(slot.line.at + slot.line.slant * y, y) - slot.depth)
        return np.full_like(y, self.thickness - slot.depth)

    def section(self, x: float, count: int = 41) -> Array:
        """(2 count - 1, 2) y, z in mm: the playing surface at x from bass to treble edge."""
        t = np.linspace(-1, 1, 2 * count - 1)
        return np.asarray(self.surface(np.array([x]), t)[0, :, 1:])

    def outline(self) -> Array:
        """(4, 2) x, y in mm: the board itself, counter-clockwise from above."""
        return self._corners(finished=False)

    def finished_outline(self) -> Array:
        """(4, 2) x, y in mm: the board with its binding on."""
        return self._corners(finished=True)

    def slot_outline(self, slot: Slot) -> Array:
        """(4, 2) x, y in mm: a slot seen from above, to the board's edges where it runs out."""
        return _between(*((wall, self.ends(slot, wall)) for wall in slot.walls))

    def ends(self, slot: Slot, line: SlantedLine) -> tuple[float, float]:
        """Where a line within a slot ends, bass and treble: mm from the centre line.

        A slot that runs out ends at the board's edges, a blind one along the centre line.
        """
        if slot.inset == 0:
            return self.plan.edges(line)
        bass, treble = self.plan.edges(slot.line)
        return bass + slot.inset, treble - slot.inset

    def volume(self) -> float:
        """Volume in mm^3 by integrals over the surface: no mesh takes part."""
        x, weights = _gauss(self.start, self.end)
        whole = 2 * self.half_width(x) * self.thickness
        if self.plan.radius is not None:
            whole = whole - _fallen_away(self.radius(x), self.half_width(x))
        area = float(whole @ weights) + self._beyond_square_start()
        nut = () if self.nut_slot is None else (self.nut_slot,)
        cuts = sum(self._slot_volume(slot) for slot in (*self.slots, *nut))
        pockets = sum(self._marker_volume(marker) for marker in self.markers)
        return area - cuts - pockets

    def _corners(self, *, finished: bool) -> Array:
        plan = self.plan
        start = plan.nut_end
        end = SlantedLine(plan.end if finished else plan.core_end, 0.0)
        return _between(*((line, plan.edges(line, finished=finished)) for line in (start, end)))

    def _beyond_square_start(self) -> float:
        """Volume in mm^3 between a square start and a slanted one, what is lacking negative.

        Lines with a share w of the slant sweep it: x = start + w slant y, dx = slant y dw.
        """
        start = self.plan.nut_end
        shares, turning = _gauss(0.0, 1.0)
        total = 0.0
        for share, weight in zip(shares, turning, strict=True):
            line = SlantedLine(start.at, start.slant * float(share))
            y, across = _gauss(*self.plan.edges(line))
            height = self.height(line.at + line.slant * y, y)
            total -= float(weight * (height * start.slant * y) @ across)
        return total

    def _slot_volume(self, slot: Slot) -> float:
        near, far = slot.walls
        x, along = _gauss(near.at, far.at)
        nodes, across = _gauss(-1.0, 1.0)
        ends = np.array([self.ends(slot, SlantedLine(float(at), slot.line.slant)) for at in x])
        bass, treble = ends.T
        if not slot.follows and self.plan.radius is not None:
            # a level floor meets the falling surface where the sagitta is the depth
            radius = self.radius(x)
            most = np.sqrt(slot.depth * (2 * radius - slot.depth))
            bass, treble = np.maximum(bass, -most), np.minimum(treble, most)
        middle, reach = (treble + bass) / 2, (treble - bass) / 2
        y = middle[:, None] + reach[:, None] * nodes
        floor = np.maximum(self.floor(slot, y.ravel()).reshape(y.shape), 0.0)
        depth = self.height(x[:, None] + slot.line.slant * y, y) - floor
        return float(along @ (depth @ across * reach))

    def _marker_volume(self, marker: Marker) -> float:
        r, outward = _gauss(0.0, marker.radius)
        turn = np.arange(64) / 64 * 2 * np.pi
        x = marker.x + r[:, None] * np.cos(turn)
        y = marker.y + r[:, None] * np.sin(turn)
        depth = self.height(x, y) - max(marker.floor, 0.0)
        return float((outward * r) @ depth.mean(axis=1) * 2 * np.pi)


def fretboard_shape(plan: BoardPlan) -> FretboardShape:
    """The fretboard as its plan asks for it."""
    board, frets = plan.board, np.array(plan.frets)
    slots: tuple[Slot, ...] = ()
    if board.slots is not None:
        cut = board.slots
        slots = tuple(
            Slot(line, cut.width, cut.blind, cut.depth, _follows(cut.floor))
            for line in _fretted_lines(plan)
        )
    nut_slot = None
    if board.nut_slot is not None:
        width = board.nut_slot.width
        line = plan.nut.moved(-width / 2 * plan.nut.stretch())
        nut_slot = Slot(line, width, 0.0, board.nut_slot.depth, follows=False)
    return FretboardShape(plan, frets, slots, _markers(plan), nut_slot)


def _fretted_lines(plan: BoardPlan) -> tuple[SlantedLine, ...]:
    """The lines that are slotted for frets."""
    match plan.board.nut:
        case "zero fret":
            return (plan.nut, *plan.lines)
        case "ledge" | "slot":
            return plan.lines
        case _:
            assert_never(plan.board.nut)


def _follows(floor: Floor) -> bool:
    """Whether a slot's floor falls with the board's radius."""
    match floor:
        case "radius":
            return True
        case "flat":
            return False
        case _:
            assert_never(floor)


def _markers(plan: BoardPlan) -> tuple[Marker, ...]:
    markers = plan.board.markers
    if markers is None:
        return ()
    found = []
    for fret in markers.frets:
        before, after = plan.gaps()[fret - 1]
        middle = before.halfway(after)
        aside = markers.spacing / 2
        for y in (-aside, aside) if fret in markers.double else (0.0,):
            x = middle.x(y)
            surface = plan.board.thickness - plan.fall_at(x, y)
            found.append(Marker(x, y, markers.diameter / 2, surface - markers.depth))
    return tuple(found)


def _between(*bounds: tuple[SlantedLine, tuple[float, float]]) -> Array:
    """(4, 2) x, y in mm: what lies between two lines across, each with its ends."""
    (start, near), (end, far) = bounds
    corners = [(start, near[0]), (end, far[0]), (end, far[1]), (start, near[1])]
    return np.array([[line.x(y), y] for line, y in corners])


def _gauss(start: float, end: float) -> tuple[Array, Array]:
    nodes, weights = _GAUSS
    half = (end - start) / 2
    return np.asarray(start + half * (nodes + 1)), np.asarray(weights * half)


def _fallen_away(radius: Array, half: Array) -> Array:
    """(n,) mm^2 between a chord through the crown and the arc, over a width of 2 half.

    Width times radius less the area under the arc, h sqrt(R^2 - h^2) + R^2 asin(h/R).
    """
    under = half * np.sqrt(radius**2 - half**2) + radius**2 * np.arcsin(half / radius)
    return np.asarray(2 * half * radius - under)
