"""Outlines seen from above: closed curves of cubic pieces, as points within a chord error."""

import math

import numpy as np

from carve.arrays import Array
from carve.design.curve import Curve
from carve.shape.plan import area

CHORDS_MOST = 4096  # of one piece: a piece of a metre bent to a circle keeps 0.1 micrometre


def pieces_of(curve: Curve) -> Array:
    """(k, 4, 2) control points in mm, counter-clockwise around."""
    controls = np.array(curve.pieces, dtype=float)
    if area(controls[:, :3].reshape(-1, 2)) < 0:
        controls = controls[::-1, ::-1]
    return controls


def polygon(curve: Curve, chord_error: float) -> Array:
    """(n, 2) points of a closed curve in mm, counter-clockwise, the first not repeated.

    chord_error: mm, how far a chord may be from its piece. The ends of all pieces are among them.
    """
    return np.concatenate([points_of(piece, chord_error)[:-1] for piece in pieces_of(curve)])


def points_of(piece: Array, chord_error: float) -> Array:
    """(n, 2) points of a cubic piece (4, 2), both ends among them, evenly spaced in its parameter.

    A chord over a step h is off by no more than h^2 / 8 of the greatest second derivative,
    which a cubic has at an end (de Boor, A Practical Guide to Splines; from memory).
    """
    bend = 6 * np.linalg.norm(np.diff(piece, 2, axis=0), axis=1).max()
    count = min(max(1, math.ceil(math.sqrt(bend / (8 * chord_error)))), CHORDS_MOST)
    return at(piece, np.linspace(0.0, 1.0, count + 1))


def at(piece: Array, t: Array) -> Array:
    """(n, 2) points of a cubic piece (4, 2) at parameters t (n,) from 0 to 1."""
    s = 1 - t
    weights = np.stack([s**3, 3 * s**2 * t, 3 * s * t**2, t**3], axis=-1)
    return np.asarray(weights @ piece)
