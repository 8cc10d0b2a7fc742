"""Figures by which a neck's back can be coloured.

Normals and curvature are those of the surface itself. A mesh's own would be as coarse as its
facets, and a zebra of them would show the facets.
"""

from dataclasses import dataclass

import numpy as np

from carve.arrays import Array, BoolArray
from carve.shape.neck.section import bernstein
from carve.shape.neck.shape import NeckShape
from carve.shape.views.kit.colour_fields import (
    ACROSS,
    METRE,
    UPWARD,
    ZEBRA_LABEL,
    ColourField,
    zebra,
)

NEAREST_SAMPLES = 17  # places on each half-section from which the nearest is taken
NEWTON_ROUNDS = 4  # of Gauss-Newton from there; each squares the error
ALONG_STEP = 0.05  # mm, of differences along the neck
ACROSS_STEP = 1e-3  # of a half-section
INSIDE = 0.01  # of a half-section, at least, from its edge
BEND = 60.0  # 1/m, a mean curvature that hardly a neck's keel exceeds
WHOLE_TURN = 186.0  # degrees either way: the flanks stand upright, at 180


def neck_shades(
    shape: NeckShape, surface: str, thin: float, thick: float
) -> dict[str, ColourField]:
    """The shades of a neck's back, by name.

    surface: name of the back on the mesh. thin, thick: mm of wood at the ends of the colours.
    """

    def wood_left(points: Array) -> Array:
        return np.asarray(np.min([c.to_channel(points) for c in shape.channels], axis=0))

    def seen(points: Array) -> Array:
        return zebra(back_at(shape, points).normals, -UPWARD, ACROSS)

    def bend(points: Array) -> Array:
        return back_at(shape, points).mean_curvature * METRE

    shades = {}
    if shape.channels:
        label = "wood left over the channel, mm"
        shades["wood left"] = ColourField(label, {surface: wood_left}, thin, thick)
    label = "mean curvature, 1/m: hollow below 0, round above"
    shades["curvature"] = ColourField(label, {surface: bend}, -BEND, BEND, "hollow to round")
    shades["zebra, lights along"] = ColourField(
        ZEBRA_LABEL, {surface: seen}, -WHOLE_TURN, WHOLE_TURN, "stripes"
    )
    return shades


@dataclass(frozen=True, eq=False)
class BackAt:
    """A neck's back at (n,) places. normals: (n, 3), outward. mean_curvature: (n,) 1/mm, positive
    where it is round.
    """

    normals: Array
    mean_curvature: Array


def back_at(shape: NeckShape, points: Array) -> BackAt:
    """What the back is like at points (n, 3) mm on it, as those of its mesh are.

    Derivatives are taken as differences of the surface, whose pieces are polynomials.
    """
    first, last = shape.start - shape.before, shape.carved_end + shape.after
    # a little inside, where there is surface on both sides
    x = np.clip(points[:, 0], first + ALONG_STEP, last - 2 * ALONG_STEP)
    treble = points[:, 1] >= 0
    u = _nearest(_Halves(shape, x, treble), points)
    h, k = ALONG_STEP, ACROSS_STEP
    nine = np.stack([u - k, u, u + k], axis=-1)
    at = {i: _Halves(shape, x + i * h, treble).points(_weights(nine)) for i in (-1, 0, 1)}
    by_x = (at[1][:, 1] - at[-1][:, 1]) / (2 * h)
    by_u = (at[0][:, 2] - at[0][:, 0]) / (2 * k)
    xx = (at[1][:, 1] - 2 * at[0][:, 1] + at[-1][:, 1]) / h**2
    uu = (at[0][:, 2] - 2 * at[0][:, 1] + at[0][:, 0]) / k**2
    xu = (at[1][:, 2] - at[1][:, 0] - at[-1][:, 2] + at[-1][:, 0]) / (4 * h * k)
    square = np.cross(by_x, by_u)
    square *= np.where(treble, 1.0, -1.0)[:, None]  # u runs inward on both sides
    normals = square / np.linalg.norm(square, axis=1)[:, None]
    e, f, g = (_dot(a, b) for a, b in ((by_x, by_x), (by_x, by_u), (by_u, by_u)))
    # mean curvature by the fundamental forms (do Carmo, section 3-3; from memory)
    inward = [_dot(second, normals) for second in (xx, xu, uu)]
    mean = (g * inward[0] - 2 * f * inward[1] + e * inward[2]) / (2 * (e * g - f**2))
    return BackAt(normals, -mean)


class _Halves:
    """The half-section on which each of (n,) places lies."""

    def __init__(self, shape: NeckShape, x: Array, treble: BoolArray) -> None:
        rows, which = np.unique(x, return_inverse=True)  # a mesh has many points in a row
        bass_side, treble_side = shape.controls(rows)
        self.x, self.volute = x, shape.volute
        self.sign = np.where(treble, 1.0, -1.0)
        self.controls = np.where(treble[:, None, None], treble_side[which], bass_side[which])

    def points(self, weights: Array) -> Array:
        """(n, m, 3) mm. weights: of the control points, (m, 6) or (n, m, 6)."""
        across = weights @ self.controls
        y, z = across[..., 0] * self.sign[:, None], across[..., 1]
        along = np.broadcast_to(self.x[:, None], y.shape)
        if self.volute is not None:
            z = z - self.volute.rise(along, y)
        return np.stack([along, y, z], axis=-1)


def _nearest(halves: _Halves, points: Array) -> Array:
    """(n,) u, 0 at the edge to 1 at the keel, of the section's place nearest to each point."""
    looks = bernstein(np.linspace(0, 1, NEAREST_SAMPLES))
    away = halves.points(looks)[..., 1:] - points[:, None, 1:]
    u = np.argmin((away**2).sum(axis=-1), axis=1) / (NEAREST_SAMPLES - 1)
    k = ACROSS_STEP
    for _ in range(NEWTON_ROUNDS):
        three = _weights(np.stack([u - k, u, u + k], axis=-1))
        before, here, after = np.moveaxis(halves.points(three)[..., 1:], 1, 0)
        slope = (after - before) / (2 * k)
        step = _dot(here - points[:, 1:], slope) / _dot(slope, slope)
        # where the section has become flat its edge is a corner, which has no normal
        u = np.clip(u - step, INSIDE, 1.0)
    return np.asarray(u)


def _weights(u: Array) -> Array:
    """(n, m, 6) of the control points at u (n, m)."""
    return bernstein(u.ravel()).reshape(*u.shape, -1)


def _dot(a: Array, b: Array) -> Array:
    return np.asarray((a * b).sum(axis=-1))
