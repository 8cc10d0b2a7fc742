"""The neck's sections as areas, and its volume as their integral: no mesh takes part."""

from collections.abc import Callable
from functools import partial

import numpy as np

from carve.arrays import Array, BoolArray
from carve.shape.neck.carved_heel import CapShape
from carve.shape.neck.channel import removed_area
from carve.shape.neck.heel import HeelShape
from carve.shape.neck.section import half_area
from carve.shape.neck.shape import NeckShape
from carve.shape.neck.slanted_end import volume_before_square

AREA_PANELS, AREA_NODES = 12, 4  # of a half-section; Gauss's rule is then within 0.01 mm^2
HEEL_POINTS = 1601  # across a section whose cap begins anywhere: within 0.01 mm^2
VOLUME_CHORD = 0.001  # mm; outlines are that close when their area counts

_ALONG = np.polynomial.legendre.leggauss(8)  # with 16 a neck's volume differs by 0.01 mm^3


def _panels() -> tuple[Array, Array]:
    """Gauss's nodes over t from -1 to 1 in equal panels, and their weights."""
    nodes, weights = np.polynomial.legendre.leggauss(AREA_NODES)
    edges = np.linspace(-1, 1, 2 * AREA_PANELS + 1)
    half = 1 / (2 * AREA_PANELS)
    t = (edges[:-1, None] + half * (nodes + 1)).ravel()
    return t, np.tile(weights * half, 2 * AREA_PANELS)


_ACROSS, _ACROSS_WEIGHTS = _panels()


def section_area(neck: NeckShape, x: Array) -> Array:
    """(n,) area of the wood in the section at x (n,) in mm^2, channels taken out."""
    x = np.asarray(x, dtype=float)
    bass, treble = neck.controls(x)
    wood = half_area(bass) + half_area(treble)
    odd = _has_more_than_back(neck, x)
    if odd.any():
        wood[odd] = _area_by_points(neck, x[odd])
    if neck.heel is not None and neck.cap is not None:
        low = x > neck.cap.nose
        if low.any():
            wood[low] = _area_of_heel(neck, neck.heel, neck.cap, x[low])
    return wood - removed_area(neck.channels, x, neck.top_depth(x))


def _has_more_than_back(neck: NeckShape, x: Array) -> BoolArray:
    """(n,) where the section is not two half-sections and nothing else."""
    odd = np.zeros(x.shape, dtype=bool) if neck.head is None else x < 0
    if neck.volute is not None:
        odd |= (x > neck.volute.reach[0]) & (x < neck.volute.reach[1])
    return odd


def _area_by_points(neck: NeckShape, x: Array) -> Array:
    """(n,) mm^2 between back and face, by Gauss's rule on panels of the section."""
    points, by_t = (neck.surface(x, _ACROSS, order) for order in (0, 1))
    face = np.zeros_like(x) if neck.head is None else -neck.head.face_depth(x)
    wood = np.maximum(face[:, None] - points[..., 2], 0.0)
    return np.asarray((wood * by_t[..., 1]) @ _ACROSS_WEIGHTS)


def _area_of_heel(neck: NeckShape, heel: HeelShape, cap: CapShape, x: Array) -> Array:
    """(n,) mm^2 of a carved heel above its cap and before the body, by the trapezoid rule.

    Where its face leans, the tongue comes out of it before the body's edge.
    """
    points, face = neck.surface(x, np.linspace(-1, 1, HEEL_POINTS)), cap.face_depth(x)
    depth = np.minimum(-points[..., 2], np.minimum(cap.depth, face)[:, None])
    wood = np.asarray(np.trapezoid(depth, points[..., 1], axis=1))
    if heel.butts:
        return wood
    return wood + 2 * heel.half_at(x) * np.maximum(heel.depth - face, 0.0)


def neck_volume(neck: NeckShape) -> float:
    """Volume in mm^3 as the integral of the sections' areas: no mesh takes part."""
    places = neck.breaks()
    total = _integral(partial(section_area, neck), places[places <= neck.carved_end])
    if neck.heel is not None:
        total += neck.heel.volume()
        total -= _channels_between(neck, places[places >= neck.carved_end])
    if neck.head is not None:
        total += neck.head.volume_beyond(VOLUME_CHORD)
        reach = min([neck.start, *(channel.start for channel in neck.channels)])
        total -= _channels_between(neck, np.array([reach, neck.start]))
    if neck.ends_slanted:
        total += volume_before_square(neck, 0.0, neck.nut_slant)
    if neck.heel is None:
        total -= volume_before_square(neck, neck.length, neck.heel_slant)
    return total


def _channels_between(neck: NeckShape, places: Array) -> float:
    """Volume in mm^3 of the channels below the top, where all is smooth between places."""

    def cut(x: Array) -> Array:
        return removed_area(neck.channels, x, neck.top_depth(x))

    return _integral(cut, places)


def _integral(of: Callable[[Array], Array], places: Array) -> float:
    """Integral over x of a function of x (n,) that is smooth between the places (n,)."""
    nodes, weights = _ALONG
    starts, spans = places[:-1, None], np.diff(places)[:, None]
    # a channel's area jumps at its end: Gauss's nodes lie inside the pieces, never on it
    x = (starts + spans * (nodes + 1) / 2).ravel()
    return float((of(x).reshape(len(spans), len(nodes)) @ weights * spans[:, 0] / 2).sum())
