"""The neck: its taper, its depth, its sections, and the surface they span.

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
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import BPoly

from carve.arrays import Array, BoolArray
from carve.design.schema.design import Neck
from carve.design.schema.heel import Heel
from carve.design.values.fan import corner_behind
from carve.errors import DesignError, OutsidePart
from carve.shape.neck.carved_heel import CapShape, carved_heel_curve
from carve.shape.neck.channel import Channel, channels, removed_area
from carve.shape.neck.finish import BARE, NeckFilm
from carve.shape.neck.headstock import HeadShape, joined_head
from carve.shape.neck.heel import BodyPlane, HeelShape, heel_shape, slanted_corners
from carve.shape.neck.section import bernstein, half_area, half_section
from carve.shape.neck.volute import VoluteShape, volute_shape
from carve.shape.numeric.blend import chain, in_turn, level
from carve.shape.numeric.monotone_spline import smooth_through

AREA_PANELS, AREA_NODES = 12, 4  # of a half-section; Gauss's rule is then within 0.01 mm^2
SAME_WIDTH = 1e-6  # mm
BOARD_LOOKS = 401  # places at which the deepest one is looked for
HEEL_POINTS = 1601  # across a section whose cap begins anywhere: within 0.01 mm^2
SQUARE = 0.01  # mm over a heel's depth; a face that leans less is square
VOLUME_CHORD = 0.001  # mm; outlines are that close when their area counts

_GAUSS = np.polynomial.legendre.leggauss(16)
_ALONG = np.polynomial.legendre.leggauss(8)  # with 16 a neck's volume differs by 0.01 mm^3


def _panels() -> tuple[Array, Array]:
    """Gauss's nodes over t from -1 to 1 in equal panels, and their weights."""
    nodes, weights = np.polynomial.legendre.leggauss(AREA_NODES)
    edges = np.linspace(-1, 1, 2 * AREA_PANELS + 1)
    half = 1 / (2 * AREA_PANELS)
    t = (edges[:-1, None] + half * (nodes + 1)).ravel()
    return t, np.tile(weights * half, 2 * AREA_PANELS)


_ACROSS, _ACROSS_WEIGHTS = _panels()
PLANE_TURNS = 12  # of an iteration whose error falls at each by slant times taper, about 0.005
PLANE_STEP = 0.01  # mm, for a slope along x that is all but constant there
CLEAR = 1.5  # mm that the surface is known beyond a slanted end
LEANING = 3.0  # of a slanted nut's reach; much nearer, rows that come square would crowd


