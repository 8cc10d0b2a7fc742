"""From a builder's page to the instrument: which way the neck is, and where the edge lies.

The placed frame has its origin where the centre line meets the edge toward the neck; x runs
away from the neck, y to the treble side. For a body that is the body's frame (``frames``); of
a headstock ``behind_nut`` makes the instrument's.
"""

import math

import numpy as np

from carve.arrays import Array
from carve.design.derived.outline_choice import DrawingPage, centre_line
from carve.design.schema.outline import OutlineFile, PageSide
from carve.design.values.curve import Curve, Move, Point, moved_pieces
from carve.errors import ShapeError
from carve.shape.outlines.problems import CentreLineLeans, CentreLineMisses, Owner
from carve.shape.planar.curves import curve_extent, meets_axis

MOST_LEAN = math.radians(5.0)  # that a centre line may lean against the page

_TOWARD: dict[PageSide, Point] = {
    "up": (0.0, 1.0),
    "down": (0.0, -1.0),
    "left": (-1.0, 0.0),
    "right": (1.0, 0.0),
}


def move_to_frame(page: DrawingPage, curve: Curve, outline: OutlineFile, of: Owner) -> Move:
    """From the page to the placed frame: a turn and a shift, and a flip where one is needed.

    curve: the outline on the page. Raises ShapeError where the centre line leans too much
    against the page or does not meet the outline.
    """
    toward = np.array(_TOWARD[outline.neck_toward])
    origin, neck = _centre(page, outline, toward, of)
    away = -neck
    # from the front the treble side is on the right: of a body with its neck up, of a
    # headstock with its neck down
    treble = np.array([-away[1], away[0]])
    mirrored = (outline.seen_from == "back") != (outline.handed == "left")
    if mirrored != (of == "headstock"):
        treble = -treble
    turn = np.stack([away, treble])
    shift = -turn @ origin
    if outline.edge_at is None:
        centred = moved_pieces(curve.pieces, _as_move(turn, shift))
        shift = shift - np.array([_edge(Curve(curve.name, centred), outline, of), 0.0])
    else:
        along = outline.edge_at * (-1.0 if page.y_down and abs(toward[1]) else 1.0)
        edge = origin + neck * ((along - origin @ abs(toward)) / (neck @ abs(toward)))
        shift = -turn @ edge
    return _as_move(turn, shift)


def _centre(
    page: DrawingPage, outline: OutlineFile, toward: Array, of: Owner
) -> tuple[Array, Array]:
    """A point of the centre line on the page, and which way along it the neck is."""
    if outline.centre_layer is None:
        assert outline.centre_at is not None  # the rules see to it
        across = abs(toward[::-1])
        return across * outline.centre_at * (-1.0 if page.y_down and across[1] else 1.0), toward
    start, stop = (np.array(end) for end in centre_line(page, outline.centre_layer))
    along = (stop - start) / np.linalg.norm(stop - start)
    along = along if along @ toward >= 0 else -along
    lean = math.acos(min(1.0, float(along @ toward)))
    if lean > MOST_LEAN:
        raise ShapeError(CentreLineLeans(of, lean, MOST_LEAN, outline.neck_toward))
    return start, along


def _as_move(turn: Array, shift: Array) -> Move:
    (a, c), (b, d) = turn.tolist()
    e, f = shift.tolist()
    return a, b, c, d, e, f


def _edge(curve: Curve, outline: OutlineFile, of: Owner) -> float:
    """Where the centre line, y = 0, first meets a curve, by x in mm."""
    pieces = np.array(curve.pieces, dtype=float)
    near = (pieces[..., 1].min(axis=1) <= 0) & (pieces[..., 1].max(axis=1) >= 0)
    crossings = [x for piece in pieces[near] for x in meets_axis(piece)]
    if not crossings:
        (_, low), (_, high) = curve_extent(curve)
        beside = float(min(abs(low), abs(high)))
        raise ShapeError(CentreLineMisses(of, beside, outline.centre_layer is not None))
    return min(crossings)
