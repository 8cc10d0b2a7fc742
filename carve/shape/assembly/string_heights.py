"""Every string's height over every fret, open and pressed, on the board's round surface."""

from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.schema.assembly import Action, Strings
from carve.design.schema.design import Design
from carve.design.values.circle import sagitta
from carve.shape.assembly.side_view import Playing, playing
from carve.shape.fretboard.strings import StringLayout, strings_of_design


@dataclass(frozen=True, eq=False)
class StringHeights:
    """Heights of the strings' bottoms, strings from bass to treble.

    layout: the strings in plan. frets: (m,) places in mm from the nut on the centre line;
    crossings: (k, m) those under each string. open: (k, m) mm over
    each fret's top, unpressed. pressed: (k, m) least mm over the frets beyond, pressed at
    each fret; infinite at the last. tops: (k, m) mm of the frets' tops under the strings
    above the glue plane. at_nut: (k,) mm above it at the nut; nut_slots: (k,) mm above the
    board's surface there. saddles: (k,) mm above the glue plane at the saddle;
    saddle_places: (k,) mm from the nut along the centre line, where each string bears on it.
    """

    layout: StringLayout
    frets: Array
    crossings: Array
    open: Array
    pressed: Array
    tops: Array
    at_nut: Array
    nut_slots: Array
    saddles: Array
    saddle_places: Array


def string_heights(design: Design) -> StringHeights | None:
    """The strings' heights, or None where the design lacks strings or action."""
    if design.strings is None or design.action is None:
        return None
    return over_frets(playing(design, design.action), design.action, design.strings, design)


def over_frets(over: Playing, action: Action, strings: Strings, design: Design) -> StringHeights:
    """The strings' heights over what they run over.

    Each string lies in the nut's height over the board (or the 1st fret) under it, and in
    its own action over the 12th fret under it; action changes evenly from bass to treble.
    """
    layout = strings_of_design(design, strings)

    def fall(x: Array) -> Array:
        return sagitta(radius_along(over, x), layout.y(x))

    def fret_top(x: Array) -> Array:
        return np.asarray(over.fret_top(x) - fall(x))

    # (k, 1) or (k, m) mm along the centre line, each string over its own place of a line
    start, twelfth, saddle, nut = (
        layout.crossings([line])
        for line in (over.nut_line, over.twelfth_line, over.saddle_line, over.plan.nut)
    )
    frets = layout.crossings(over.plan.lines)
    across = layout.y(twelfth)[:, 0]
    share = (across - across[0]) / (across[-1] - across[0])
    asked = action.bass + (action.treble - action.bass) * share
    place, centre = over.nut
    bowed = over.bow.rise(start) - over.bow.rise(np.array([place]))
    z0 = centre + bowed - fall(start)
    z12 = fret_top(twelfth) + asked[:, None]
    slope = (z12 - z0) / (twelfth - start)

    def height(x: Array) -> Array:
        return np.asarray(z0 + slope * (x - start))

    tops = fret_top(frets)
    surface = fret_top(nut)[:, 0] - over.fret_height
    return StringHeights(
        layout=layout,
        frets=over.frets,
        crossings=frets,
        open=height(frets) - tops,
        pressed=_pressed(frets, tops, saddle[:, 0], height(saddle)[:, 0]),
        tops=tops,
        at_nut=height(nut)[:, 0],
        nut_slots=height(nut)[:, 0] - surface,
        saddles=height(saddle)[:, 0],
        saddle_places=saddle[:, 0],
    )


def radius_along(over: Playing, x: Array) -> Array:
    """Radius of the board in mm at x, in the shape of x; infinite where it is flat."""
    plan = over.plan
    if plan.radius is None:
        return np.full(np.shape(x), np.inf)
    return np.asarray(plan.radius + plan.growth * x)


def _pressed(frets: Array, tops: Array, saddle: Array, saddles: Array) -> Array:
    """Least height over the frets beyond, for strings pressed at each fret.

    frets, tops: (k, m) places and heights. saddle, saddles: (k,) likewise. All mm.
    Returns (k, m).
    """
    slope = (saddles[:, None] - tops) / (saddle[:, None] - frets)
    # over fret j of string i pressed at fret n: [i, n, j]
    line = tops[:, :, None] + slope[:, :, None] * (frets[:, None, :] - frets[:, :, None])
    number = np.arange(frets.shape[1])
    beyond = number[None, :] > number[:, None]
    return np.asarray(np.where(beyond, line - tops[:, None, :], np.inf).min(axis=2, initial=np.inf))