@dataclass(frozen=True, eq=False)
class NeckShape:
    """A neck, built once from a design and then only evaluated.

    length: mm from nut to heel end. nut_half, heel_half: half widths of the taper in mm.
    stations: (n,) mm from the nut, rising. board: thickness of the fretboard in mm.
    squared: share of the depth that stands as upright sides. edges: half widths in mm to the
    bass and the treble edge. heel, head: None where the shaft ends plainly.
    All sizes are the wood's. film: what is laid on it; the design's sizes are those over it.
    nut_slant: of the nut's line, and of the shaft's end where no headstock begins behind it.
    before: mm that the surface goes on before x = 0, beyond a slanted end; 0 without one.
    heel_slant: of the heel end. after: mm that the surface goes on beyond it, likewise.
    """

    length: float
    nut_half: float
    heel_half: float
    board: float
    stations: Array
    depth_curve: BPoly
    dial_curves: BPoly
    squared: BPoly
    edges: tuple[BPoly, BPoly]
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
    def _cap(self) -> CapShape | None:
        return None if self.heel is None else self.heel.cap

    def half_width(self, x: Array) -> Array:
        """(n,) half width of the glue face in mm at x (n,), on the neck alike on both sides."""
        bass, treble = (edge(self._on_neck(x)) for edge in self.edges)
        return np.asarray((bass + treble) / 2)

    def taper(self, x: Array) -> Array:
        """(n,) half width in mm that nut and heel end ask for at x (n,), carried on behind."""
        return np.asarray(
            self.nut_half + (self.heel_half - self.nut_half) * self._on_neck(x) / self.length
        )

    def depth(self, x: Array) -> Array:
        """(n,) neck depth below the glue plane in mm at x (n,), positive downward."""
        depth = np.asarray(self._bare_depth(x))
        if self.heel is not None and self._cap is not None:
            tongue = 0.0 if self.heel.butts else self.heel.depth
            depth = np.minimum(depth, self._cap.depth)
            depth = np.minimum(depth, np.maximum(self._cap.face_depth(x), tongue))
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
            depth_curve=BPoly(depth.c + self.film.back, depth.x),
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
        if self._cap is not None and x.size and x.max() > self._cap.blend:
            unit = np.stack([self._cap.turned(side, x) for side in unit])
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
        if self._cap is not None:
            np.maximum(points[..., 2], -self._cap.depth, out=points[..., 2])
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
        return slanted_corners(0.0, self.nut_slant, self.nut_half, self._flare)

    def heel_corners(self) -> Array:
        """(2, 2) x, y in mm: the heel end's corners, bass and treble, before they are rounded."""
        if self.heel is not None:
            return self.heel.corners
        return slanted_corners(self.length, self.heel_slant, self.heel_half, self._flare)

    @property
    def furthest(self) -> float:
        """How far the neck reaches toward the bridge, mm from the nut."""
        return float(max(self.length, self.heel_corners()[:, 0].max()))

    @property
    def _flare(self) -> float:
        return (self.heel_half - self.nut_half) / self.length

    @property
    def square_from(self) -> float:
        """Where rows that lean with a slanted nut have come square, mm from the nut; 0 if none.

        The first station where it is far enough: three times as far as the nut's corners reach.
        """
        if not self.ends_slanted:
            return 0.0
        far = LEANING * abs(self.nut_slant) * self.nut_half
        first = float(self.stations[0])
        return min(first if first >= far else far, self.length)

    @property
    def square_to(self) -> float:
        """Where rows begin to lean toward a slanted heel end, mm from the nut; its end if none.

        The last station where it is far enough from the end, as ``square_from`` has it.
        """
        if self.heel_slant == 0 or self.heel is not None:
            return self.length
        far = LEANING * abs(self.heel_slant) * self.heel_half
        last = float(self.stations[-1])
        return max(last if self.length - last >= far else self.length - far, self.square_from)

    def rows(self, x: Array, t: Array) -> Array:
        """Points of the back on rows that lean with slanted ends and come square evenly.

        x: (n,) mm where a row crosses the centre line; t: (m,) as in ``surface``. Returns
        (n, m, 3) mm. A slanted end's row has every point in its plane.
        """
        lean = np.zeros_like(x)
        if self.ends_slanted:
            near = x < self.square_from
            lean[near] = self.nut_slant * (1 - x[near] / self.square_from)
        near = x > self.square_to
        lean[near] = self.heel_slant * (x[near] - self.square_to) / (self.length - self.square_to)
        leaning = lean != 0
        if not leaning.any():
            return self.surface(x, t)
        points = np.empty((len(x), len(t), 3))
        points[~leaning] = self.surface(x[~leaning], t)
        points[leaning] = self._on_planes(x[leaning], lean[leaning], t)
        return points

    def section(self, x: float, count: int = 81) -> Array:
        """The back's section at x as a polyline, bass edge to treble edge. (2 count - 1, 2) mm."""
        half = np.linspace(0, 1, count)
        return np.asarray(self.outside(np.array([x]), np.r_[-half[::-1], half[1:]])[0, :, 1:])

    def section_area(self, x: Array) -> Array:
        """(n,) area of the wood in the section at x (n,) in mm^2, channels taken out."""
        x = np.asarray(x, dtype=float)
        bass, treble = self.controls(x)
        wood = half_area(bass) + half_area(treble)
        odd = self._cut_from_above_or_swollen(x)
        if odd.any():
            wood[odd] = self._area_by_points(x[odd])
        if self.heel is not None and self._cap is not None:
            low = x > self._cap.nose
            if low.any():
                wood[low] = self._area_of_heel(self.heel, self._cap, x[low])
        return wood - removed_area(self.channels, x, self.top_depth(x))

    def _cut_from_above_or_swollen(self, x: Array) -> BoolArray:
        """(n,) where the section is not two half-sections and nothing else."""
        odd = np.zeros(x.shape, dtype=bool) if self.head is None else x < 0
        if self.volute is not None:
            odd |= (x > self.volute.reach[0]) & (x < self.volute.reach[1])
        return odd

    def _area_by_points(self, x: Array) -> Array:
        """(n,) mm^2 between back and face, by Gauss's rule on panels of the section."""
        points, by_t = (self.surface(x, _ACROSS, order) for order in (0, 1))
        face = np.zeros_like(x) if self.head is None else -self.head.face_depth(x)
        wood = np.maximum(face[:, None] - points[..., 2], 0.0)
        return np.asarray((wood * by_t[..., 1]) @ _ACROSS_WEIGHTS)

    def _area_of_heel(self, heel: HeelShape, cap: CapShape, x: Array) -> Array:
        """(n,) mm^2 of a carved heel above its cap and before the body, by the trapezoid rule.

        Where its face leans, the tongue comes out of it before the body's edge.
        """
        points, face = self.surface(x, np.linspace(-1, 1, HEEL_POINTS)), cap.face_depth(x)
        depth = np.minimum(-points[..., 2], np.minimum(cap.depth, face)[:, None])
        wood = np.asarray(np.trapezoid(depth, points[..., 1], axis=1))
        if heel.butts:
            return wood
        return wood + 2 * heel.half_at(x) * np.maximum(heel.depth - face, 0.0)

    def breaks(self) -> Array:
        """Places in mm between which everything is smooth, from the start to the heel end."""
        places = [self.start, 0.0, self.length, *self.stations, *self.depth_curve.x]
        places += [*self.squared.x, *self.edges[0].x, *self.edges[1].x]
        if self.head is not None:
            places += [-self.head.seat, -self.head.seat - self.head.ramp]
        if self.volute is not None:
            places += [*self.volute.reach, self.volute.middle]
        if self.heel is not None:
            places += [self.heel.blend, self.heel.start, self.glue_end]
        if self.heel is not None and self._cap is not None:
            out = self._cap.edge - self._cap.lean * self.heel.depth  # of the tongue from the face
            places += [self._cap.nose, self._cap.foot, out]
        for channel in self.channels:
            places += list(channel.floor[:, 0])
        return np.unique(np.clip(places, self.start, self.length))

    def volume(self) -> float:
        """Volume in mm^3 as the integral of the sections' areas: no mesh takes part."""
        places = self.breaks()
        total = _integral(self.section_area, places[places <= self.carved_end])
        if self.heel is not None:
            total += self.heel.volume()
            total -= self._channels_between(places[places >= self.carved_end])
        if self.head is not None:
            total += self.head.volume_beyond(VOLUME_CHORD)
            reach = min([self.start, *(channel.start for channel in self.channels)])
            total -= self._channels_between(np.array([reach, self.start]))
        if self.ends_slanted:
            total += self._before_square(0.0, self.nut_slant)
        if self.heel is None:
            total -= self._before_square(self.length, self.heel_slant)
        return total

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
        x = np.linspace(0.0, self.length, BOARD_LOOKS)
        return length, max(head.thickness, float(self.depth(x).max()))

    def _channels_between(self, places: Array) -> float:
        """Volume in mm^3 of the channels below the top, where all is smooth between places."""

        def cut(x: Array) -> Array:
            return removed_area(self.channels, x, self.top_depth(x))

        return _integral(cut, places)

    def _before_square(self, at: float, slant: float) -> float:
        """Volume in mm^3 from a slanted plane to the square one at x = at, beyond it negative.

        Planes x = at + w slant y with w from 0 to 1 sweep it: dx = slant y dw. A channel on the
        centre line loses on one side what it gains on the other, but for its floor's slope.
        """
        if slant == 0:
            return 0.0
        nodes, weights = _GAUSS
        t = np.r_[(nodes - 1) / 2, (nodes + 1) / 2]
        across = np.r_[weights, weights] / 2
        total = 0.0
        for share, turning in zip((nodes + 1) / 2, weights / 2, strict=True):
            points, by_t = self._on_plane(at, float(share) * slant, t)
            total += float(turning * (across * points[:, 2] * slant * points[:, 1]) @ by_t)
        return total

    def _on_plane(self, at: float, slant: float, t: Array) -> tuple[Array, Array]:
        """Points (m, 3) in mm of the back in the plane x = at + slant y, and dy/dt in it (m,)."""
        points = self._on_planes(np.array([at]), np.array([slant]), t)[0]
        x, aside = points[None, :, 0], PLANE_STEP
        by_x = (self._each(x + aside, t) - self._each(x - aside, t))[0, :, 1] / (2 * aside)
        by_t = self._each(x, t, derivative=1)[0, :, 1]
        return points, by_t / (1 - slant * by_x)

    def _on_planes(self, x: Array, slant: Array, t: Array) -> Array:
        """Points (n, m, 3) in mm of the back in n planes that cross the centre line at x (n,)."""
        at, lean = x[:, None] + np.zeros(len(t)), slant[:, None]
        for _ in range(PLANE_TURNS):
            at = x[:, None] + lean * self._each(at, t)[..., 1]
        points = self._each(at, t)
        points[..., 0] = x[:, None] + lean * points[..., 1]
        return points

    def _each(self, x: Array, t: Array, derivative: int = 0) -> Array:
        """As ``surface``, but for every t (m,) at places of its own: x (n, m)."""
        sides = np.stack(self.controls(x.ravel())).reshape(2, *x.shape, -1, 2)
        on_bass = t < 0
        controls = np.where(on_bass[:, None, None], sides[0], sides[1])
        sign = np.where(on_bass, -1.0, 1.0)
        weights = bernstein(1 - np.abs(t), derivative) * (-sign[:, None]) ** derivative
        across = np.einsum("mk,nmkc->nmc", weights, controls)
        first = x if derivative == 0 else np.zeros_like(x)
        return np.stack([first, sign * across[..., 0], across[..., 1]], axis=-1)

    def _on_neck(self, x: Array) -> Array:
        x = np.asarray(x, dtype=float)
        first, last = self.start - self.before, self.length + self.after
        if x.size and (x.min() < first - 1e-9 or x.max() > last + 1e-9):
            far = float(x.min() if x.min() < first else x.max())
            raise OutsidePart(
                f"{far:.2f} mm from the nut is not on the neck, which ends at {self.length:.2f} mm"
            )
        return x


