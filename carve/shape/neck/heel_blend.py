"""Where the shaft begins to flow into the heel.

The heel's blend is as long as asked, or shorter, so that it begins at the last station on the
shaft: there a caliper finds the thickness asked, and beyond it the back flows into the heel. A
station counts as one on the shaft where a blend that begins at it is long enough for the hand and
can be reached by the cutter. Other stations lie on the heel itself. The shaft runs toward them,
as if it went on, and the heel begins before it comes there.
"""

from collections.abc import Callable

import numpy as np

from carve.arrays import Array
from carve.errors import ShapeError
from carve.shape.neck.problems import HeelBeforeStation
from carve.shape.numeric.blend import tightest
from carve.shape.numeric.monotone_spline import quintics
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial

STEEPEST_BACK = 6.0  # mm down per mm along, 80.5 degrees; steeper ones no ball cutter leaves clean
TIGHTEST_BLEND = 3.0  # mm, radius of its hollow: that of the smallest usual ball cutter, 6 mm thick
SAME_PLACE = 1e-9  # mm
LOOKED_AT = np.linspace(0.0, 1.0, 201)  # shares of a blend at which its slope is looked at

Makeable = Callable[[float], bool]
"""Whether a blend that begins at a place in mm can be felt as smooth and be cut."""


def blend_begins(
    places: Array, stop: float, longest: float, shortest: float, makeable: Makeable
) -> float:
    """Where the heel's blend begins, mm from the nut.

    places: (n,) mm, of the stations, rising. stop: mm, where the blend ends. longest: mm, as
    asked. shortest: mm, that a blend cut short by a station may be; one asked shorter may be that.
    Raises ShapeError where the heel leaves no station on the shaft.
    """
    asked = stop - longest
    last = stop - min(shortest, longest) + SAME_PLACE
    for place in places[::-1]:
        if place <= asked + SAME_PLACE:
            return asked
        if place <= last and makeable(float(place)):
            return float(place)
    raise ShapeError(HeelBeforeStation(asked, float(places[0])))


def into_block(
    shaft: PiecewisePolynomial, begin: float, bend: float, block: tuple[float, float, float]
) -> PiecewisePolynomial:
    """Depth from where the shaft leaves off to where the block's flat back begins.

    begin: mm from the nut. bend: second derivative of the shaft there, per mm. block: where its
    flat back begins, mm from the nut, its depth there in mm, and how that grows per mm.
    """
    stop, depth, slope = block
    return quintics(
        np.array([begin, stop]),
        np.array([float(shaft(begin)), depth]),
        np.array([float(shaft.derivative()(begin)), slope]),
        np.array([bend, 0.0]),
    )


def can_be_cut(blend: PiecewisePolynomial) -> bool:
    """Whether no place of a blend is too steep or too tight for a ball cutter."""
    start, stop = float(blend.x[0]), float(blend.x[-1])
    slopes = blend.derivative()(start + (stop - start) * LOOKED_AT)
    if float(np.abs(slopes).max()) > STEEPEST_BACK:
        return False
    return tightest(blend, start, stop) >= TIGHTEST_BLEND


def bend_at(shaft: PiecewisePolynomial, place: float, last: float) -> float:
    """Second derivative per mm of the shaft's depth. place, last: mm, the latter's station the
    last of all.
    """
    # beyond its last station the shaft is straight, and the derivative there only rounding
    return 0.0 if place >= last - SAME_PLACE else float(shaft.derivative(2)(place))


def cut_short(shaft: PiecewisePolynomial, end: float) -> PiecewisePolynomial:
    """The same curve, known as far as ``end`` mm only.

    A quintic is given by value, slope and second derivative at both its ends, so what is left of
    a piece is exactly what it was.
    """
    if end >= float(shaft.x[-1]) - SAME_PLACE:
        return shaft
    knots = np.append(shaft.x[shaft.x < end - SAME_PLACE], end)
    return quintics(
        knots, shaft(knots), shaft.derivative()(knots), np.asarray(shaft.derivative(2)(knots))
    )
