"""The keys that hang together: what is read where a check asks for a place, a string or a neck.

A check names these beside its own (``carve.check.declare``).
"""

SCALE = (
    "scale_length",
    "fretboard.frets",
    "fretboard.temperament",
    "fretboard.treble_scale_length",
    "fretboard.perpendicular_fret",
    "strings",
    "neck.nut_width",
    "neck.heel_width",
    "neck.heel_end",
    "neck.heel.kind",
    "joint.at",
)
"""For any place along the neck: those of frets, nut and saddle hang on both scale lengths."""

PLACE = ("units", *SCALE)
"""For a place along the neck in words, as ``show_place`` has it."""

BOARD = ("fretboard", *SCALE)
"""For the fretboard's plan."""

STRING_HEIGHTS = (*BOARD, "action", "bridge.compensation", "finish")
"""For the strings over the frets."""

SIDE_VIEW = (*STRING_HEIGHTS, "bridge", "joint", "body.top")
"""For the side view, and for how the neck stands on the body."""

HEEL_IN_BODY = (*SIDE_VIEW, "neck.heel")
"""For the heel as the body sees it."""

CARVED_FACES = ("body.top", "body.back")
"""For the carved faces of a body."""
