"""The side view as drawings at true scale: the whole of it, and its ends looked at closely.

Seen from the treble side, the headstock to the left, lying as the body lies: its edge plane
is level, and the neck leans back from it.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.values.units import Unit, show_length, show_number
from carve.shape.assembly.frames import moved
from carve.shape.assembly.side_view import Playing, SideView
from carve.shape.neck.shape import NeckShape
from carve.shape.views.kit.drawing import Drawing, Line, Words

BOW_STEP = 4.0  # mm between points of what is bowed
BRIDGE_HALF = 5.0  # mm, half of what is drawn of a bridge's width; it bears on nothing
MARK_HALF = 9.0  # mm, half of a mark's length
BODY_SHOWN = 30.0  # mm of the body that is drawn below its top, and behind its bridge


@dataclass(frozen=True, eq=False)
class _Window:
    """What of the side view is drawn. start, end: mm from the nut.

    placed: from the instrument's x, z (n, 2) to the drawing.
    """

    start: float
    end: float
    placed: Callable[[Array], Array]

    def x(self, low: float, high: float) -> Array:
        """Places between low and high that are seen, no more than a step apart."""
        low, high = max(low, self.start), min(high, self.end)
        if high <= low:
            return np.empty(0)
        return np.linspace(low, high, max(2, int(np.ceil((high - low) / BOW_STEP)) + 1))

    def sees(self, x: float) -> bool:
        """Whether a place is within the window."""
        return self.start <= x <= self.end


def side_drawing(
    over: Playing,
    neck: NeckShape,
    side: SideView | None,
    title: str,
    unit: Unit,
    body: tuple[Line, ...] = (),
) -> Drawing:
    """The whole side view, from nut to bridge.

    side: None draws no body under it. body: its wood cut along the centre line, in its frame.
    """
    window = _Window(-1.0, over.saddle + BODY_SHOWN, _placed(side))
    words: tuple[Words, ...] = ()
    note = f"action {show_length(over.action, unit)} at the 12th fret"
    if side is not None:
        note = (
            f"neck angle {show_number(np.degrees(side.angle), 2)}°, glue face "
            f"{show_length(side.neck_height, unit)} above the body's edge plane at its edge, "
            f"bridge {show_length(side.needed, unit)} above the top for {note}"
        )
        words = _named(side)
    return Drawing(title, note, (*_lines(window, over, neck, side), *body), words)


def close_views(
    over: Playing, neck: NeckShape, side: SideView | None, unit: Unit
) -> tuple[Drawing, ...]:
    """Nut, 12th fret and bridge, each with what is around it."""
    views = []
    nut = float(over.string().height(np.zeros(1))[0] - over.crown - over.bow.rise(np.zeros(1))[0])
    first = float(over.frets[0]) + 4 if len(over.frets) else 40.0
    places = [
        ("nut and 1st fret", f"string {show_length(nut, unit)} over the board", -1.0, first),
        (
            "12th fret, side view",
            f"action {show_length(over.action, unit)}",
            over.twelfth - 18,
            over.twelfth + 18,
        ),
    ]
    if side is not None:
        low, high = (show_length(h, unit) for h in (side.lowest, side.highest))
        places.append(
            (
                "bridge in its range",
                f"{show_length(side.needed, unit)} high ({low.removesuffix(f' {unit}')} to {high})",
                over.saddle - 22,
                over.saddle + 14,
            )
        )
    for title, note, start, end in places:
        window = _Window(start, end, _placed(side))
        views.append(Drawing(title, note, _lines(window, over, neck, side)))
    return tuple(views)


def _lines(
    window: _Window, over: Playing, neck: NeckShape, side: SideView | None
) -> tuple[Line, ...]:
    found = [*_wood(window, over, neck), *_playing(window, over)]
    if side is not None:
        found += _body(window, side)
    return tuple(found)


def _placed(side: SideView | None) -> Callable[[Array], Array]:
    """Into the body's frame, or as it is where there is no body."""

    def place(points: Array) -> Array:
        if side is None:
            return points
        space = np.stack([points[:, 0], np.zeros(len(points)), points[:, 1]], axis=1)
        return moved(space, side.to_body())[:, [0, 2]]

    return place


