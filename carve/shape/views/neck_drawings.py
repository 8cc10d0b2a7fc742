"""The neck drawn at true scale: from above, from the side, and gauges to check the carve by."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from carve.arrays import Array
from carve.design.values.units import Unit, show_length
from carve.shape.neck.channel import Channel
from carve.shape.neck.finish import BARE
from carve.shape.neck.headstock.shape import HeadShape
from carve.shape.neck.shape import NeckShape
from carve.shape.views.kit.drawing import (
    AXIS_OVERRUN,
    CURVE_STEP,
    DRAWING_CHORD,
    GAUGE_GAP,
    Circle,
    Drawing,
    Line,
    Style,
    Words,
)

GAUGE_WOOD = 12.0  # mm of a gauge's material below the keel and beside the neck
GAUGE_POINTS = 161  # of a half-section


def plan_view(shape: NeckShape, title: str, unit: Unit) -> Drawing:
    """The neck from above, strings' side up: x to the right, treble side at the top."""
    outline = neck_outline(shape)
    low, high = outline.min(axis=0), outline.max(axis=0)
    lines = [Line(outline, closed=True, layer="neck outline")]
    lines += [
        Line(_rectangle(channel), "cut", closed=True, layer=channel.name)
        for channel in shape.channels
    ]
    circles = tuple(
        Circle(hole.x, hole.y, hole.radius, layer=layer)
        for end, layer in ((shape.head, "tuner holes"), (shape.heel, "bolt holes"))
        if end is not None
        for hole in end.holes
    )
    if shape.head is not None:
        lines.append(_nut_line(shape))
        if shape.head.scarfed:
            out = shape.head.scarf_out
            half = float(shape.half_width(np.array([out]))[0])
            lines.append(_line_across(out, half, "other part", "scarf joint"))
    if shape.glue_end < shape.length:
        half = float(shape.half_width(np.array([shape.glue_end]))[0])
        lines.append(_line_across(shape.glue_end, half, "other part", "end of the fretboard"))
    lines += _stations_across(shape)
    lines.append(_centre_line(float(low[0]), float(high[0]), 0.0))
    return Drawing(
        title=title,
        note=f"{show_length(float(high[0] - low[0]), unit)} long, "
        f"{show_length(float(high[1] - low[1]), unit)} wide",
        lines=tuple(lines),
        circles=circles,
        treble="up",
    )


def neck_from_side(shape: NeckShape, title: str, unit: Unit) -> Drawing:
    """The neck on its centre line, from the bass side: x to the right, strings up."""
    x = np.union1d(_along(shape), np.nextafter(shape.steps, 0.0))
    keel = np.stack([x, -shape.depth(x)], 1)
    core = x[x >= shape.glue_end][::-1]
    # a core's top steps down where the fretboard ends
    top = [np.stack([core[:-1], -shape.top_depth(core[:-1])], 1)] if len(core) > 1 else []
    if top:
        edge = np.nextafter(core[-1], np.inf)
        top.append(np.array([[edge, -float(shape.top_depth(edge[None])[0])]]))
    top.append(np.array([[shape.glue_end, 0.0]]))
    nut = np.zeros((1, 2))
    outline = np.vstack([keel, *top, nut])
    if shape.head is not None:
        outline = np.vstack([_headstock_from_the_side(shape.head), keel, *top])
    lines = [Line(outline, closed=True, layer="side view")]
    if shape.head is not None and shape.head.scarfed:
        lines.append(_scarf_line(shape, shape.head))
    upright = shape.upright(x)
    if upright.any():
        drawn = upright > 0
        # from the last place without a side on, where it starts
        drawn[:-1] |= drawn[1:]
        drawn[1:] |= drawn[:-1]
        edge = np.stack([x[drawn], -upright[drawn]], 1)
        lines.append(Line(edge, "other part", layer="lower edge of the sides"))
    for channel in shape.channels:
        ends = [[channel.start, 0.0]], channel.floor, [[channel.end, 0.0]]
        lines.append(Line(np.vstack(ends), "cut", layer=channel.name))
    lines += [
        Line(
            np.array([[float(at), 0.0], [float(at), -float(shape.depth(at[None])[0])]]),
            "centre line",
            layer="stations",
        )
        for at in shape.stations
    ]
    deepest, reach = float(-outline[:, 1].min()), float(np.ptp(outline[:, 0]))
    return Drawing(
        title=title,
        note=f"{show_length(reach, unit)} long, "
        f"{show_length(deepest, unit)} at its deepest below the glue face",
        lines=tuple(lines),
    )


