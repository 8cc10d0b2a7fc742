"""An SVG's page: how long its unit is, and where its corner lies.

The page's size, its viewBox and how the one is fitted into the other are read here (SVG 1.1,
section 7.8): svgelements keeps a millimetre to six figures only.
"""

import re
import xml.etree.ElementTree as ET

from carve.design.drawing.model import Unreadable
from carve.design.drawing.svg_tree import LENGTH, MM_A_UNIT
from carve.design.values import curve
from carve.design.values.quote import quoted


def page_of(root: ET.Element) -> tuple[float | None, curve.Move]:
    """How long a unit is in mm, and the move from the root's units to mm with y upward.

    Where the file doesn't say, None, and the move only turns y. The root loses its size, so
    that svgelements leaves its units alone.
    """
    wide, high = (_size(root, name) for name in ("width", "height"))
    box = _box(root.get("viewBox"))
    fit = (root.get("preserveAspectRatio") or "xMidYMid meet").split()
    for name in ("width", "height", "viewBox", "preserveAspectRatio", "x", "y"):
        root.attrib.pop(name, None)
    if box is None:
        if wide is None and high is None:
            return None, (1.0, 0.0, 0.0, -1.0, 0.0, 0.0)
        # without a viewBox a unit is a CSS pixel; shares of the page are of its size
        unit = MM_A_UNIT["px"]
        across, tall = ((side or unit) / unit for side in (wide, high))
        root.set("viewBox", f"0 0 {across!r} {tall!r}")
        return unit, (unit, 0.0, 0.0, -unit, 0.0, 0.0)
    left, top, across, tall = box
    # svgelements shifts by the corner of the viewBox, so that is taken off here already
    root.set("viewBox", f"{left!r} {top!r} {across!r} {tall!r}")
    if wide is None and high is None:
        return None, (1.0, 0.0, 0.0, -1.0, left, -top)
    scales = [side / long for side, long in ((wide, across), (high, tall)) if side is not None]
    x_scale, y_scale = scales[0], scales[-1]  # a side left out follows the other
    shift_x = shift_y = 0.0
    if fit[0] != "none":
        scale = (max if fit[1:] == ["slice"] else min)(x_scale, y_scale)
        shift_x = (x_scale - scale) * across * _share(fit[0][:4])
        shift_y = (y_scale - scale) * tall * _share(fit[0][4:])
        x_scale = y_scale = scale
    return x_scale, (x_scale, 0.0, 0.0, -y_scale, shift_x, -shift_y)


def _share(word: str) -> float:
    """How much of the room left over lies before the drawing: xMin none, xMid half, xMax all."""
    return {"min": 0.0, "max": 1.0}.get(word[1:].lower(), 0.5)


def _size(root: ET.Element, name: str) -> float | None:
    """The page's width or height in mm, None where it says no physical unit."""
    text = root.get(name)
    match = LENGTH.fullmatch(text) if text else None
    unit = MM_A_UNIT.get(match[2].lower()) if match else None
    if match is None or unit is None:
        return None
    size = float(match[1]) * unit  # its digits are held within reason before
    if not 0 < size < 1e6:
        raise Unreadable(f"is damaged: its {name} is {quoted(text)}")
    return size


def _box(text: str | None) -> tuple[float, float, float, float] | None:
    if text is None:
        return None
    try:
        left, top, across, tall = (float(part) for part in re.split(r"[\s,]+", text.strip()))
    except ValueError:
        raise Unreadable(f"is damaged: its viewBox is {quoted(text)}") from None
    if not (0 < across < 1e9 and 0 < tall < 1e9 and abs(left) < 1e9 and abs(top) < 1e9):
        raise Unreadable(f"is damaged: its viewBox is {quoted(text)}")
    return left, top, across, tall
