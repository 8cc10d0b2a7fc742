"""Figures by which a surface can be coloured: height, slope, curvature, and zebra.

Zebra is the old way of a body shop to judge a panel: look at the mirror images of parallel strip
lights in it. They run evenly where the surface does; where they have a corner its curvature
jumps, and where they are broken off it has a crease.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from carve.arrays import Array
from carve.shape.numeric.jet import Jet
from carve.shape.plate.relief import Relief, heights_over
from carve.shape.views.kit.drawing import Colours

SPACING = 4.0  # mm of the grid on which a figure's range is looked for
METRE = 1000.0  # mm; curvature is given per metre, so that it has no zeros in front
LEAST_SLOPE, LEAST_BEND = 5.0, 1.0  # degrees, 1/m: what a scale spans at least
SURE = 0.9  # of a plate is less curved than the ends of the scale; a cove may be more
UPWARD = np.array([0.0, 0.0, 1.0])
ALONG, ACROSS = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
ZEBRA_OF_PLATE = 93.0  # degrees, a slope of 46 either way; plates are flatter
ZEBRA_LABEL = "zebra: degrees from where one looks to the light that is mirrored"


@dataclass(frozen=True)
class ColourField:
    """A figure that colours a part's surfaces.

    label: what it is, with its unit. values: by the surface's name, from points (n, 3) mm on it
    to (n,). lowest, highest: values at the ends of the colours.
    """

    label: str
    values: Mapping[str, Callable[[Array], Array]]
    lowest: float
    highest: float
    colours: Colours = "thin to thick"


class Carved(Relief, Protocol):
    """A height over the plan that knows its slopes at any point."""

    def jet(self, x: Array, y: Array) -> Jet:
        """Height, slopes and second derivatives at points x, y (n,) mm."""
        ...


@dataclass(frozen=True)
class OutsideFace:
    """A carved face of a part. surface: its heights outward from its edge plane.

    outward: 1 where its outside is up, -1 where it is down. edge: z of its edge plane in mm.
    """

    surface: Carved
    outward: float = 1.0
    edge: float = 0.0

    def height(self, points: Array) -> Array:
        """(n,) mm outward from the edge plane, of points (n, 3) on the face."""
        return np.asarray(self.outward * (points[:, 2] - self.edge))

    def slope(self, points: Array) -> Array:
        """(n,) degrees against the edge plane."""
        return slope(self.surface.jet(*points[:, :2].T))

    def bend(self, points: Array) -> Array:
        """(n,) mean curvature in 1/m, positive where the face is round."""
        return -mean_curvature(self.surface.jet(*points[:, :2].T)) * METRE

    def normals(self, points: Array) -> Array:
        """(n, 3) unit vectors square to the face, outward."""
        return self.surface.jet(*points[:, :2].T).normal * [1.0, 1.0, self.outward]


def slope(jet: Jet) -> Array:
    """Degrees between the surface and the plane it is drawn on; as the jet's arrays."""
    return np.asarray(np.degrees(np.arctan(jet.steepness)))


def mean_curvature(jet: Jet) -> Array:
    """Mean of the two principal curvatures in 1/mm, positive where the surface is hollow."""
    least, greatest = jet.curvatures
    return np.asarray((least + greatest) / 2)


def zebra(normals: Array, towards: Array, across: Array) -> Array:
    """Which of many parallel strip lights is mirrored in a surface: its angle in degrees.

    normals: (..., 3) unit vectors. towards: (3,) unit vector to the eye, which is far away.
    across: (3,) unit vector, square to it and to the lights. Returns (...), -180 to 180.

    A mirror sends the line of sight v off in the direction r = 2 (n.v) n - v. The lights lie on a
    wide tunnel around the surface, each straight along it; which of them r meets is its angle
    about the tunnel's axis, atan2(r.s, r.v), where s points across the lights. Bands of even
    width in that angle are the stripes. It goes with the normal alone: it is as smooth as the
    slope is, one order less than the surface. So a corner in a stripe tells of a jump in
    curvature, and a crease of a degrees shifts the stripes by 2 a.
    """
    facing = normals @ towards
    to_side = 2 * facing * (normals @ across)
    to_eye = 2 * facing**2 - 1
    return np.asarray(np.degrees(np.arctan2(to_side, to_eye)))


def face_shades(faces: Mapping[str, OutsideFace], outline: Array) -> dict[str, ColourField]:
    """The shades of carved faces over one outline (n, 2) mm, by name.

    faces: by the name of their surface on the part's mesh. Scales end at whole figures, so that
    they stay where they are while a dial turns.
    """
    if not faces:
        return {}
    looks = []
    for face in faces.values():
        heights = heights_over(face.surface, outline, SPACING)
        jet = face.surface.grid_jet(heights.x, heights.y)
        within = heights.within
        out = jet.z[within]
        bend = np.quantile(np.abs(mean_curvature(jet)[within]), SURE) * METRE
        looks.append((out.min(), out.max(), slope(jet)[within].max(), bend))
    lows, highs, slopes, bends = np.array(looks).T
    steepest = LEAST_SLOPE * max(1, math.ceil(slopes.max() / LEAST_SLOPE - 1e-9))
    bent = _round_figure(max(float(bends.max()), LEAST_BEND))
    low, high = math.floor(lows.min() + 1e-6), math.ceil(highs.max() - 1e-6)
    ways = {name: face.normals for name, face in faces.items()}
    views = {name: face.outward * UPWARD for name, face in faces.items()}
    return {
        "height": ColourField(
            "height over the edge plane, mm",
            {name: face.height for name, face in faces.items()},
            low,
            max(high, low + 1),
            "low to high",
        ),
        "slope": ColourField(
            "slope, degrees",
            {name: face.slope for name, face in faces.items()},
            0.0,
            steepest,
            "low to high",
        ),
        "curvature": ColourField(
            "mean curvature, 1/m: hollow below 0, round above",
            {name: face.bend for name, face in faces.items()},
            -bent,
            bent,
            "hollow to round",
        ),
        "zebra, lights along": _zebra_shade(ways, views, ACROSS),
        "zebra, lights across": _zebra_shade(ways, views, ALONG),
    }


def _zebra_shade(
    normals: Mapping[str, Callable[[Array], Array]], views: Mapping[str, Array], across: Array
) -> ColourField:
    def seen(name: str) -> Callable[[Array], Array]:
        return lambda points: zebra(normals[name](points), views[name], across)

    values = {name: seen(name) for name in normals}
    return ColourField(ZEBRA_LABEL, values, -ZEBRA_OF_PLATE, ZEBRA_OF_PLATE, "stripes")


def _round_figure(least: float) -> float:
    """The next number that is 1, 2 or 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(power * step for step in (1, 2, 5, 10) if power * step >= least * (1 - 1e-9))
