"""An outline placed in the instrument: from the builder's page, or from points.

The placed frame has its origin where the centre line meets the edge toward the neck; x runs
away from the neck, y to the treble side. For a body that is the body's frame (``frames``); of
a headstock ``behind_nut`` makes the instrument's.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
import shapely
from scipy.interpolate import CubicSpline
from shapely.validation import explain_validity

from carve.arrays import Array
from carve.design.derived.outline_choice import (
    DrawingPage,
    candidates,
    centre_line,
    on_layer,
    page_of,
)
from carve.design.drawing.chains import Gap, Loop
from carve.design.schema.outline import LONGEST, OutlineFile, PageSide
from carve.design.values.curve import Curve, Move, Piece, Point, closed_polygon, moved_pieces
from carve.design.values.quote import quoted
from carve.design.values.tolerances import TINY
from carve.design.values.units import Unit, show_length
from carve.errors import DesignError
from carve.shape.planar.outline import polygon

LOOK = 0.01  # mm, chord error where crossings and nesting are looked for
SMALLEST = 5.0  # mm; less is a screw's hole, not an outline
SMALLEST_POCKET = 1.0  # mm; less is no hole that is drilled
LENGTH_AGREES = 0.005  # of a length, that drawing and paper may differ; paper moves with the air
LEANS = 5.0  # degrees that a centre line may lean against the page
RATIO_AGREES = 0.02  # of a well-known ratio, to be taken for it

_TOWARD: dict[PageSide, Point] = {
    "up": (0.0, 1.0),
    "down": (0.0, -1.0),
    "left": (-1.0, 0.0),
    "right": (1.0, 0.0),
}

_WELL_KNOWN = (
    (25.4, "inches were taken for millimetres on one of the two ways"),
    (96 / 25.4, "it was drawn in pixels of 1/96 in"),
    (72 / 25.4, "it was drawn in points of 1/72 in"),
    (96 / 72, "72 and 96 dots an inch were mixed up"),
    (10.0, "centimetres and millimetres were mixed up"),
    (1000.0, "metres and millimetres were mixed up"),
    (2.0, "it was drawn at half size, or twice"),
    (4.0, "it was drawn at a quarter of its size, or four times"),
)


@dataclass(frozen=True)
class Inner:
    """A closed curve within an outline, such as a pocket's. layer: of the drawing."""

    layer: str
    curve: Curve


@dataclass(frozen=True)
class PlacedOutline:
    """An outline and what lies in it, in the placed frame. All in mm.

    gaps: those of the outline's own layer that were closed, places as on the page, y upward.
    drawing: where it lies in its drawing, None where there is none.
    """

    outline: Curve
    inner: tuple[Inner, ...] = ()
    gaps: tuple[Gap, ...] = ()
    drawing: "InDrawing | None" = field(default=None, repr=False, compare=False)

    def on(self, layer: str) -> tuple[Curve, ...]:
        """The curves within the outline that lie on a layer; the case of letters doesn't count."""
        return tuple(one.curve for one in self.inner if one.layer.casefold() == layer.casefold())


# An outline and its pockets are asked for by shapes and by findings at every turn of a dial,
# and change only with the drawing or its own keys: that one is remembered here.
@lru_cache(maxsize=8)
def placed(
    outline: OutlineFile, key: str, unit: Unit = "mm", *, headstock: bool = False
) -> PlacedOutline:
    """The outline that a table of the design means.

    key: where the table stands, to begin sentences with. unit: to speak in. headstock: whether
    it is one, which lies on the other side of its joint than a body.
    Raises DesignError with one sentence where the drawing doesn't hold what it should.
    """
    if outline.points is not None:
        smooth = through(key, outline.points) if outline.smooth else None
        curve = smooth or closed_polygon(key, outline.points)
        return PlacedOutline(_sound(curve, f"{key}.points", unit))
    found = _found(outline, key, unit, headstock)
    layer = found.loop.layers[-1] if found.loop.layers else ""
    gaps = tuple(gap for gap in found.page.joined.gaps if gap.layer == layer)
    return PlacedOutline(found.placed(found.loop), _inner(found), gaps, found)


