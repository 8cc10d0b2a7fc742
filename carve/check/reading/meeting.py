"""Neck and fretboard where they meet, read off their meshes, for the checks that speak of them."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.parts.job import Job, Part
from carve.shape.fretboard.shape import FretboardShape
from carve.shape.neck.shape import NeckShape
from carve.solid.fretboard import NUT_END as BOARD_NUT
from carve.solid.fretboard import NUT_SLOT, SLOTS
from carve.solid.mesh import Mesh
from carve.solid.neck import NUT_END as NECK_NUT

PLACES = 41
NUDGE = 1e-6  # mm; a slice at the very end of a part takes its plane this far inside
BESIDE_CUT = 4.0  # mm; no slot's walls are further apart


@dataclass(frozen=True, eq=False)
class Meeting:
    """The edges of two glue faces where both are.

    neck_part, board_part: the neck, and the fretboard that lies on it. x: (n,) mm from the nut.
    neck, board: (n, 2) y in mm of the bass and the treble edge of the wood, a binding counted as
    the board's wood.
    """

    neck_part: Part[NeckShape]
    board_part: Part[FretboardShape]
    x: Array
    neck: Array
    board: Array


def meetings(job: Job) -> Iterator[Meeting]:
    """Every neck with the fretboard that lies on it."""
    for neck in job.parts_with_shape(NeckShape):
        for board in job.parts_with_shape(FretboardShape):
            faces = neck.mesh.only("glue face"), board.mesh.only("glue face")
            # from where both are whole: a slanted nut's end reaches further on one side
            ends = (neck.mesh.only(NECK_NUT), board.mesh.only(BOARD_NUT))
            # and as long as the neck's edges are meant to be the board's: no headstock, no heel
            # of its own width; with a headstock a neck has no nut end
            first, last = neck.shape.tapered
            reached = [float(end.points[:, 0].max()) for end in ends if len(end.points)]
            start = max(first, *reached) + NUDGE
            end = min(last, *(float(face.points[:, 0].max()) for face in faces)) - NUDGE
            x = np.linspace(start, end, PLACES)
            x = x[_whole(board.mesh, x)]
            binding = board.shape.finished_half_width(x) - board.shape.half_width(x)
            edges = edges_at(faces[1], x) + np.stack([-binding, binding], axis=1)
            yield Meeting(neck, board, x, edges_at(faces[0], x), edges)


def _whole(board: Mesh, x: Array) -> Array:
    """(n,) which places x (n,) lie beside what is cut through a board's glue face.

    There its edges are no edges; that no wood is left is told by the check of wood.
    """
    through = [
        points[points[:, 2] < NUDGE, 0]
        for points in (board.only(name).points for name in (SLOTS, NUT_SLOT) if name in board.names)
    ]
    cut = np.concatenate([[-np.inf], *through])
    beside = np.abs(x[:, None] - cut).min(axis=1) > BESIDE_CUT
    return np.asarray(beside if beside.any() else ~beside)


def nut_line(end: Mesh) -> Array:
    """(2, 2) x, y in mm: a nut's end at the glue plane, its outermost points bass and treble."""
    low = end.points[np.abs(end.points[:, 2]) < NUDGE]
    return np.asarray(low[[np.argmin(low[:, 1]), np.argmax(low[:, 1])], :2])


def edges_at(face: Mesh, x: Array) -> Array:
    """(n, 2) least and greatest y in mm of a flat face at x (n,).

    Where the edges of its triangles cross the places, as ``slice_at`` has it for one place.
    """
    x0, y0 = face.corners[..., 0].ravel(), face.corners[..., 1].ravel()
    following = np.roll(face.corners, -1, axis=1)
    x1, y1 = following[..., 0].ravel(), following[..., 1].ravel()
    edge, place = np.nonzero((x0[:, None] >= x) != (x1[:, None] >= x))
    share = (x[place] - x0[edge]) / (x1[edge] - x0[edge])
    y = y0[edge] + share * (y1[edge] - y0[edge])
    least, greatest = np.full(len(x), np.inf), np.full(len(x), -np.inf)
    np.minimum.at(least, place, y)
    np.maximum.at(greatest, place, y)
    return np.stack([least, greatest], axis=1)