def _wider(edge: BPoly, film: float) -> BPoly:
    return BPoly(edge.c + film, edge.x)


def _integral(of: Callable[[Array], Array], places: Array) -> float:
    """Integral over x of a function of x (n,) that is smooth between the places (n,)."""
    nodes, weights = _ALONG
    starts, spans = places[:-1, None], np.diff(places)[:, None]
    # a channel's area jumps at its end: Gauss's nodes lie inside the pieces, never on it
    x = (starts + spans * (nodes + 1) / 2).ravel()
    return float((of(x).reshape(len(spans), len(nodes)) @ weights * spans[:, 0] / 2).sum())


def taper_of(neck: Neck, length: float, film: NeckFilm) -> tuple[float, float]:
    """Half width of the neck's wood at the nut in mm, and its growth per mm.

    length: mm from the nut to the heel end.
    """
    half = neck.nut_width / 2 - film.narrower
    return half, (neck.heel_width - neck.nut_width) / 2 / length


def neck_shape(
    neck: Neck,
    scale_length: float,
    board: float,
    film: NeckFilm = BARE,
    nut_slant: float = 0.0,
    body: BodyPlane | None = None,
) -> NeckShape:
    """The neck's shaft as the design asks for it.

    scale_length, board: scale length and thickness of the fretboard in mm. film: thickness
    at the stations is over it, and the wood stands back at the glue edge by it. nut_slant: of
    the nut's line x = nut_slant y from above. body: needed for a through-neck; against its side
    a carved heel's face leans.
    """
    length = neck.heel_end.mm(scale_length)
    placed = sorted(
        ((station.at.mm(scale_length), station) for station in neck.stations),
        key=lambda pair: pair[0],
    )
    x = np.array([at for at, _ in placed])
    depth = np.array(
        [station.thickness - board - film.back - film.board_top for _, station in placed]
    )
    sides = np.array(
        [
            [s.shape.bass.shoulder, s.shape.bass.keel, s.shape.treble.shoulder, s.shape.treble.keel]
            for _, s in placed
        ]
    )
    through = body if neck.heel is not None and neck.heel.kind == "through" else None
    nut_half, flare = taper_of(neck, length if through is None else through.edge, film)
    taper, lean = (nut_half, flare), _lean(neck.heel, body)
    heel_half = nut_half + flare * length
    heel_slant = math.tan(math.radians(neck.heel_slant))
    heel = None if neck.heel is None else heel_shape(neck.heel, length, taper, through, lean)
    if heel is not None:
        heel = replace(heel, slant=heel_slant)
    if heel is not None and x[-1] > heel.blend + 1e-9:
        raise DesignError(
            [
                f"neck.heel.blend: the heel begins to flow out of the shaft {heel.blend:.2f} mm "
                f"from the nut, before the station at {x[-1]:.2f} mm; make neck.heel.blend shorter "
                "or move the station"
            ]
        )
    shaft_end = length if heel is None else heel.blend
    after = 0.0
    if heel is None and heel_slant:
        corners = slanted_corners(length, heel_slant, neck.heel_width / 2, flare)
        after = float(corners[:, 0].max()) - length + CLEAR
    reach = corner_behind(nut_slant, neck.nut_width / 2, flare)
    before = reach + CLEAR if reach and neck.headstock is None else 0.0
    # sides alike, as most are, need each of their curves only once
    curves = {
        column: smooth_through(x, np.array(column), (-before, length + after), "level")
        for column in {tuple(column) for column in sides.T.tolist()}
    }
    dials = [curves[tuple(column)] for column in sides.T.tolist()]
    depth_curve = smooth_through(x, depth, (-before, shaft_end + after), "straight")
    squared = level((0.0, shaft_end), 0.0)
    ends = (nut_half, nut_half + flare * shaft_end)
    edge = chain((0.0, shaft_end), ends, (flare, flare))
    if heel is not None:
        if neck.heel is not None and heel.kind == "carved":
            keel, cap = carved_heel_curve(neck.heel, depth_curve, heel.start, taper, lean)
            heel = replace(heel, cap=cap)
            depth_curve = in_turn(depth_curve, keel)
            squared = in_turn(squared, level((heel.blend, heel.start), 0.0))
            if not heel.butts:
                tongue = heel.start, heel.end
                depth_curve = in_turn(depth_curve, level(tongue, heel.depth))
                squared = in_turn(squared, level(tongue, 1.0))
        else:
            depth_curve = in_turn(depth_curve, _into_block(depth_curve, heel))
            squared = in_turn(squared, chain(_places(heel), (0.0, 1.0, 1.0), (0.0, 0.0, 0.0)))
        edge = in_turn(edge, *_into_sides(heel, ends[1], flare))
    edges, head, volute = (edge, edge), None, None
    if neck.headstock is not None:
        volute = volute_shape(neck.headstock.volute)
        behind, head = joined_head(neck.headstock, depth_curve, volute, nut_half, flare, reach)
        depth_curve = in_turn(behind, depth_curve)
        if reach:
            squared = in_turn(level((-reach, 0.0), 0.0), squared)
        squared = in_turn(chain((head.flat, -reach), (1.0, 0.0), (0.0, 0.0)), squared)
        edges = (in_turn(head.bass, edge), in_turn(head.treble, edge))
    return NeckShape(
        length=length,
        nut_half=nut_half,
        heel_half=heel_half,
        board=board,
        stations=x,
        depth_curve=depth_curve,
        # the four have the same knots, so they are looked up as one
        dial_curves=BPoly(np.stack([dial.c for dial in dials], axis=-1), dials[0].x),
        squared=squared,
        edges=edges,
        channels=channels(neck.truss_rod, scale_length),
        heel=heel,
        head=head,
        volute=volute,
        film=film,
        nut_slant=nut_slant,
        before=before,
        heel_slant=heel_slant,
        after=after,
    )


