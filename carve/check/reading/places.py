"""A place on the body in words, as a builder finds it with a rule."""

from carve.design.schema.design import Design
from carve.design.values.units import show_length

ON_LINE = 0.05  # mm; nearer to the centre line a place is said to be on it


def show_body_place(design: Design, x: float, y: float) -> str:
    """``120 mm from the body's edge, 33.5 mm to the treble side``. x, y: mm in the body's frame."""
    along = f"{show_length(x, design.units)} from the body's edge"
    if abs(y) < ON_LINE:
        return f"{along}, on the centre line"
    side = "treble" if y > 0 else "bass"
    return f"{along}, {show_length(abs(y), design.units)} to the {side} side"
