"""Where a function of one number is zero.

Brent, Algorithms for Minimization without Derivatives, 1973, chapter 4 (from memory): by inverse
interpolation where that comes nearer quickly, by halving where it does not. Tests hold this
against scipy's ``brentq``, which takes long to load.
"""

import math
from collections.abc import Callable

MOST_STEPS = 100
RELATIVE = 4 * math.ulp(1.0)  # of the place itself; what is nearer rounding alone tells apart


def root_between(
    function: Callable[[float], float],
    low: float,
    high: float,
    within: float,
    relative: float = RELATIVE,
) -> float:
    """The place between ``low`` and ``high`` where a continuous function is zero.

    within, relative: how far off it may be, and which share of itself on top of that.
    Raises ArithmeticError where the function has the same sign at both, or no zero is found.
    """
    before, best, at_before, at_best = low, high, function(low), function(high)
    if at_before == 0:
        return before
    if at_best == 0:
        return best
    if (at_before < 0) == (at_best < 0):
        raise ArithmeticError("the function has the same sign at both ends")
    across, at_across = before, at_before  # on the other side of the zero
    step = last_step = best - before
    for _ in range(MOST_STEPS):
        if at_best != 0 and (at_before < 0) != (at_best < 0):
            across, at_across = before, at_before
            step = last_step = best - before
        if abs(at_across) < abs(at_best):
            before, best, across = best, across, best
            at_before, at_best, at_across = at_best, at_across, at_best
        near = (within + relative * abs(best)) / 2
        half = (across - best) / 2
        if at_best == 0 or abs(half) < near:
            return best
        last_step, step = _next_steps(
            (before, best, across), (at_before, at_best, at_across), (last_step, step), near
        )
        before, at_before = best, at_best
        best += step if abs(step) > near else math.copysign(near, half)
        at_best = function(best)
    raise ArithmeticError("no zero was found")


def _next_steps(
    places: tuple[float, float, float],
    values: tuple[float, float, float],
    steps: tuple[float, float],
    near: float,
) -> tuple[float, float]:
    """The step before the next one, and the next one, from the two before.

    places, values: of the place before, of the best and of the one across.
    """
    before, best, across = places
    at_before, at_best, at_across = values
    last_step, step = steps
    half = (across - best) / 2
    if abs(last_step) <= near or abs(at_best) >= abs(at_before):
        return half, half
    if before == across:
        tried = -at_best * (best - before) / (at_best - at_before)
    else:
        rise_before = (at_before - at_best) / (before - best)
        rise_across = (at_across - at_best) / (across - best)
        tried = (
            -at_best
            * (at_across * rise_across - at_before * rise_before)
            / (rise_across * rise_before * (at_across - at_before))
        )
    if 2 * abs(tried) < min(abs(last_step), 3 * abs(half) - near):
        return step, tried
    return half, half
