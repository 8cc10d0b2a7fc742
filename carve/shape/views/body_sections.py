"""The body cut open wherever a builder wants to look into it."""

import math
from dataclasses import replace

import numpy as np
import shapely

from carve.design.values.units import Unit
from carve.shape.body.shape import BodyShape
from carve.shape.views.body_drawings import body_section_drawing
from carve.shape.views.kit.drawing import Drawing, SheetSide, Words, extent
from carve.shape.views.kit.section_cuts import SectionPlane, SectionPlanes

ABOVE = 3.0  # mm from the wood to the words over it
INWARD = 8.0  # mm of these words from the ends
LEVEL_TOLERANCE = 1e-6  # of a slope; less does not leave the centre line


def body_cuts(shape: BodyShape, unit: Unit) -> SectionPlanes:
    """The cuts through a body, along any line over it."""
    low_x, low_y, high_x, high_y = (float(end) for end in shape.polygon.bounds)
    reach = math.hypot(high_x - low_x, high_y - low_y)

    def drawn(cut: SectionPlane) -> Drawing:
        ends = cut.ends(reach)
        met = shapely.intersection(shape.polygon, shapely.LineString(ends))
        places = shapely.get_coordinates(met)
        if len(places):  # only as far as there is wood
            along = np.subtract(ends[1], ends[0])
            first, last = (places[pick(places @ along)] for pick in (np.argmin, np.argmax))
            ends = tuple(first.tolist()), tuple(last.tolist())
        title = f"body, {cut.words(unit, 'from its edge')}"
        section = body_section_drawing(shape, ends, title, unit)
        if abs(math.sin(cut.angle)) < LEVEL_TOLERANCE:
            return section
        _, (_, top) = extent(section)
        right, height = math.dist(*ends) - INWARD, float(top) + ABOVE
        sides = Words("bass", INWARD, height), Words("treble", right, height)
        if math.sin(cut.angle) < 0:
            sides = Words("treble", INWARD, height), Words("bass", right, height)
        treble: SheetSide = "right" if math.sin(cut.angle) > 0 else "left"
        return replace(section, words=(*section.words, *sides), treble=treble)

    return SectionPlanes("from its edge", (low_x, high_x), (low_y, high_y), drawn)
