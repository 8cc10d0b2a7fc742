"""The neck's heel as the body sees it."""

import math
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.shape.planar.rounded_polygon import RoundedPolygon


@dataclass(frozen=True)
class HeelInBody:
    """The heel as the body sees it, in its frame. All mm.

    end: of the heel's end from the body's edge, at the glue plane. half: half width at the
    body's edge, flare: its growth per mm of x. depth: of the flat back below the glue plane.
    corner: radius of the end's corners. angle: radians that the neck leans back. height: of
    the glue plane at the body's edge. room: between heel and wall, for glue and finish.
    start: where the block or the tenon begins. holes: x, y of the middles of its holes where
    they come out of its back. neck_half, neck_flare: as half and flare, of the neck before it.
    upright: whether what stands against the body is, as a carved heel's face, and not a shoulder's.
    """

    start: float
    end: float
    half: float
    flare: float
    depth: float
    corner: float
    angle: float
    height: float
    room: float
    holes: tuple[tuple[float, float], ...] = ()
    neck_half: float = 0.0
    neck_flare: float = 0.0
    upright: bool = False

    def neck(self, out: float) -> Array:
        """(4, 2) x, y of the neck's plan before the heel, from x = -out; mm.

        A tenon's shoulders lean with the neck: they reach as far as they do at its back. A
        carved heel's face is cut so that it stands upright.
        """
        lean = 0.0 if self.upright else max(self.depth * math.sin(self.angle), 0.0)
        stop = self.start + lean
        first, last = (self.neck_half + self.neck_flare * x for x in (-out, stop))
        return np.array([[-out, -first], [stop, -last], [stop, last], [-out, first]])

    def outline(self, out: float, room: float | None = None) -> RoundedPolygon:
        """The plan that takes the heel in from above, carried on to x = -out. All mm.

        room: on every side, by default the heel's own. Walls are upright and the heel leans, so
        the plan reaches as far as the heel's end does at its back.
        """
        room = self.room if room is None else room
        lean = max(self.depth * math.sin(self.angle), 0.0)
        end = self.end + lean + room
        # where the heel grows narrower toward its end, its leaning back is the wider part
        wider = max(-self.flare * lean, 0.0) + room * math.hypot(1.0, self.flare)
        first, last = (self.half + self.flare * x + wider for x in (-out, end))
        corners = np.array([[-out, -first], [end, -last], [end, last], [-out, first]])
        radius = self.corner + room if self.corner else 0.0
        return RoundedPolygon(corners, np.array([0.0, radius, radius, 0.0]))

    @property
    def slope(self) -> float:
        """Rise of the heel's back per mm of the body's x."""
        return math.tan(self.angle)

    def glue_plane_over(self, floor: float) -> float:
        """Height in mm of the glue plane at the body's edge with the heel on a floor there."""
        return floor + self.depth / math.cos(self.angle)