def gauges(
    shape: NeckShape, places: Sequence[tuple[str, float]], title: str, unit: Unit
) -> Drawing:
    """Half-profile gauges in a row: card or sheet that fits the back at stated places.

    places: what to call each and its x in mm. A gauge's upper edge lies along the glue face,
    its left edge on the centre line. Where bass and treble differ each side has its own; the
    bass side's is turned over, so all of them look alike.
    """
    pieces: list[Drawing] = []
    left = 0.0
    for name, x in places:
        sides = _half_sections(shape, x)
        for side, half in sides:
            depth, wide = float(-half[:, 1].min()), float(half[:, 0].max())
            foot, right = -depth - GAUGE_WOOD, wide + GAUGE_WOOD
            around = np.array([[right, 0.0], [right, foot], [0.0, foot]])
            outline = np.vstack([half, around]) + np.array([left, 0.0])
            called, middle = f"{name}{side}", left + right / 2
            words = (
                Words(called, middle, foot + 6.0),
                Words(show_length(depth, unit), middle, foot + 2.5),
            )
            pieces.append(Drawing(called, "", (Line(outline, closed=True, layer="gauges"),), words))
            left += right + GAUGE_GAP
    return Drawing(
        title=title,
        note="upper edge on the glue face, left edge on the centre line"
        + ("; to the wood, before the finish" if shape.film != BARE else ""),
        lines=tuple(line for piece in pieces for line in piece.lines),
        words=tuple(words for piece in pieces for words in piece.words),
        pieces=tuple(pieces),
    )


def neck_outline(shape: NeckShape) -> Array:
    """(n, 2) x, y in mm: the neck from above, counter-clockwise."""
    x = _along(shape)
    x = x[(x <= shape.carved_end) & (x >= 0)]
    if shape.heel is not None:
        x[-1] = np.nextafter(shape.heel.start, 0.0)  # at a shoulder still the neck's
    half = shape.half_width(x)
    bass, treble = np.stack([x, -half], 1), np.stack([x, half], 1)
    if shape.ends_slanted:
        bass, treble = (
            np.vstack([corner, side[side[:, 0] > corner[0]]])
            for corner, side in zip(shape.nut_corners(), (bass, treble), strict=True)
        )
    if shape.heel is None and shape.heel_slant:
        bass, treble = (
            np.vstack([side[side[:, 0] < corner[0]], corner])
            for corner, side in zip(shape.heel_corners(), (bass, treble), strict=True)
        )
    end = np.empty((0, 2)) if shape.heel is None else shape.heel.outline(DRAWING_CHORD)
    # the headstock begins and ends on the nut line, where the neck does
    head = np.empty((0, 2)) if shape.head is None else shape.head.outline(DRAWING_CHORD)[1:-1]
    return np.vstack([bass, end, treble[::-1], head])


def _along(shape: NeckShape) -> Array:
    """(n,) places in mm close enough to draw a smooth line through, the breaks among them.

    Beyond the carved surface all is straight from break to break.
    """
    places = shape.breaks()
    steps = [np.arange(a, b, CURVE_STEP) for a, b in pairwise(places[places <= shape.carved_end])]
    return np.unique(np.r_[np.concatenate(steps), places])


def _headstock_from_the_side(head: HeadShape) -> Array:
    """(k, 2) x, z from the seat along the face to the tip and back to where the back is flat."""
    face = head.face_chain(DRAWING_CHORD)
    tip = float(head.rim(DRAWING_CHORD)[:, 0].min())
    at_tip = np.array([tip])
    ends = [[tip, -float(head.face_depth(at_tip)[0])], [tip, -float(head.back_depth(at_tip)[0])]]
    return np.vstack([face[face[:, 0] > tip], ends])


def _scarf_line(shape: NeckShape, head: HeadShape) -> Line:
    """The joint from the glue face down to where it runs out into the back."""
    x = np.linspace(head.scarf_out, head.flat, 801)
    within = head.back_depth(x) < shape.depth(x) - DRAWING_CHORD
    # behind the nut the depth may be a volute's too: the first place that is out is the end
    last = x[max(int(np.argmin(within)) - 1, 0)]
    ends = np.array([head.scarf_out, last])
    return Line(np.stack([ends, -head.back_depth(ends)], 1), "other part", layer="scarf joint")


def _nut_line(shape: NeckShape) -> Line:
    return Line(shape.nut_corners(), "centre line", layer="nut line")


def _half_sections(shape: NeckShape, x: float) -> list[tuple[str, Array]]:
    """Half-sections from keel to glue edge, outward to the right; one where both sides agree."""
    whole = shape.section(x, GAUGE_POINTS)
    middle = len(whole) // 2
    bass, treble = whole[: middle + 1][::-1] * [-1.0, 1.0], whole[middle:]
    sides = [_to_glue_face(half) for half in (bass, treble)]
    if np.abs(bass - treble).max() < DRAWING_CHORD:
        return [("", sides[0])]
    return [(", bass", sides[0]), (", treble", sides[1])]


def _to_glue_face(half: Array) -> Array:
    """With the upright side on it, if there is one."""
    edge = half[-1]
    return np.vstack([half, [[edge[0], 0.0]]]) if edge[1] < 0 else half


def _rectangle(channel: Channel) -> Array:
    a, b, w = channel.start, channel.end, channel.half_width
    return np.array([[a, -w], [b, -w], [b, w], [a, w]])


def _line_across(at: float, half: float, style: Style, layer: str) -> Line:
    return Line(np.array([[at, -half], [at, half]]), style, layer=layer)


def _stations_across(shape: NeckShape) -> list[Line]:
    halves = shape.half_width(shape.stations)
    return [
        Line(np.array([[at, -half], [at, half]]), "centre line", layer="stations")
        for at, half in zip(shape.stations, halves, strict=True)
    ]


def _centre_line(start: float, end: float, level: float) -> Line:
    points = np.array([[start - AXIS_OVERRUN, level], [end + AXIS_OVERRUN, level]])
    return Line(points, "centre line", layer="centre line")
