"""Every string's height over every fret, open and pressed, on the board's round surface."""

from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.assembly_models import Action, Strings
from carve.design.circle import sagitta
from carve.design.models import Design
from carve.shape.side_view import Playing, playing
from carve.shape.strings import StringLayout, string_layout


@dataclass(frozen=True, eq=False)
class StringHeights:
    """Heights of the strings' bottoms, strings from bass to treble.

    layout: the strings in plan. frets: (m,) places in mm from the nut. open: (k, m) mm over
    each fret's top, unpressed. pressed: (k, m) least mm over the frets beyond, pressed at
    each fret; infinite at the last. tops: (k, m) mm of the frets' tops under the strings
    above the glue plane. at_nut: (k,) mm above it at the nut; nut_slots: (k,) mm above the
    board's surface there. saddles: (k,) mm above the glue plane at the saddle.
    """

    layout: StringLayout
    frets: Array
    open: Array
    pressed: Array
    tops: Array
    at_nut: Array
    nut_slots: Array
    saddles: Array


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
    layout = string_layout(strings, design.neck.nut_width, design.scale_length)

    def fall(x: Array) -> Array:
        return sagitta(np.broadcast_to(radius_along(over, x), (layout.count, len(x))), layout.y(x))

    def fret_top(x: Array) -> Array:
        return np.asarray(over.fret_top(x) - fall(x))

    twelfth, saddle = np.array([over.twelfth]), np.array([over.saddle])
    across = layout.y(twelfth)[:, 0]
    share = (across - across[0]) / (across[-1] - across[0])
    asked = action.bass + (action.treble - action.bass) * share
    x0, centre = over.nut
    z0 = centre - fall(np.array([x0]))[:, 0]
    z12 = fret_top(twelfth)[:, 0] + asked
    slope = (z12 - z0) / (over.twelfth - x0)

    def height(x: Array) -> Array:
        return np.asarray(z0[:, None] + slope[:, None] * (x - x0))

    tops, nut = fret_top(over.frets), np.zeros(1)
    surface = fret_top(nut)[:, 0] - over.fret_height
    return StringHeights(
        layout=layout,
        frets=over.frets,
        open=height(over.frets) - tops,
        pressed=_pressed(over.frets, tops, over.saddle, height(saddle)[:, 0]),
        tops=tops,
        at_nut=height(nut)[:, 0],
        nut_slots=height(nut)[:, 0] - surface,
        saddles=height(saddle)[:, 0],
    )


def radius_along(over: Playing, x: Array) -> Array:
    """(n,) radius of the board in mm at x (n,), infinite where it is flat."""
    plan = over.plan
    if plan.radius is None:
        return np.full(np.shape(x), np.inf)
    return np.asarray(plan.radius + plan.growth * x)


def _pressed(frets: Array, tops: Array, saddle: float, saddles: Array) -> Array:
    """Least height over the frets beyond, for strings pressed at each fret.

    frets: (m,). tops: (k, m). saddle: its place. saddles: (k,). All mm. Returns (k, m).
    """
    slope = (saddles[:, None] - tops) / (saddle - frets)
    # over fret j of string i pressed at fret n: [i, n, j]
    line = tops[:, :, None] + slope[:, :, None] * (frets[None, None, :] - frets[None, :, None])
    beyond = frets[None, :] > frets[:, None]
    return np.asarray(np.where(beyond, line - tops[:, None, :], np.inf).min(axis=2, initial=np.inf))
