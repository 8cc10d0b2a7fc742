"""The heel's block or tenon: its plan, its holes and its volume.

Beyond the blend the neck is a prism over its plan, from the glue face down to a flat back.
"""

import math
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.heel import Heel, HeelKind
from carve.shape.plan import arc_error, lost_at_corner, rounded


@dataclass(frozen=True)
class Hole:
    """A round hole through the wood. x, y: its middle, radius; mm."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, eq=False)
class HeelShape:
    """A heel from where its flat back begins to the heel end. All mm.

    start, end: from the nut. blend: where the shaft begins to flow into it. depth: of the
    flat back below the glue face. half, half_end: half widths at start and end.
    neck_half: half width of the neck just before it, which a tenon's shoulders stand out to.
    """

    kind: HeelKind
    blend: float
    start: float
    end: float
    depth: float
    half: float
    half_end: float
    neck_half: float
    corner: float
    holes: tuple[Hole, ...]

    @property
    def flare(self) -> float:
        """Growth of the half width per mm toward the heel end."""
        return (self.half_end - self.half) / (self.end - self.start)

    @property
    def _opening(self) -> float:
        """Angle in radians between a side and the heel end, inside the wood."""
        return math.pi / 2 - math.atan(self.flare)

    @property
    def straight_to(self) -> float:
        """Where the sides give way to the round corners, mm from the nut."""
        along = self.corner / math.tan(self._opening / 2)
        return self.end - along / math.hypot(1.0, self.flare)

    def rim_error(self, chord_error: float) -> float:
        """How far in mm the rim's chords are from its round corners."""
        return arc_error(self.corner, math.pi - self._opening, chord_error)

    def rim(self, chord_error: float) -> Array:
        """(k, 2) x, y in mm: the plan beyond ``start``, counter-clockwise from above.

        Without the two points at ``start`` themselves. chord_error: of its arcs, mm.
        """
        end, half = self.end, self.half_end
        begin = np.array([[self.start, -self.half], [self.start, self.half]])
        bass, treble = np.array([end, -half]), np.array([end, half])
        return np.concatenate(
            [
                rounded(begin[0], bass, treble, self.corner, chord_error),
                rounded(bass, treble, begin[1], self.corner, chord_error),
            ]
        )

    def outline(self, chord_error: float) -> Array:
        """(k, 2) x, y in mm: the whole plan."""
        ends = np.array([[self.start, -self.half], [self.start, self.half]])
        return np.concatenate([ends[:1], self.rim(chord_error), ends[1:]])

    def volume(self) -> float:
        """Volume in mm^3, holes taken out, channels not."""
        plan = (self.half + self.half_end) * (self.end - self.start)
        plan -= 2 * lost_at_corner(self._opening, self.corner)
        holes = sum(math.pi * hole.radius**2 for hole in self.holes)
        return (plan - holes) * self.depth


def heel_shape(heel: Heel, end: float, taper: tuple[float, float]) -> HeelShape:
    """The heel as the design asks for it.

    end: mm from the nut. taper: the neck's half width at the nut and its growth per mm.
    """
    start = end - heel.length
    own, own_end = taper[0] + taper[1] * start, taper[0] + taper[1] * end
    half = own if heel.width is None else heel.width / 2
    half_end = own_end if heel.width is None else heel.width / 2
    if heel.kind == "tenon":
        half_end = half - heel.length * math.tan(math.radians(heel.angle))
    return HeelShape(
        kind=heel.kind,
        blend=start - heel.blend,
        start=start,
        end=end,
        depth=heel.depth,
        half=half,
        half_end=half_end,
        neck_half=own if heel.kind == "tenon" else half,
        corner=heel.corner_radius,
        holes=tuple(
            Hole(end - hole.from_end, hole.aside, hole.diameter / 2) for hole in heel.holes
        ),
    )
