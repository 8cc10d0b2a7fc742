"""Whether a builder's curves can be an outline at all: one, of a size, and not crossing itself."""

import re
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.validation import explain_validity

from carve.arrays import Array
from carve.design.derived.outline_choice import DrawingPage
from carve.design.drawing.chains import Loop
from carve.design.schema.outline import LONGEST_OUTLINE, OutlineFile
from carve.design.values.curve import Curve, Point
from carve.design.values.tolerances import LENGTH_AGREES
from carve.errors import ShapeError
from carve.shape.outlines.problems import (
    CurveCrosses,
    CurveEmpty,
    CurveSize,
    LengthDisagrees,
    Misread,
    OuterCurve,
    Owner,
    SeveralOuterCurves,
)
from carve.shape.planar.curves import as_point, curve_extent
from carve.shape.planar.outline import polygon

CROSSING_TOLERANCE = 0.01  # mm, chord error where crossings and nesting are looked for
SMALLEST = 5.0  # mm; less is a screw's hole, not an outline
CORNERS = 3  # of whatever encloses something
RATIO_AGREES = 0.02  # of a well-known ratio, to be taken for it

_WELL_KNOWN: tuple[tuple[float, Misread], ...] = (
    (25.4, "inches"),
    (96 / 25.4, "pixels"),
    (72 / 25.4, "points"),
    (96 / 72, "dots"),
    (10.0, "centimetres"),
    (1000.0, "metres"),
    (2.0, "half"),
    (4.0, "quarter"),
)


def region_of(loop: Loop) -> shapely.Geometry:
    """What lies within a loop; one that crosses itself is made whole, as others refuse it."""
    ring = polygon(Curve(loop.name, loop.pieces), CROSSING_TOLERANCE)
    return shapely.Polygon(ring).buffer(0) if len(ring) > 2 else shapely.Polygon()


def outermost(loops: tuple[Loop, ...], page: DrawingPage, outline: OutlineFile, of: Owner) -> Loop:
    """The one loop that no other lies around, the first where one is drawn more than once.

    Raises ShapeError where there is not just one.
    """
    regions = [region_of(loop) for loop in loops]
    numbers = _outer(regions)
    # what is drawn upon the first is the same curve once more
    first = regions[numbers[0]] if numbers else shapely.Polygon()
    others = [number for number in numbers[1:] if not same_region(regions[number], first)]
    outer = [loops[number] for number in [*numbers[:1], *others]]
    if len(outer) == 1:
        return outer[0]
    curves = tuple(
        OuterCurve(next(iter(loop.names), None), _size(loop), page.shown(loop.pieces[0][0]))
        for loop in outer
    )
    raise ShapeError(SeveralOuterCurves(of, outline.layer, curves))


def same_region(one: shapely.Geometry, other: shapely.Geometry) -> bool:
    """Whether two curves enclose the same, but for the pen's width."""
    if one.is_empty or other.is_empty:
        return False
    if max(abs(np.array(one.bounds) - np.array(other.bounds))) > CROSSING_TOLERANCE:
        return False
    return bool(
        other.buffer(CROSSING_TOLERANCE).contains(one)
        and one.buffer(CROSSING_TOLERANCE).contains(other)
    )


def _outer(regions: Sequence[shapely.Geometry]) -> list[int]:
    """The numbers of those regions that no larger one contains."""
    areas = shapely.area(regions)
    tree = shapely.STRtree(regions)
    within = np.zeros(len(regions), dtype=bool)
    for number in np.argsort(-areas, kind="stable"):  # what lies in an inner one lies in its outer
        if not within[number]:
            shapely.prepare(regions[number])
            inside = tree.query(regions[number], predicate="contains")
            within[inside[areas[inside] < areas[number]]] = True
    return [int(number) for number in np.flatnonzero(~within)]


def _size(loop: Loop) -> tuple[float, float]:
    low, high = curve_extent(Curve(loop.name, loop.pieces))
    return as_point(high - low)


def sound(
    curve: Curve,
    of: Owner,
    page: DrawingPage | None,
    smallest: float = SMALLEST,
    where: str | None = None,
) -> Curve:
    """The curve, if it is of a size to be cut and does not cross itself.

    page: that it is drawn on, None where it comes from points. smallest: mm. where: of what asks
    for it, None for the outline itself. Raises ShapeError where it is not.
    """
    ring = polygon(curve, CROSSING_TOLERANCE)
    size = np.ptp(ring, axis=0) if len(ring) else np.zeros(2)
    name = None if page is None else curve.name
    if not smallest <= size.max() <= LONGEST_OUTLINE:
        raise ShapeError(CurveSize(of, name, as_point(size), smallest, LONGEST_OUTLINE, where))
    if len(ring) < CORNERS or shapely.MultiPoint(ring).convex_hull.area == 0:
        raise ShapeError(CurveEmpty(of, name, where))
    if not shapely.LinearRing(ring).is_simple or not shapely.Polygon(ring).is_valid:
        at = _crossing(ring)
        raise ShapeError(CurveCrosses(of, name, at if page is None else page.shown(at), where))
    return curve


def _crossing(ring: Array) -> Point:
    """Where a ring first meets itself, as shapely explains it."""
    said = re.search(r"\[(\S+) (\S+)\]", explain_validity(shapely.Polygon(ring)))
    return (float(said[1]), float(said[2])) if said else as_point(ring[0])


def hold_to_length(curve: Curve, outline: OutlineFile, of: Owner, unseen: str) -> None:
    """Raises ShapeError where an outline is not as long as its builder measured it.

    unseen: why other curves are not shown, empty where there are none.
    """
    measured = outline.length
    if measured is None:
        return
    low, high = curve_extent(curve)
    long, across = (float(size) for size in high - low)
    if _agree(long, measured):
        return
    ratio = max(long / measured, measured / long)
    misread = tuple(
        (known, why) for known, why in _WELL_KNOWN if abs(ratio / known - 1) < RATIO_AGREES
    )
    raise ShapeError(
        LengthDisagrees(
            of=of,
            curve=curve.name,
            measured=measured,
            drawn=long,
            across=across if _agree(across, measured) else None,
            misread=misread,
            agrees=LENGTH_AGREES,
            toward=outline.neck_toward,
            unseen=unseen,
        )
    )


def _agree(one: float, other: float) -> bool:
    return abs(one - other) <= LENGTH_AGREES * other
