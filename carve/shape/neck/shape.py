"""The neck: its taper, its depth, its sections, and the surface they span.

``build`` makes it from the design, ``area`` measures it, ``slanted_end`` knows ends that are not
square.

The back is a surface over (x, t): x in mm from the nut, t across the section from the
bass edge (-1) over the keel (0) to the treble edge (1). It is C2 in x, and in t
everywhere but for the parametrisation at the keel, where it is curvature-continuous.

Where the shaft flows into a block, its sides rise: of the depth on the centre line a share,
0 on the shaft and 1 on the block, stands as an upright side below the glue plane, and the
section is what is left of the depth below it. As the share grows smoothly from 0 to 1 the
round back turns into a flat one, and on the shaft itself nothing changes at all.

A carved heel does without that: its surface goes on past the cap's plane, which takes off what
lies below it, as a plane does at the bench (``cap``). ``surface`` is the smooth one, ``outside``
what is left of it.

The heel end may slant as well, x = length + slant y. On a multi-scale neck the nut's end is the
upright plane x = slant y through the nut's line, and where there is a headstock the shaft goes
on to the rear corner of that line.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from carve.arrays import Array
from carve.errors import OutsidePart
from carve.shape.neck.carved_heel import CapShape
from carve.shape.neck.channel import Channel
from carve.shape.neck.finish import BARE, NeckFilm
from carve.shape.neck.headstock.shape import HeadShape
from carve.shape.neck.headstock.volute import VoluteShape
from carve.shape.neck.heel import HeelShape, slanted_corners
from carve.shape.neck.section import bernstein, half_section
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial

SAME_WIDTH = 1e-6  # mm
BOARD_SAMPLES = 401  # places at which the deepest one is looked for


@dataclass(frozen=True, eq=False)
class NeckShape:
    """A neck, built once from a design and then only evaluated.

    length: mm from nut to heel end. nut_half, heel_half: half widths of the taper in mm.
    board: thickness of the fretboard in mm. stations: (n,) mm from the nut, rising.
    depth_curve: mm below the glue plane over x, volute and cap left out. dial_curves: over x the
    four dials of the profile, 0 to 1: bass shoulder, bass keel, treble shoulder, treble keel.
    squared: over x the share of the depth that stands as upright sides. edges: over x the half
    widths in mm to the bass and the treble edge. channels: of the truss rod. heel, head, volute:
    None where there is none, and the shaft ends plainly.
    All sizes are the wood's. film: of finish on it; the design's sizes are those over it.
    nut_slant: of the nut's line, and of the shaft's end where no headstock begins behind it.
    before: mm that the surface goes on before x = 0, beyond a slanted end; 0 without one.
    heel_slant: of the heel end. after: mm that the surface goes on beyond it, likewise.
    """

    length: float
    nut_half: float
    heel_half: float
    board: float
    stations: Array
    depth_curve: PiecewisePolynomial
    dial_curves: PiecewisePolynomial
    squared: PiecewisePolynomial
    edges: tuple[PiecewisePolynomial, PiecewisePolynomial]
    channels: tuple[Channel, ...]
    heel: HeelShape | None = None
    head: HeadShape | None = None
    volute: VoluteShape | None = None
    film: NeckFilm = BARE
    nut_slant: float = 0.0
    before: float = 0.0
    heel_slant: float = 0.0
    after: float = 0.0

    @property
    def start(self) -> float:
        """Where the surface begins, mm from the nut: at it, or behind it with a headstock."""
        return 0.0 if self.head is None else self.head.flat

    @property
    def carved_end(self) -> float:
        """Where the surface gives way to the heel's flat back, mm from the nut."""
        return self.length if self.heel is None else self.heel.start

    @property
    def tapered(self) -> tuple[float, float]:
        """Between which places in mm the glue edges are the taper that the fretboard follows.

        Behind the nut the headstock flares; a tenon, a core, and a block of its own width or with
        round corners, leave the board's edges at the heel.
        """
        heel = self.heel
        if heel is None:
            return 0.0, float(self.heel_corners()[:, 0].min())
        if heel.shouldered:
            return 0.0, heel.start
        if heel.body is not None:  # a core has sides of its own, toward which the blend turns
            return 0.0, heel.blend
        own_width = abs(heel.half - float(self.taper(np.array([heel.start]))[0])) > SAME_WIDTH
        return 0.0, heel.blend if own_width else heel.straight_to

    @property
    def glue_end(self) -> float:
        """Where the glue face ends, mm from the nut; a core goes on beyond it, on another plane."""
        body = None if self.heel is None else self.heel.body
        return self.furthest if body is None else body.board_end

    @property
    def steps(self) -> tuple[float, ...]:
        """Places in mm from which on the side view stands higher or lower than just before."""
        heel = self.heel
        if heel is None:
            return ()
        square = heel.cap is not None and heel.cap.lean == 0
        return (*((heel.start,) if square else ()), *((self.glue_end,) if heel.body else ()))

    @property
    def cap(self) -> CapShape | None:
        """A carved heel's cap, None where there is none."""
        return None if self.heel is None else self.heel.cap

    def half_width(self, x: Array) -> Array:
        """(n,) half width of the glue face in mm at x (n,), on the neck alike on both sides."""
        bass, treble = (edge(self._on_neck(x)) for edge in self.edges)
        return np.asarray((bass + treble) / 2)

    @property
    def shaft_end(self) -> float:
        """Where the shaft ends and the heel's blend begins, mm from the nut."""
        return self.length if self.heel is None else self.heel.blend

    def taper(self, x: Array) -> Array:
        """(n,) half width in mm that nut and heel end ask for at x (n,), carried on behind."""
        return np.asarray(
            self.nut_half + (self.heel_half - self.nut_half) * self._on_neck(x) / self.length
        )

    def depth(self, x: Array) -> Array:
        """(n,) neck depth below the glue plane in mm at x (n,), positive downward."""
        depth = np.asarray(self._bare_depth(x))
        if self.heel is not None and self.cap is not None:
            tongue = 0.0 if self.heel.butts else self.heel.depth
            capped = np.minimum(depth, self.cap.depth)
            capped = np.minimum(capped, np.maximum(self.cap.face_depth(x), tongue))
            # a tilted headstock may well reach deeper than the cap
            depth = np.where(np.asarray(x) > self.cap.blend, capped, depth)
        return depth if self.volute is None else depth + self.volute.rise(x, np.zeros_like(depth))

    def upright(self, x: Array) -> Array:
        """(n,) height of the sides in mm at x (n,): from the glue plane to the back's edges."""
        return np.asarray(self._bare_depth(x) * self.squared(x))

    def top_depth(self, x: Array) -> Array:
        """(n,) depth of the top below the glue plane in mm at x (n,): of face and core."""
        x = np.asarray(x, dtype=float)
        top = np.zeros_like(x) if self.head is None else self.head.face_depth(x)
        return top if self.heel is None else top + self.heel.top_depth(x)

    def _bare_depth(self, x: Array) -> Array:
        """(n,) depth without the volute, and without the cap."""
        return np.asarray(self.depth_curve(self._on_neck(x)))

    def thickness(self, x: Array) -> Array:
        """(n,) thickness with the fretboard in mm at x (n,), over the finish on both faces."""
        return self.depth(x) + self.board + self.film.back + self.film.board_top

    def finished(self) -> "NeckShape":
        """The neck's outside once it is finished, as a neck without film.

        Exact on the keel and at the glue edge; between them the film, measured square to
        the surface, is thinner than that by the little that scaling a section differs from
        offsetting it.
        """
        depth = self.depth_curve
        return replace(
            self,
            nut_half=self.nut_half + self.film.sides,
            heel_half=self.heel_half + self.film.sides,
            edges=(_wider(self.edges[0], self.film.sides), _wider(self.edges[1], self.film.sides)),
            depth_curve=PiecewisePolynomial(depth.c + self.film.back, depth.x),
            film=replace(BARE, board_top=self.film.board_top),
        )

    def controls(self, x: Array) -> tuple[Array, Array]:
        """Control points of the bass and treble half-sections at x (n,).

        Returns two (n, 6, 2) arrays in mm: outward from the centre line, and up.
        """
        x = self._on_neck(x)
        # behind the nut the profile stays as it is there, whatever the curve would go on to do
        dials = self.dial_curves(np.maximum(x, 0.0))
        shoulders, keels = dials.reshape(-1, 2, 2).transpose(2, 1, 0)
        depth, taper = self._bare_depth(x), self.taper(x)
        upright = depth * self.squared(x)
        size = np.stack([taper, depth - upright], axis=-1)[..., None, :]
        unit = half_section(shoulders, keels, keels.mean(axis=0))
        if self.cap is not None and x.size and x.max() > self.cap.blend:
            unit = np.stack([self.cap.turned(side, x) for side in unit])
        bass, treble = unit * size
        for points, edge in ((bass, self.edges[0]), (treble, self.edges[1])):
            points[..., 1] -= upright[..., None]
            # outside the taper the flank stands out as a whole; the last two points stay, and
            # with them the keel's curvature, which both sides share
            points[..., :4, 0] += (edge(x) - taper)[..., None]
        return bass, treble

    def surface(self, x: Array, t: Array, derivative: int = 0) -> Array:
        """Points of the back. x: (n,) mm; t: (m,) rising, -1 to 1. Returns (n, m, 3) mm.

        derivative: order of the derivative by t instead of the points.
        """
        bass, treble = self.controls(x)
        on_bass = t < 0
        points = np.empty((len(x), len(t), 3))
        points[..., 0] = x[:, None] if derivative == 0 else 0.0
        for side, controls, sign in ((on_bass, bass, -1.0), (~on_bass, treble, 1.0)):
            weights = bernstein(1 - np.abs(t[side]), derivative)
            if derivative:  # u = 1 - |t|, so du/dt is 1 on the bass side and -1 on the treble
                weights = weights * (-sign) ** derivative
            across = weights @ controls.transpose(0, 2, 1).reshape(-1, 6).T
            across = across.T.reshape(len(x), 2, -1)
            points[:, side, 1] = sign * across[:, 0]
            points[:, side, 2] = across[:, 1]
        if self.volute is not None:
            self._swell(points, x, t, derivative)
        return points

    def outside(self, x: Array, t: Array) -> Array:
        """Points of the wood's outside, a carved heel's cap among them. As ``surface``."""
        points = self.surface(x, t)
        if self.cap is not None:
            heel = np.asarray(x) > self.cap.blend
            points[heel, :, 2] = np.maximum(points[heel, :, 2], -self.cap.depth)
        return points

    def _swell(self, points: Array, x: Array, t: Array, derivative: int) -> None:
        """Lower points, or their first or second derivative by t, by the volute."""
        if self.volute is None:
            return
        low, high = self.volute.reach
        near = (x > low) & (x < high)
        if not near.any():
            return
        x = x[near]
        along = np.broadcast_to(x[:, None], (len(x), len(t)))
        if derivative == 0:
            points[near, :, 2] -= self.volute.rise(along, points[near, :, 1])
            return
        bare = replace(self, volute=None)
        y, first, second = (
            bare.surface(x, t, order)[..., 1] if order <= derivative else np.zeros(along.shape)
            for order in range(3)
        )
        if derivative == 1:
            rise = self.volute.rise(along, y, 1) * first
        else:
            rise = self.volute.rise(along, y, 2) * first**2
            rise += self.volute.rise(along, y, 1) * second
        points[near, :, 2] -= rise

    @property
    def ends_slanted(self) -> bool:
        """Whether the shaft ends on a slanted nut's line."""
        return self.nut_slant != 0 and self.head is None

    def nut_corners(self) -> Array:
        """(2, 2) x, y in mm: where the nut's line meets the taper's edges, bass and treble."""
        return slanted_corners(0.0, self.nut_slant, self.nut_half, self.flare)

    def heel_corners(self) -> Array:
        """(2, 2) x, y in mm: the heel end's corners, bass and treble, before they are rounded."""
        if self.heel is not None:
            return self.heel.corners
        return slanted_corners(self.length, self.heel_slant, self.heel_half, self.flare)

    @property
    def furthest(self) -> float:
        """How far the neck reaches toward the bridge, mm from the nut."""
        return float(max(self.length, self.heel_corners()[:, 0].max()))

    @property
    def flare(self) -> float:
        """Growth of the taper's half width per mm toward the heel end."""
        return (self.heel_half - self.nut_half) / self.length

    def section(self, x: float, count: int = 81) -> Array:
        """The back's section at x as a polyline, bass edge to treble edge. (2 count - 1, 2) mm."""
        half = np.linspace(0, 1, count)
        return np.asarray(self.outside(np.array([x]), np.r_[-half[::-1], half[1:]])[0, :, 1:])

    def breaks(self) -> Array:
        """Places in mm between which everything is smooth, from the start to the heel end."""
        stations = self.stations[self.stations < self.carved_end]
        places = [self.start, 0.0, self.length, *stations, *self.depth_curve.x]
        places += [*self.squared.x, *self.edges[0].x, *self.edges[1].x]
        if self.head is not None:
            places += [-self.head.seat, -self.head.seat - self.head.ramp]
        if self.volute is not None:
            places += [*self.volute.reach, self.volute.middle]
        if self.heel is not None:
            places += [self.heel.blend, self.heel.start, self.glue_end]
        if self.heel is not None and self.cap is not None:
            out = self.cap.edge - self.cap.lean * self.heel.depth  # of the tongue from the face
            places += [self.cap.nose, self.cap.foot, out]
        for channel in self.channels:
            places += list(channel.floor[:, 0])
        return np.unique(np.clip(places, self.start, self.length))

    def board_to_saw(self) -> tuple[float, float] | None:
        """Length and thickness in mm of the straight board a scarfed neck is sawn from.

        None where it is one piece. One slanted cut parts it: the shaft keeps the board from the
        heel end to where the joint comes out of the glue face, and what is sawn off becomes the
        headstock, as long as the joint's plane is from there to the tip.
        """
        head = self.head
        if head is None or not head.scarfed:
            return None
        out = head.scarf_out
        length = self.furthest - out + (out - head.tip) / math.cos(head.tilt)
        x = np.linspace(0.0, self.length, BOARD_SAMPLES)
        return length, max(head.thickness, float(self.depth(x).max()))

    def _on_neck(self, x: Array) -> Array:
        x = np.asarray(x, dtype=float)
        first, last = self.start - self.before, self.length + self.after
        if x.size and (x.min() < first - 1e-9 or x.max() > last + 1e-9):
            far = float(x.min() if x.min() < first else x.max())
            raise OutsidePart(
                f"{far:.2f} mm from the nut is not on the neck, which ends at {self.length:.2f} mm"
            )
        return x


def _wider(edge: PiecewisePolynomial, film: float) -> PiecewisePolynomial:
    return PiecewisePolynomial(edge.c + film, edge.x)