@lru_cache(maxsize=32)
def pockets(
    outline: OutlineFile,
    layer: str,
    key: str,
    of: str,
    unit: Unit = "mm",
    *,
    headstock: bool = False,
) -> tuple[Curve, ...]:
    """The closed curves of one layer of an outline's drawing, in the placed frame.

    They may run out over the outline's edge, as a neck pocket does. key: where the outline
    stands. of: the key that asks for the layer. At least one. Raises DesignError where the layer
    isn't there, a curve on it is open or crosses itself, or one lies outside the outline or
    within another of them.
    """
    found = placed(outline, key, unit, headstock=headstock).drawing
    if found is None:
        raise DesignError([f"{of}: {quoted(layer)} is a layer of a drawing, and {key} has none"])
    loops = [loop for loop in on_layer(found.page, layer, of, unit) if loop is not found.loop]
    if not loops:
        raise DesignError([f"{of}: layer {quoted(layer)} holds nothing but the outline"])
    room, regions = _region(found.loop), [_region(loop) for loop in loops]
    for number, (loop, region) in enumerate(zip(loops, regions, strict=True)):
        _sound(Curve(loop.name, loop.pieces), of, unit, found.page.y_down, SMALLEST_POCKET)
        where = f"the curve at {_place(found.page, loop, unit)} on layer {quoted(layer)}"
        if not room.intersects(region):
            raise DesignError([f"{of}: {where} lies outside the outline"])
        if region.buffer(-TINY / 2).is_empty:
            raise DesignError([f"{of}: {where} is nowhere wider than {show_length(TINY, unit)}"])
        others = (other for one, other in enumerate(regions) if one != number)
        if any(_within(region, other) for other in others):
            raise DesignError(
                [
                    f"{of}: {where} lies within or upon another one there, and both would be cut "
                    "away; take it out, or put it on a layer of its own"
                ]
            )
    return tuple(found.placed(loop) for loop in loops)


def _within(region: shapely.Geometry, other: shapely.Geometry) -> bool:
    """Whether a region lies in another one, or is the same but for the pen's width."""
    if not region.intersects(other):
        return False
    return bool(shapely.difference(region, other.buffer(LOOK)).is_empty)


def behind_nut(curve: Curve) -> Curve:
    """A headstock's placed outline in the instrument's frame, where it lies at x below 0."""
    return Curve(curve.name, moved_pieces(curve.pieces, (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)))


@dataclass(frozen=True, eq=False)
class InDrawing:
    """An outline's loop on its page, and the move that places what is on the page."""

    page: DrawingPage
    loop: Loop
    move: Move

    def placed(self, loop: Loop) -> Curve:
        """A curve of the page in the placed frame."""
        return Curve(loop.name, moved_pieces(loop.pieces, self.move))


def _found(outline: OutlineFile, key: str, unit: Unit, headstock: bool) -> InDrawing:
    page = page_of(outline, key)
    loop = _outermost(candidates(page, outline, key, unit), page, outline, key, unit)
    curve = _sound(Curve(loop.name, loop.pieces), f"{key}.file", unit, page.y_down)
    found = InDrawing(page, loop, _move(page, curve, outline, key, unit, headstock))
    _hold_to_length(found.placed(loop), outline, key, unit)
    return found


def through(name: str, points: Sequence[Point]) -> Curve:
    """The smooth closed curve through points: a cubic spline, C2 all around.

    Its parameter grows with the square root of the chords (centripetal), which keeps it from
    swinging out beside short ones (Lee 1989; from memory). Raises DesignError where two points
    that follow one another are the same.
    """
    there = np.asarray([*points, points[0]], dtype=float)
    steps = np.sqrt(np.linalg.norm(np.diff(there, axis=0), axis=1))
    if not steps.all():
        number = int(np.argmin(steps)) + 1
        raise DesignError(
            [f"{name}.points: points {number} and {number % len(points) + 1} are the same"]
        )
    knots = np.concatenate([[0.0], np.cumsum(steps)])
    slopes = CubicSpline(knots, there, bc_type="periodic")(knots, 1)
    third = np.diff(knots)[:, None] / 3
    controls = np.stack(
        [there[:-1], there[:-1] + slopes[:-1] * third, there[1:] - slopes[1:] * third, there[1:]], 1
    )
    return Curve(name, as_pieces(controls))


def as_pieces(controls: Array) -> tuple[Piece, ...]:
    """Control points (k, 4, 2) as plain pieces."""
    return tuple(
        (_plain(first), _plain(second), _plain(third), _plain(last))
        for first, second, third, last in controls
    )


def _plain(point: Array) -> Point:
    return float(point[0]), float(point[1])


def _region(loop: Loop) -> shapely.Geometry:
    """What lies within a loop; what crosses itself is made whole, since it is told elsewhere."""
    ring = polygon(Curve(loop.name, loop.pieces), LOOK)
    return shapely.Polygon(ring).buffer(0) if len(ring) > 2 else shapely.Polygon()


def _place(page: DrawingPage, loop: Loop, unit: Unit) -> str:
    return page.show(loop.pieces[0][0], unit)


