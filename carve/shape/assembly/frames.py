"""Where the parts stand to one another: every move from one frame to another as a 4 x 4 matrix.

The instrument's frame: origin on the centre line at the nut, on the plane where neck and
fretboard are glued; x to the bridge, y to the treble side, z up toward the strings. The
body's frame: origin on the centre line at the body's edge where the neck meets it, on the
top's edge plane; x along that plane to the bridge, z square to it and up.
"""

import numpy as np

from carve.arrays import Array

INSTRUMENT = (
    "right-handed; origin on the centre line at the nut, on the plane where fretboard and neck "
    "are glued; x toward the bridge, y to the {side} side, z up toward the strings"
)
BODYS = (
    "right-handed; origin on the centre line at the body's edge where the neck meets it, on the "
    "plane of the top's edge; x toward the tail, y to the {side} side, z up out of the top"
)
COVERS = (
    "right-handed; origin in the middle of the box around the cover, on its outside; x toward the "
    "tail, y to the {side} side, z up out of the body's top, as the cover lies in the body"
)
"""The frames in words, for files; ``in_words`` says which side is which."""


def in_words(frame: str, handed: str) -> str:
    """A frame in words for an instrument of a hand, "right" or "left"."""
    return frame.format(side="bass" if handed == "left" else "treble")


def instrument_to_body(at: float, angle: float, height: float) -> Array:
    """From the instrument's frame to the body's. Returns (4, 4).

    at: mm from the nut to the body's edge. angle: radians that the neck leans back, so that
    the glue plane rises toward the bridge as the body sees it. height: mm of the glue plane
    above the body's edge plane at the body's edge.
    """
    sine, cosine = np.sin(angle), np.cos(angle)
    return np.array(
        [
            [cosine, 0.0, -sine, -at * cosine],
            [0.0, 1.0, 0.0, 0.0],
            [sine, 0.0, cosine, height - at * sine],
            [0.0, 0.0, 0.0, 1.0],
        ]
    )


def inverse_rigid(matrix: Array) -> Array:
    """The move back again. matrix: (4, 4), a turn and a shift."""
    turn, shift = matrix[:3, :3], matrix[:3, 3]
    back = np.eye(4)
    back[:3, :3], back[:3, 3] = turn.T, -turn.T @ shift
    return back


def moved(points: Array, matrix: Array) -> Array:
    """Points (n, 3) in mm through a matrix (4, 4). Returns (n, 3) mm."""
    return np.asarray(points @ matrix[:3, :3].T + matrix[:3, 3])