def _wood(window: _Window, over: Playing, neck: NeckShape) -> list[Line]:
    """Neck, fretboard and frets, bowed as they are."""
    found = []
    back = window.x(0.0, neck.length)
    if len(back):
        steps, corners = np.array(neck.steps), neck.breaks()
        either_side = np.r_[np.nextafter(steps, 0), np.nextafter(steps, np.inf)]
        own = np.r_[corners, either_side]
        back = np.union1d(back, own[(own > back[0]) & (own < back[-1])])
        found.append(_band(window, over, back, -neck.depth(back), -neck.top_depth(back), "neck"))
    board = window.x(over.plan.start, over.plan.end)
    if len(board):
        crown = np.full_like(board, over.crown)
        found.append(_band(window, over, board, np.zeros_like(board), crown, "fretboard"))
    for x in over.frets:
        if window.sees(float(x)):
            place = np.array([x])
            top = float(over.fret_top(place)[0])
            found.append(_straight(window, [[x, top - over.fret_height], [x, top]], "frets"))
    return found


def _band(window: _Window, over: Playing, x: Array, low: Array, high: Array, layer: str) -> Line:
    """What lies between two heights along x, as one outline."""
    rise = over.bow.rise(x)
    there, back = np.stack([x, low + rise], 1), np.stack([x, high + rise], 1)[::-1]
    return Line(window.placed(np.vstack([there, back])), "outline", closed=True, layer=layer)


def _straight(window: _Window, points: list[list[float]], layer: str) -> Line:
    return Line(window.placed(np.array(points, dtype=float)), "outline", layer=layer)


def _playing(window: _Window, over: Playing) -> list[Line]:
    """The string, the nut it leaves, and the glue plane carried on to the bridge."""
    found = []
    string = over.string()
    ends = window.x(0.0, over.saddle)[[0, -1]] if len(window.x(0.0, over.saddle)) else np.empty(0)
    if len(ends):
        heights = string.height(ends)
        found.append(Line(window.placed(np.stack([ends, heights], 1)), "cut", layer="string"))
        plane = np.stack([ends, np.zeros_like(ends)], 1)
        found.append(Line(window.placed(plane), "centre line", layer="glue plane"))
    if window.sees(0.0):
        low = over.crown + float(over.bow.rise(np.zeros(1))[0])
        high = float(string.height(np.zeros(1))[0])
        found.append(_straight(window, [[0.0, low], [0.0, high]], "nut"))
    return found


def _body(window: _Window, side: SideView) -> list[Line]:
    """The body's edge plane and edge, and the bridge on its top with its range."""
    saddle = float(side.playing.string().height(np.array([side.playing.saddle]))[0])
    foot = float(window.placed(np.array([[side.playing.saddle, saddle]]))[0, 0])
    # the window's ends, carried down to the body's plane
    near, far = window.placed(np.array([[window.start, 0.0], [window.end, 0.0]]))[:, 0]
    found = []
    if far > 0:
        found.append(Line(np.array([[max(near, 0.0), 0.0], [far, 0.0]]), "other part"))
    if near < 0 < far:
        found.append(Line(np.array([[0.0, 0.0], [0.0, -BODY_SHOWN]]), "other part"))
    if window.sees(side.playing.saddle):
        contact = side.top + side.needed
        top = np.array([[foot - MARK_HALF, side.top], [foot + MARK_HALF, side.top]])
        found.append(Line(top, "other part", layer="body top"))
        sides = np.array(
            [[foot - BRIDGE_HALF, side.top], [foot + BRIDGE_HALF, side.top], [foot, contact]]
        )
        found.append(Line(sides, "other part", closed=True, layer="bridge"))
        for height in (side.top + side.lowest, side.top + side.highest):
            mark = np.array([[foot - MARK_HALF, height], [foot + MARK_HALF, height]])
            found.append(Line(mark, "centre line", layer="bridge range"))
    return found


def _named(side: SideView) -> tuple[Words, ...]:
    reach = float(side.to_body()[0] @ [side.playing.saddle, 0.0, 0.0, 1.0])
    return (
        Words("body's edge plane", reach / 2, -11.0),
        Words("body's edge", 0.0, -BODY_SHOWN - 6.0),
    )
