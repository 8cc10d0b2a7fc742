"""The fretboard: its plan, its playing surface, and what is cut into it.

The surface over the board is z(x, y) = T - (R(x) - sqrt(R(x)^2 - y^2)): the crown lies level
at the thickness T, and every section across is a circle of radius R. R is one number (a
cylinder), grows evenly with x (a cone), or is infinite (flat).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.board_plan import BoardPlan
from carve.design.circle import sagitta
from carve.shape.frets import between

# 24 nodes: the surface is smooth, and this is exact to rounding; reckoned once, as it is dear
_GAUSS = np.polynomial.legendre.leggauss(24)


@dataclass(frozen=True)
class Slot:
    """A slot across the board. All mm.

    x: its middle. width: along the board. inset: wood left at its ends, 0 where it runs out.
    depth: below the crown. follows: whether its floor falls with the radius.
    """

    x: float
    width: float
    inset: float
    depth: float
    follows: bool


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

    frets: (n,) mm from the nut. slots: those of the frets. nut_slot: None without.
    """

    plan: BoardPlan
    frets: Array
    slots: tuple[Slot, ...]
    markers: tuple[Marker, ...]
    nut_slot: Slot | None

    @property
    def start(self) -> float:
        """Where the board starts, mm from the nut; negative behind it."""
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
        y = self.half_width(x)[:, None] * t
        across = np.broadcast_to(np.asarray(x, dtype=float)[:, None], y.shape)
        return np.stack([across, y, self.height(across, y)], axis=-1)

    def floor(self, slot: Slot, y: Array) -> Array:
        """(n,) height of a slot's floor in mm at y (n,): one section, as the saw leaves it."""
        if slot.follows:
            return np.asarray(self.height(np.full_like(y, slot.x), y) - slot.depth)
        return np.full_like(y, self.thickness - slot.depth)

    def section(self, x: float, count: int = 41) -> Array:
        """(2 count - 1, 2) y, z in mm: the playing surface at x from bass to treble edge."""
        t = np.linspace(-1, 1, 2 * count - 1)
        return np.asarray(self.surface(np.array([x]), t)[0, :, 1:])

    def outline(self) -> Array:
        """(4, 2) x, y in mm: the board itself, counter-clockwise from above."""
        return self._corners(self.start, self.end, self.half_width)

    def finished_outline(self) -> Array:
        """(4, 2) x, y in mm: the board with its binding on."""
        return self._corners(self.start, self.plan.end, self.finished_half_width)

    def slot_outline(self, slot: Slot) -> Array:
        """(4, 2) x, y in mm: a slot seen from above, to the board's edges where it runs out."""
        return self._corners(
            slot.x - slot.width / 2,
            slot.x + slot.width / 2,
            lambda x: self.reach(slot, x),
        )

    def reach(self, slot: Slot, x: Array) -> Array:
        """(n,) mm from the centre line to a slot's ends at x (n,); a blind one ends square."""
        inside = self.half_width(np.array([slot.x])) - slot.inset
        return self.half_width(x) if slot.inset == 0 else np.full_like(x, inside[0])

    def volume(self) -> float:
        """Volume in mm^3 by integrals over the surface: no mesh takes part."""
        x, weights = _gauss(self.start, self.end)
        whole = 2 * self.half_width(x) * self.thickness
        if self.plan.radius is not None:
            whole = whole - _fallen_away(self.radius(x), self.half_width(x))
        nut = () if self.nut_slot is None else (self.nut_slot,)
        cuts = sum(self._slot_volume(slot) for slot in (*self.slots, *nut))
        pockets = sum(self._marker_volume(marker) for marker in self.markers)
        return float(whole @ weights) - cuts - pockets

    def _corners(self, start: float, end: float, half: Callable[[Array], Array]) -> Array:
        near, far = half(np.array([start, end]))
        return np.array([[start, -near], [end, -far], [end, far], [start, near]])

    def _slot_volume(self, slot: Slot) -> float:
        x, along = _gauss(slot.x - slot.width / 2, slot.x + slot.width / 2)
        reach = self.reach(slot, x)
        if not slot.follows and self.plan.radius is not None:
            # a level floor meets the falling surface where the sagitta is the depth
            radius = self.radius(x)
            reach = np.minimum(reach, np.sqrt(slot.depth * (2 * radius - slot.depth)))
        nodes, across = _gauss(-1.0, 1.0)
        y = reach[:, None] * nodes
        floor = np.maximum(self.floor(slot, y.ravel()).reshape(y.shape), 0.0)
        depth = self.height(x[:, None], y) - floor
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
        places = [0.0, *frets] if board.nut == "zero fret" else list(frets)
        slots = tuple(
            Slot(float(x), cut.width, cut.blind, cut.depth, cut.floor == "radius") for x in places
        )
    nut_slot = None
    if board.nut_slot is not None:
        width = board.nut_slot.width
        nut_slot = Slot(-width / 2, width, 0.0, board.nut_slot.depth, follows=False)
    return FretboardShape(plan, frets, slots, _markers(plan, frets), nut_slot)


def _markers(plan: BoardPlan, frets: Array) -> tuple[Marker, ...]:
    markers = plan.board.markers
    if markers is None:
        return ()
    middles = between(frets)
    found = []
    for fret in markers.frets:
        x = float(middles[fret - 1])
        aside = markers.spacing / 2
        for y in (-aside, aside) if fret in markers.double else (0.0,):
            surface = plan.board.thickness - plan.fall_at(x, y)
            found.append(Marker(x, y, markers.diameter / 2, surface - markers.depth))
    return tuple(found)


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