def _lean(heel: Heel | None, body: BodyPlane | None) -> float:
    """How far a carved heel's face leans to the nut per mm down: as the body's side does to it."""
    if heel is None or body is None or heel.kind != "carved":
        return 0.0
    lean = math.tan(body.angle)
    return lean if lean * heel.depth >= SQUARE else 0.0


def _places(heel: HeelShape) -> tuple[float, float, float]:
    return heel.blend, heel.start, heel.end


def _into_block(shaft: BPoly, heel: HeelShape) -> BPoly:
    """Depth from where the shaft leaves off to the heel end. No station lies there.

    Beyond its last station the shaft goes on straight, so the blend begins without curvature.
    """
    value, slope = float(shaft(heel.blend)), float(shaft.derivative()(heel.blend))
    back = heel.back_depth(np.array([heel.start, heel.end]))
    return chain(_places(heel), (value, *back), (slope, heel.slope, heel.slope))


def _into_sides(heel: HeelShape, half: float, flare: float) -> tuple[BPoly, ...]:
    """Half width on the blend and on the block. half: mm, where the blend begins.

    The sides of a block come out of the taper smoothly; a tenon's start at its shoulders,
    with a step.
    """
    turned = flare if heel.shouldered else heel.flare
    before = chain((heel.blend, heel.start), (half, heel.neck_half), (flare, turned))
    if heel.butts:
        return (before,)
    ends = (heel.start, heel.end), (heel.half, heel.half_end)
    return before, chain(*ends, (heel.flare, heel.flare))