def _outermost(
    loops: tuple[Loop, ...], page: DrawingPage, outline: OutlineFile, key: str, unit: Unit
) -> Loop:
    """The one curve that no other lies around."""
    regions = [_region(loop) for loop in loops]
    outer = [
        loop
        for loop, region in zip(loops, regions, strict=True)
        if not any(
            other is not region and other.area > region.area and other.contains(region)
            for other in regions
        )
    ]
    if len(outer) == 1:
        return outer[0]
    named = "; ".join(
        f"{quoted(loop.names[0]) if loop.names else 'one'}, {_size(loop, unit)}, at "
        f"{_place(page, loop, unit)}"
        for loop in outer[:3]
    )
    where = f"layer {quoted(outline.layer)}" if outline.layer else "the drawing"
    raise DesignError(
        [
            f"{key}.{'curve' if outline.layer else 'layer'}: {where} has {len(outer)} outer "
            f"curves: {named}{'; ...' if len(outer) > 3 else ''}; say which is the outline"
        ]
    )


def _size(loop: Loop, unit: Unit) -> str:
    low, high = curve_extent(Curve(loop.name, loop.pieces))
    return " x ".join(show_length(float(side), unit) for side in high - low)


def _sound(
    curve: Curve, key: str, unit: Unit, y_down: bool = False, smallest: float = SMALLEST
) -> Curve:
    """The curve, if it is of a size to be cut and does not cross itself."""
    ring = polygon(curve, LOOK)
    size = np.ptp(ring, axis=0)
    if not smallest <= size.max() <= LONGEST:
        raise DesignError(
            [
                f"{key}: the curve {quoted(curve.name)} is {show_length(float(size[0]), unit)} x "
                f"{show_length(float(size[1]), unit)}; one from {show_length(smallest, unit)} to "
                f"{show_length(LONGEST, unit)} long is allowed"
            ]
        )
    if not shapely.LinearRing(ring).is_simple or not shapely.Polygon(ring).is_valid:
        x, y = _crossing(ring)
        where = f"x {show_length(x, unit)}, y {show_length(-y if y_down else y, unit)}"
        raise DesignError(
            [f"{key}: the curve {quoted(curve.name)} crosses or touches itself at {where}"]
        )
    return curve


def _crossing(ring: Array) -> Point:
    """Where a ring first meets itself, as shapely explains it."""
    said = re.search(r"\[(\S+) (\S+)\]", explain_validity(shapely.Polygon(ring)))
    return (float(said[1]), float(said[2])) if said else _plain(ring[0])


def _move(
    page: DrawingPage, curve: Curve, outline: OutlineFile, key: str, unit: Unit, headstock: bool
) -> Move:
    """From the page to the placed frame: a turn and a shift, and a flip where one is needed."""
    toward = np.array(_TOWARD[outline.neck_toward])
    origin, neck = _centre(page, outline, toward, key, unit)
    away = -neck
    # from the front the treble side is on the right: of a body with its neck up, of a
    # headstock with its neck down
    treble = np.array([-away[1], away[0]])
    mirrored = (outline.seen_from == "back") != (outline.handed == "left")
    if mirrored != headstock:
        treble = -treble
    turn = np.stack([away, treble])
    shift = -turn @ origin
    if outline.edge_at is None:
        centred = moved_pieces(curve.pieces, _as_move(turn, shift))
        shift = shift - np.array([_edge(Curve(curve.name, centred), outline, key, unit), 0.0])
    else:
        along = outline.edge_at * (-1.0 if page.y_down and abs(toward[1]) else 1.0)
        edge = origin + neck * ((along - origin @ abs(toward)) / (neck @ abs(toward)))
        shift = -turn @ edge
    return _as_move(turn, shift)


def _centre(
    page: DrawingPage, outline: OutlineFile, toward: Array, key: str, unit: Unit
) -> tuple[Array, Array]:
    """A point of the centre line on the page, and which way along it the neck is."""
    if outline.centre_layer is None:
        assert outline.centre_at is not None
        across = abs(toward[::-1])
        return across * outline.centre_at * (-1.0 if page.y_down and across[1] else 1.0), toward
    start, stop = (np.array(end) for end in centre_line(page, outline.centre_layer, key))
    along = (stop - start) / np.linalg.norm(stop - start)
    along = along if along @ toward >= 0 else -along
    lean = math.degrees(math.acos(min(1.0, float(along @ toward))))
    if lean > LEANS:
        raise DesignError(
            [
                f"{key}.neck_toward: the centre line runs {lean:.1f}° off "
                f"{quoted(outline.neck_toward)} on the page; at most {LEANS:g}° are allowed"
            ]
        )
    return start, along


