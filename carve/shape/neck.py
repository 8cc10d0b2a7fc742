"""The neck's shaft: its taper, its depth, its sections, and the surface they span.

The back is a surface over (x, t): x in mm from the nut, t across the section from the
bass edge (-1) over the keel (0) to the treble edge (1). It is C2 in x, and in t
everywhere but for the parametrisation at the keel, where it is curvature-continuous.

On a multi-scale neck the nut's end is the upright plane x = slant y through the nut's line.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import BPoly

from carve.arrays import Array
from carve.design.models import Neck
from carve.errors import OutsidePart
from carve.shape.along import smooth_through
from carve.shape.channel import Channel, channels, removed_area
from carve.shape.finish import BARE, NeckFilm
from carve.shape.section import bernstein, half_area, half_section

_GAUSS = np.polynomial.legendre.leggauss(16)
PLANE_TURNS = 12  # of an iteration whose error falls at each by slant times taper, about 0.005
PLANE_STEP = 0.01  # mm, for a slope along x that is all but constant there
CLEAR = 1.5  # mm that the surface is known beyond a slanted end
LEANING = 3.0  # of a slanted nut's reach; much nearer, rows that come square would crowd


@dataclass(frozen=True, eq=False)
class NeckShape:
    """A neck's shaft, built once from a design and then only evaluated.

    length: mm from nut to heel end. nut_half, heel_half: half widths in mm.
    stations: (n,) mm from the nut, rising. board: thickness of the fretboard in mm.
    All sizes are the wood's. film: what is laid on it; the design's sizes are those over it.
    nut_slant: of the nut's end. before: mm that the surface goes on before x = 0, 0 where the
    nut is square and beyond the slanted end where it is not.
    """

    length: float
    nut_half: float
    heel_half: float
    board: float
    stations: Array
    depth_curve: BPoly
    dial_curves: BPoly
    channels: tuple[Channel, ...]
    film: NeckFilm = BARE
    nut_slant: float = 0.0
    before: float = 0.0

    def half_width(self, x: Array) -> Array:
        """(n,) half width of the glue face in mm at x (n,)."""
        return np.asarray(
            self.nut_half + (self.heel_half - self.nut_half) * self._on_neck(x) / self.length
        )

    def depth(self, x: Array) -> Array:
        """(n,) neck depth below the glue plane in mm at x (n,), positive downward."""
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
            depth_curve=BPoly(depth.c + self.film.back, depth.x),
            film=replace(BARE, board_top=self.film.board_top),
        )

    def controls(self, x: Array) -> tuple[Array, Array]:
        """Control points of the bass and treble half-sections at x (n,).

        Returns two (n, 6, 2) arrays in mm: outward from the centre line, and up.
        """
        x = self._on_neck(x)
        shoulders, keels = self.dial_curves(x).reshape(-1, 2, 2).transpose(2, 1, 0)
        size = np.stack([self.half_width(x), self.depth(x)], axis=-1)[..., None, :]
        bass, treble = half_section(shoulders, keels, keels.mean(axis=0)) * size
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
        return points

    @property
    def square_from(self) -> float:
        """Where rows that lean with a slanted nut have come square, mm from the nut; 0 if none.

        The first station where it is far enough: three times as far as the nut's corners reach.
        """
        if self.nut_slant == 0:
            return 0.0
        far = LEANING * abs(self.nut_slant) * self.nut_half
        first = float(self.stations[0])
        return min(first if first >= far else far, self.length)

    def rows(self, x: Array, t: Array) -> Array:
        """Points of the back on rows that lean with the nut's end and come square evenly.

        x: (n,) mm where a row crosses the centre line, from 0 on; t: (m,) as in ``surface``.
        Returns (n, m, 3) mm. The row at 0 is the nut's end, every point of it in its plane.
        """
        leaning = x < self.square_from
        if not leaning.any():
            return self.surface(x, t)
        points = np.empty((len(x), len(t), 3))
        points[~leaning] = self.surface(x[~leaning], t)
        lean = self.nut_slant * (1 - x[leaning] / self.square_from)
        points[leaning] = self._on_planes(x[leaning], lean, t)
        return points

    def section(self, x: float, count: int = 81) -> Array:
        """The back's section at x as a polyline, bass edge to treble edge. (2 count - 1, 2) mm."""
        half = np.linspace(0, 1, count)
        return np.asarray(self.surface(np.array([x]), np.r_[-half[::-1], half[1:]])[0, :, 1:])

    def section_area(self, x: Array) -> Array:
        """(n,) area of the wood in the section at x (n,) in mm^2, channels taken out."""
        bass, treble = self.controls(x)
        return half_area(bass) + half_area(treble) - removed_area(self.channels, x)

    def breaks(self) -> Array:
        """Places in mm between which everything is smooth, from 0 to the heel end."""
        places = [0.0, self.length, *self.stations]
        for channel in self.channels:
            places += list(channel.floor[:, 0])
        return np.unique(np.clip(places, 0.0, self.length))

    def volume(self) -> float:
        """Volume in mm^3 as the integral of the sections' areas: no mesh takes part."""
        nodes, weights = _GAUSS
        places = self.breaks()
        starts, spans = places[:-1, None], np.diff(places)[:, None]
        # a channel's area jumps at its end: Gauss's nodes lie inside the pieces, never on it
        x = (starts + spans * (nodes + 1) / 2).ravel()
        areas = self.section_area(x).reshape(len(spans), -1)
        return float((areas @ weights * spans[:, 0] / 2).sum()) + self._beyond_square_end()

    def _beyond_square_end(self) -> float:
        """Volume in mm^3 between a square end at x = 0 and a slanted one, what lacks negative.

        Planes x = w slant y with w from 0 to 1 sweep it: dx = slant y dw. A channel on the
        centre line loses on one side what it gains on the other, but for its floor's slope.
        """
        if self.nut_slant == 0:
            return 0.0
        nodes, weights = _GAUSS
        t = np.r_[(nodes - 1) / 2, (nodes + 1) / 2]
        across = np.r_[weights, weights] / 2
        total = 0.0
        for share, turning in zip((nodes + 1) / 2, weights / 2, strict=True):
            slant = float(share) * self.nut_slant
            points, by_t = self._on_plane(slant, t)
            total += float(turning * (across * points[:, 2] * self.nut_slant * points[:, 1]) @ by_t)
        return total

    def _on_plane(self, slant: float, t: Array) -> tuple[Array, Array]:
        """Points (m, 3) in mm of the back in the plane x = slant y, and dy/dt in it (m,)."""
        points = self._on_planes(np.zeros(1), np.array([slant]), t)[0]
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
        if x.size and (x.min() < -self.before - 1e-9 or x.max() > self.length + 1e-9):
            far = float(x.min() if x.min() < 0 else x.max())
            raise OutsidePart(
                f"{far:.2f} mm from the nut is not on the neck, which ends at {self.length:.2f} mm"
            )
        return x


