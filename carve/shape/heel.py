"""The heel's block or tenon: its plan, its holes and its volume.

Beyond the blend the neck is a prism over its plan, from the glue face down to a flat back.
"""

import math
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.heel import Heel, HeelKind
from carve.shape.plan import arc_error, area, lost_at_corner, rounded


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
    slant: of the end, x = end + slant y.
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
    slant: float = 0.0

    @property
    def flare(self) -> float:
        """Growth of the half width per mm toward the heel end."""
        return (self.half_end - self.half) / (self.end - self.start)

    @property
    def corners(self) -> Array:
        """(2, 2) x, y in mm: the end's corners before they are rounded, bass and treble."""
        return slanted_corners(self.end, self.slant, self.half_end, self.flare)

    @property
    def _openings(self) -> tuple[float, float]:
        """Angles in radians between a side and the heel end, inside the wood: bass, treble."""
        square, lean = math.pi / 2 - math.atan(self.flare), math.atan(self.slant)
        return square + lean, square - lean

    @property
    def straight_to(self) -> float:
        """Where the first of the sides gives way to its round corner, mm from the nut."""
        stretch = math.hypot(1.0, self.flare)
        return min(
            float(corner[0]) - self.corner / math.tan(opening / 2) / stretch
            for corner, opening in zip(self.corners, self._openings, strict=True)
        )

    def rim_error(self, chord_error: float) -> float:
        """How far in mm the rim's chords are from its round corners."""
        return max(
            arc_error(self.corner, math.pi - opening, chord_error) for opening in self._openings
        )

    def rim(self, chord_error: float) -> Array:
        """(k, 2) x, y in mm: the plan beyond ``start``, counter-clockwise from above.

        Without the two points at ``start`` themselves. chord_error: of its arcs, mm.
        """
        begin = np.array([[self.start, -self.half], [self.start, self.half]])
        bass, treble = self.corners
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
        begin = np.array([[self.start, self.half], [self.start, -self.half]])
        plan = area(np.vstack([begin, self.corners]))
        plan -= sum(lost_at_corner(opening, self.corner) for opening in self._openings)
        holes = sum(math.pi * hole.radius**2 for hole in self.holes)
        return (plan - holes) * self.depth


def slanted_corners(at: float, slant: float, half: float, flare: float) -> Array:
    """(2, 2) x, y in mm: where the line x = at + slant y meets both edges, bass and treble.

    half: mm from the centre line to the edges at ``at``, flare: its growth per mm. On the edges
    y = -(h + k (x - at)) and y = h + k (x - at).
    """
    y = half * np.array([-1 / (1 + flare * slant), 1 / (1 - flare * slant)])
    return np.stack([at + slant * y, y], axis=1)


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
