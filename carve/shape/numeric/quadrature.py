"""Integrals over a plan: Gauss's rule between the corners' levels, where its sides are straight."""

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array, IntArray

NODES, WEIGHTS = np.polynomial.legendre.leggauss(3)
PANEL = 6.0  # mm that one rule spans at most
SAME_LEVEL = 1e-6  # mm; corners no further apart are on one level


def quadrature(region: BaseGeometry) -> tuple[Array, Array]:
    """Points (n, 2) mm in a region, and weights (n,) mm^2: an integral is weights @ values."""
    found = [
        _one(part)
        for part in shapely.get_parts(region)
        if part.geom_type == "Polygon" and part.area > 0
    ]
    if not found:
        return np.zeros((0, 2)), np.zeros(0)
    points, weights = zip(*found, strict=True)
    return np.concatenate(points), np.concatenate(weights)


def ring_points(region: BaseGeometry) -> Array:
    """(n, 2) mm around a region, ``PANEL`` apart at most."""
    return np.asarray(shapely.get_coordinates(shapely.segmentize(region, PANEL)))


def _one(part: shapely.Polygon) -> tuple[Array, Array]:
    starts, stops = (
        np.concatenate(ends)
        for ends in zip(*((ring[:-1], ring[1:]) for ring in _rings(part)), strict=True)
    )
    levels = np.unique(starts[:, 1])
    levels = levels[np.r_[True, np.diff(levels) > SAME_LEVEL]]
    y, by_y = _rule(levels[:-1], levels[1:])
    low, high = np.minimum(starts[:, 1], stops[:, 1]), np.maximum(starts[:, 1], stops[:, 1])
    # no row lies on a corner, so each is crossed by whole sides
    row, side = np.nonzero((low < y[:, None]) & (y[:, None] < high))
    a, b = starts[side], stops[side]
    x = a[:, 0] + (y[row] - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    order = np.lexsort([x, row])
    x, row = x[order], row[order]
    first, last, row = x[0::2], x[1::2], row[0::2]
    counts = _counts(first, last)
    along, by_x = _rule(first, last)
    rows = np.repeat(row, counts * len(NODES))
    return np.stack([along, y[rows]], axis=1), by_x * by_y[rows]


def _rings(part: shapely.Polygon) -> Iterator[Array]:
    for ring in (part.exterior, *part.interiors):
        yield np.asarray(ring.coords)


def _counts(starts: Array, stops: Array) -> IntArray:
    return np.asarray(np.maximum(1, np.ceil((stops - starts) / PANEL)), dtype=np.int64)


def _rule(starts: Array, stops: Array) -> tuple[Array, Array]:
    """Nodes and weights over stretches, each in panels of its own."""
    counts = _counts(starts, stops)
    stretch = np.repeat(np.arange(len(starts)), counts)
    number = np.arange(len(stretch)) - np.repeat(np.cumsum(counts) - counts, counts)
    size = ((stops - starts) / counts)[stretch]
    middle = starts[stretch] + (number + 0.5) * size
    nodes = middle[:, None] + size[:, None] / 2 * NODES
    return nodes.ravel(), (size[:, None] / 2 * WEIGHTS).ravel()


def read_from(values: Array, lines: tuple[Array, Array], points: Array) -> Array:
    """(k,) values at points (k, 2), straight between those (n, m) on a grid's lines."""
    x, y = lines
    spots = [(points[:, 0] - x[0]) / (x[1] - x[0]), (points[:, 1] - y[0]) / (y[1] - y[0])]
    from scipy.ndimage import map_coordinates  # only a carved face needs it: a neck waits less

    return np.asarray(map_coordinates(values, spots, order=1, mode="nearest"))
