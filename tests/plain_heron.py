"""The example heron without bow and finish, its string told by round numbers."""

from carve.design import with_values


def plain_heron(heron, **more):
    """The archtop without bow and finish, its string told by round numbers."""
    values = {
        "scale_length": 650.0,
        "fretboard.thickness": 5.5,
        "finish": None,
        "action": {"bass": 2.0, "treble": 2.0, "fret_height": 1.0, "nut_height": 1.25},
    }
    return with_values(heron, {**values, **more})
