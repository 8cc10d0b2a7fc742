"""The colours that stand for figures.

Thin to thick: dark red through salmon to a pale blue: thin wood reads as danger in any light,
thick wood as cold and safe, and neither is a colour of wood. The lightness rises steadily from
one end to the other, so the order survives colour blindness and a grey print; equal steps in value
are very nearly equal steps in CIELAB (the anchors are evenly spaced along a smooth curve there).

Low to high: from deep water to sand, ever lighter. Hollow to round: two hues that part from a pale
middle, which is flat. Stripes: two tones, with nothing between that could hide a corner.
"""

import numpy as np
import numpy.typing as npt

from carve.shape.views.kit.drawing import Colours

ANCHORS: dict[Colours, tuple[str, ...]] = {
    "thin to thick": (
        *("#71141c", "#8e111c", "#b12520", "#d64b30", "#da664d", "#da7b6a"),
        *("#d68d88", "#cd9da4", "#bdabbf", "#abbed9", "#acdef7"),
    ),
    "low to high": ("#1f2f4f", "#2c5a73", "#4f8a86", "#93b48a", "#ecdfae"),
    "hollow to round": ("#1d4f7c", "#7aa5c6", "#f3f0ea", "#d19a68", "#7c3a12"),
}
BACKGROUND = "#f6f5f2"  # of maps and of the view in 3D
INK = "#333333"
STRIPES = ("#3a2c20", "#f3ead9")
BANDS = 31  # of stripes; odd, so that level ground lies amid one and not between two
STEPS = 248  # of a table: a whole number for each band


def colour_table(colours: Colours = "thin to thick", steps: int = STEPS) -> npt.NDArray[np.uint8]:
    """Colours from the lowest value to the highest.

    Returns (steps, 4) red, green, blue, opacity, each 0 to 255.
    """
    if colours == "stripes":
        band = (np.arange(steps) + 0.5) / steps * BANDS
        return np.asarray(_rgba(STRIPES)[band.astype(int) % 2], dtype=np.uint8)
    anchors = _rgba(ANCHORS[colours])
    at = np.linspace(0.0, len(anchors) - 1.0, steps)
    columns = [np.interp(at, np.arange(len(anchors)), column) for column in anchors.T]
    return np.round(np.stack(columns, axis=1)).astype(np.uint8)


def _rgba(colours: tuple[str, ...]) -> npt.NDArray[np.float64]:
    """(n, 4) 0 to 255 of colours written as ``#rrggbb``."""
    return np.array([[*bytes.fromhex(colour[1:]), 255] for colour in colours], dtype=np.float64)