def _as_move(turn: Array, shift: Array) -> Move:
    (a, c), (b, d) = turn.tolist()
    e, f = shift.tolist()
    return a, b, c, d, e, f


def _edge(curve: Curve, outline: OutlineFile, key: str, unit: Unit) -> float:
    """Where the centre line, y = 0, first meets a curve, by x in mm."""
    pieces = np.array(curve.pieces, dtype=float)
    near = (pieces[..., 1].min(axis=1) <= 0) & (pieces[..., 1].max(axis=1) >= 0)
    crossings = [x for piece in pieces[near] for x in _meets(piece)]
    if not crossings:
        (_, low), (_, high) = curve_extent(curve)
        name = "centre_at" if outline.centre_layer is None else "centre_layer"
        beside = show_length(float(min(abs(low), abs(high))), unit)
        raise DesignError(
            [f"{key}.{name}: the centre line does not meet the outline, it is {beside} beside it"]
        )
    return min(crossings)


def _meets(piece: Array) -> list[float]:
    """Where a cubic piece (4, 2) meets y = 0, by x."""
    power = (
        np.array([[-1, 3, -3, 1], [3, -6, 3, 0], [-3, 3, 0, 0], [1, 0, 0, 0]], dtype=float) @ piece
    )
    rough = max(1.0, float(np.abs(piece).max()))
    if np.abs(power[:, 1]).max() < 1e-9 * rough:  # it lies on the line
        return [float(piece[0, 0]), float(piece[3, 0])]
    roots = np.roots(power[:, 1])
    inside = roots[
        (np.abs(roots.imag) < 1e-7) & (roots.real > -1e-9) & (roots.real < 1 + 1e-9)
    ].real
    return [float(x) for x in np.polyval(power[:, 0], inside)]


def curve_extent(curve: Curve) -> tuple[Array, Array]:
    """Lowest and highest x and y of a curve in mm, (2,) each, exact."""
    pieces = np.array(curve.pieces, dtype=float)
    first, second, third = np.diff(pieces, axis=1).transpose(1, 0, 2)
    # where a piece turns back along an axis: a t^2 - 2 b t + first = 0
    a, b = first - 2 * second + third, first - second
    root = np.sqrt(np.maximum(b**2 - a * first, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        # both forms of the formula, so that a straight piece's a of 0 does no harm
        turns = np.stack([(b + root) / a, (b - root) / a, first / (b + root), first / (b - root)])
    turns = np.clip(np.nan_to_num(turns, nan=0.0, posinf=0.0, neginf=0.0), 0.0, 1.0)[..., None]
    s, t = 1 - turns, turns
    weights = np.concatenate([s**3, 3 * s**2 * t, 3 * s * t**2, t**3], axis=-1)
    reached = np.einsum("rkxi,kix->rkx", weights, pieces)
    ends = np.concatenate([reached.reshape(-1, 2), pieces[:, 0]])
    return ends.min(axis=0), ends.max(axis=0)


def _hold_to_length(curve: Curve, outline: OutlineFile, key: str, unit: Unit) -> None:
    """Refuse a drawing whose outline is not as long as its builder measured it."""
    if outline.length is None:
        return
    low, high = curve_extent(curve)
    long, across = (float(size) for size in high - low)
    if _agree(long, outline.length):
        return
    if _agree(across, outline.length):
        cause = (
            f"; across the page it is {show_length(across, unit)}: is `neck_toward` right, which "
            f"is {quoted(outline.neck_toward)}?"
        )
    else:
        cause = (
            "".join(
                f"; that is {ratio:.4g} times {'more' if long > outline.length else 'less'}: {why}?"
                for ratio, why in _WELL_KNOWN
                if abs(max(long / outline.length, outline.length / long) / ratio - 1) < RATIO_AGREES
            )
            or f"; at most {100 * LENGTH_AGREES:g} % between them are allowed"
        )
    raise DesignError(
        [
            f"{key}.length: {show_length(outline.length, unit)} by your measure, but the drawing's "
            f"{quoted(curve.name)} is {show_length(long, unit)} long{cause}"
        ]
    )


def _agree(one: float, other: float) -> bool:
    return abs(one - other) <= LENGTH_AGREES * other


def _inner(found: InDrawing) -> tuple[Inner, ...]:
    """The drawing's closed curves that lie within the outline, as placed."""
    room = _region(found.loop)
    shapely.prepare(room)  # looked at once for each curve of the drawing
    inner = []
    for loop in found.page.joined.loops:
        if loop is not found.loop and room.contains(_region(loop)):
            inner.append(Inner(loop.layers[-1] if loop.layers else "", found.placed(loop)))
    return tuple(inner)