def neck_shape(
    neck: Neck,
    scale_length: float,
    board: float,
    film: NeckFilm = BARE,
    nut_slant: float = 0.0,
) -> NeckShape:
    """The neck's shaft as the design asks for it.

    scale_length, board: scale length and thickness of the fretboard in mm. film: thickness
    at the stations is over it, and the wood stands back at the glue edge by it. nut_slant: of
    the nut's line x = nut_slant y from above.
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
    before = 0.0
    if nut_slant != 0:  # the line meets the edge y = h + k x at |x| = |slant| h / (1 + |slant| k)
        flare = (neck.heel_width - neck.nut_width) / 2 / length
        before = abs(nut_slant) * neck.nut_width / 2 / (1 + abs(nut_slant) * flare) + CLEAR
    reach = (-before, length)
    # sides alike, as most are, need each of their curves only once
    curves = {
        column: smooth_through(x, np.array(column), reach, "level")
        for column in {tuple(column) for column in sides.T.tolist()}
    }
    dials = [curves[tuple(column)] for column in sides.T.tolist()]
    # the four have the same knots, so they are looked up as one
    dial_curves = BPoly(np.stack([dial.c for dial in dials], axis=-1), dials[0].x)
    return NeckShape(
        length=length,
        nut_half=neck.nut_width / 2 - film.narrower,
        heel_half=neck.heel_width / 2 - film.narrower,
        board=board,
        stations=x,
        depth_curve=smooth_through(x, depth, reach, "straight"),
        dial_curves=dial_curves,
        channels=channels(neck.truss_rod, scale_length),
        film=film,
        nut_slant=nut_slant,
        before=before,
    )
