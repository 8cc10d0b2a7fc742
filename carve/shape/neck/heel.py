"""The heel's block, tenon, tongue or core: its plan, its holes and its volume.

Beyond ``start`` the neck is a prism over its plan, from the glue face, and on a core beyond the
fretboard from the body's top, down to a flat back.
"""

import math
from dataclasses import dataclass
from typing import assert_never

import numpy as np

from carve.arrays import Array
from carve.design.derived.heel_blend import longest_blend
from carve.design.schema.heel import Heel, HeelKind
from carve.shape.neck.carved_heel import CapShape
from carve.shape.planar.rounded_polygon import arc_error, area, lost_at_corner, rounded


@dataclass(frozen=True)
class Hole:
    """A round hole through the wood. x, y: its middle, radius; mm."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True)
class BodyPlane:
    """How a body's edge plane lies to a through-neck, seen from the side.

    edge: mm from the nut to the body's edge. angle: the neck angle in radians. height: mm of
    the glue plane above the edge plane at the body's edge. board_end: mm from the nut to where
    the fretboard ends.
    """

    edge: float
    angle: float
    height: float
    board_end: float

    def below(self, x: Array, depth: float = 0.0) -> Array:
        """(n,) mm from the glue plane down to the plane ``depth`` mm under the edge plane.

        The body's z is height + (x - edge) sin(angle) + z cos(angle); see ``frames``.
        """
        rise = (np.asarray(x, dtype=float) - self.edge) * math.sin(self.angle)
        return np.asarray((self.height + depth + rise) / math.cos(self.angle))


@dataclass(frozen=True, eq=False)
class HeelShape:
    """A heel from where its flat back begins to the heel end. All mm.

    start, end: from the nut, the same where a carved heel butts. blend: where the shaft begins
    to flow into it. depth: of the flat back below the glue face at ``start``; slope: its growth
    per mm. half, half_end: half widths at start and end. neck_half: half width of the neck just
    before it, which shoulders stand out to. slant: of the end, x = end + slant y. cap: of a
    carved heel. body: of a through-neck.
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
    slope: float = 0.0
    cap: CapShape | None = None
    body: BodyPlane | None = None

    @property
    def flare(self) -> float:
        """Growth of the half width per mm toward the heel end."""
        length = self.end - self.start
        return (self.half_end - self.half) / length if length else 0.0

    @property
    def shouldered(self) -> bool:
        """Whether what goes into the body is narrower than the neck before it."""
        return _has_shoulders(self.kind)

    @property
    def blend_end(self) -> float:
        """Where the blend has come to the block, the tenon, the core or the cap, mm from the nut.

        Of a carved heel it is known once it has its cap.
        """
        return self.start if self.cap is None else self.cap.nose

    @property
    def butts(self) -> bool:
        """Whether it ends in a flat face against the body, and nothing goes into it."""
        return self.start == self.end

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

    def back_depth(self, x: Array) -> Array:
        """(n,) depth of the flat back below the glue plane in mm at x (n,) beyond ``start``."""
        return np.asarray(self.depth + self.slope * (np.asarray(x, dtype=float) - self.start))

    def top_depth(self, x: Array) -> Array:
        """(n,) depth of the top below the glue plane in mm at x (n,): 0 under a fretboard."""
        x = np.asarray(x, dtype=float)
        if self.body is None:
            return np.zeros_like(x)
        return np.where(x > self.body.board_end, self.body.below(x), 0.0)

    def half_at(self, x: Array) -> Array:
        """(n,) half width in mm of what goes into the body, carried on before ``start``."""
        return np.asarray(self.half + self.flare * (np.asarray(x, dtype=float) - self.start))

    def rim_error(self, chord_error: float) -> float:
        """How far in mm the rim's chords are from its round corners."""
        return max(
            arc_error(self.corner, math.pi - opening, chord_error) for opening in self._openings
        )

    def rim(self, chord_error: float) -> Array:
        """(k, 2) x, y in mm: the plan beyond ``start``, counter-clockwise from above.

        Without the two points at ``start`` themselves. chord_error: of its arcs, mm.
        """
        if self.butts:
            return np.empty((0, 2))
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
        """Volume in mm^3 beyond ``start``, holes taken out, channels not."""
        if self.body is not None:
            return self._volume_of_core(self.body)
        begin = np.array([[self.start, self.half], [self.start, -self.half]])
        plan = area(np.vstack([begin, self.corners]))
        plan -= sum(lost_at_corner(opening, self.corner) for opening in self._openings)
        holes = sum(math.pi * hole.radius**2 for hole in self.holes)
        return (plan - holes) * self.depth

    def _volume_of_core(self, body: BodyPlane) -> float:
        """Between two planes: width times height is a parabola along x, so Simpson's is exact."""
        total = 0.0
        for low, high in ((self.start, body.board_end), (body.board_end, self.end)):
            x = np.array([low, (low + high) / 2, high])
            top = body.below(x) if low == body.board_end else np.zeros(3)
            area = 2 * self.half_at(x) * (self.back_depth(x) - top)
            total += float(area @ [1.0, 4.0, 1.0]) * (high - low) / 6
        return total


def _has_shoulders(kind: HeelKind) -> bool:
    """Whether what goes into the body is narrower than the neck, and shoulders stand beside it."""
    match kind:
        case "tenon" | "carved":
            return True
        case "bolted" | "through":
            return False
        case _:
            assert_never(kind)


def slanted_corners(at: float, slant: float, half: float, flare: float) -> Array:
    """(2, 2) x, y in mm: where the line x = at + slant y meets both edges, bass and treble.

    half: mm from the centre line to the edges at ``at``, flare: its growth per mm. On the edges
    y = -(h + k (x - at)) and y = h + k (x - at).
    """
    y = half * np.array([-1 / (1 + flare * slant), 1 / (1 - flare * slant)])
    return np.stack([at + slant * y, y], axis=1)


def heel_shape(
    heel: Heel,
    end: float,
    taper: tuple[float, float],
    body: BodyPlane | None = None,
    lean: float = 0.0,
) -> HeelShape:
    """The heel as the design asks for it, its blend as long as asked, and still without its cap.

    end: mm from the nut. taper: the neck's half width at the nut and its growth per mm. body:
    needed where the neck goes through it. lean: of the body's side against a carved heel, mm
    toward the nut per mm down.
    """
    tongue, cap = heel.tongue, heel.cap_length or 0.0
    length = tongue.length if tongue is not None else heel.length or 0.0
    start = end - length if body is None else body.edge
    own, own_end = taper[0] + taper[1] * start, taper[0] + taper[1] * end
    width = heel.width if tongue is None else tongue.width
    angle = heel.angle if tongue is None else tongue.angle
    half = own if width is None else width / 2
    half_end = own_end if width is None else half
    depth, slope = heel.depth if tongue is None else tongue.depth, 0.0
    if _has_shoulders(heel.kind):
        half_end = half - length * math.tan(math.radians(angle))
    if body is not None:
        half_end = half if heel.end_width is None else heel.end_width / 2
        depth, slope = float(body.below(np.array([start]), heel.depth)[0]), math.tan(body.angle)
    return HeelShape(
        kind=heel.kind,
        blend=start - heel.depth * lean - cap - longest_blend(heel),
        start=start,
        end=end,
        depth=depth,
        half=half,
        half_end=half_end,
        neck_half=own if _has_shoulders(heel.kind) else half,
        corner=heel.corner_radius if tongue is None else tongue.corner_radius,
        holes=tuple(
            Hole(end - hole.from_end, hole.aside, hole.diameter / 2) for hole in heel.holes
        ),
        slope=slope,
        body=body,
    )
