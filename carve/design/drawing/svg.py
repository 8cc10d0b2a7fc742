"""SVG files, by svgelements: its paths and shapes as cubic pieces, in mm where the file says so.

The page's size, its viewBox and how the one is fitted into the other are read here (SVG 1.1,
section 7.8): svgelements keeps a millimetre to six figures only. CSS fixes 1 in at 25.4 mm
and 96 px.
"""

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator
from typing import Any
from xml.parsers import expat

from svgelements import (
    SVG,
    Arc,
    Close,
    CubicBezier,
    Group,
    Move,
    QuadraticBezier,
    Shape,
    Use,
)

from carve.design.drawing.limits import Budget, WatchedBytes, hold_attributes, hold_numbers
from carve.design.drawing.model import ARC_TURN, Chain, Drawn, Unreadable
from carve.design.values import curve
from carve.design.values.curve import Piece, Point, moved_pieces, straight
from carve.design.values.quote import quoted
from carve.design.values.units import MM_PER_INCH

DEEPEST_GROUP = 100  # groups in groups; programs nest a dozen
MOST_ELEMENTS = 30_000  # what `use` repeats among them
PX_PER_INCH = 96.0  # CSS Values and Units, absolute lengths

_MM_A_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": MM_PER_INCH,
    "pc": MM_PER_INCH / 6,
    "pt": MM_PER_INCH / 72,
    "px": MM_PER_INCH / PX_PER_INCH,
}
_LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([A-Za-z%]*)\s*")
_MOVED_BY_STYLE = re.compile(r"(^|[;{\s])(transform|translate|rotate|scale|zoom)\s*:")
_LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
_LINKS = ("href", "{http://www.w3.org/1999/xlink}href")

_BROKEN = {  # what the parser says, and what a builder can make of it
    expat.errors.XML_ERROR_NO_ELEMENTS: "it breaks off",
    expat.errors.XML_ERROR_UNCLOSED_TOKEN: "it breaks off",
    expat.errors.XML_ERROR_TAG_MISMATCH: "an element is closed that is not open",
    expat.errors.XML_ERROR_DUPLICATE_ATTRIBUTE: "an element has two attributes of one name",
    expat.errors.XML_ERROR_JUNK_AFTER_DOC_ELEMENT: "something follows after its end",
    expat.errors.XML_ERROR_INCORRECT_ENCODING: "it is not in the encoding that it names",
}

# what is not drawn where it stands
_UNDRAWN = {
    "clipPath",
    "mask",
    "marker",
    "pattern",
    "filter",
    "linearGradient",
    "radialGradient",
    "metadata",
    "script",
    "namedview",
}
_WORDS = {"text": "words", "image": "images", "foreignObject": "words"}


def read_svg(data: bytes) -> Drawn:
    """Read an SVG file; its y is turned upward. Raises Unreadable."""
    _look_first(data)
    try:
        root = ET.fromstring(data)  # entities were refused before
    except ET.ParseError as error:  # a prefix that was never declared, for one
        raise Unreadable(f"is damaged in line {error.position[0]}; save it anew") from None
    hold_attributes(root)
    if _tag(root) != "svg":
        raise Unreadable(f"is not SVG: it is XML that begins with {quoted(_tag(root))}")
    skipped = tuple(dict.fromkeys(_WORDS[_tag(e)] for e in root.iter() if _tag(e) in _WORDS))
    _tidy(root)
    _held_within_reason(root)
    hold_numbers(root)
    unit_mm, move = _page(root)
    budget = Budget()
    try:
        # not reified: svgelements would skew an ellipse's two radii and take them for the new ones
        source = WatchedBytes(ET.tostring(root), budget)
        tree = SVG.parse(source, reify=False, ppi=PX_PER_INCH, on_error="raise")
        chains = tuple(budget.each(_chains(tree, (), move))) if isinstance(tree, Group) else ()
    except Unreadable:
        raise
    except Exception:  # a damaged file makes the library stumble anywhere, and say so in its words
        raise Unreadable("is damaged: its curves cannot be followed; save it anew") from None
    groups = (element for element in root.iter() if _tag(element) == "g")
    named = tuple(name for group in groups if (name := group.get(_LABEL) or group.get("id")))
    return Drawn(chains, unit_mm, y_down=True, skipped=skipped, named=named)


def _look_first(data: bytes) -> None:
    """Refuse what could blow up while it is parsed, and say where XML is broken."""
    parser = expat.ParserCreate()
    depth = count = 0

    def opened(*_: Any) -> None:
        nonlocal depth, count
        depth, count = depth + 1, count + 1
        if depth > DEEPEST_GROUP:
            raise Unreadable(f"nests more than {DEEPEST_GROUP} groups in one another")
        if count > MOST_ELEMENTS:
            raise Unreadable(f"holds more than {MOST_ELEMENTS} elements")

    def closed(*_: Any) -> None:
        nonlocal depth
        depth -= 1

    def entity(name: str, *_: Any) -> None:
        raise Unreadable(
            f"declares an entity of its own, {quoted(name)}, which could stand for anything; save "
            "it as a plain SVG"
        )

    parser.StartElementHandler = opened
    parser.EndElementHandler = closed
    parser.EntityDeclHandler = entity
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        what = _BROKEN.get(expat.ErrorString(error.code) or "", "this is no XML")
        raise Unreadable(f"is damaged in line {error.lineno}: {what}; save it anew") from None
    except (LookupError, ValueError) as error:  # also what expat is told is an encoding, and isn't
        if isinstance(error, Unreadable):
            raise
        raise Unreadable("is written in an encoding nobody knows; save it as UTF-8") from None


def _tag(element: ET.Element) -> str:
    return element.tag.rpartition("}")[2]


def _tidy(root: ET.Element) -> None:
    """Take out what is not drawn; a symbol is drawn only where it is used."""
    for element in root.iter():
        rules = (element.text or "") if _tag(element) == "style" else element.get("style", "")
        if _MOVED_BY_STYLE.search(rules):
            raise Unreadable(
                "moves or scales something by a style sheet, where only `transform` attributes "
                "are followed; save it as a plain SVG"
            )
    for parent in list(root.iter()):
        for child in list(parent):
            if _tag(child) in _UNDRAWN | set(_WORDS):
                parent.remove(child)
            elif _tag(child) == "symbol":
                if child.get("viewBox"):
                    raise Unreadable(
                        f"has a symbol with a viewBox, {quoted(child.get('id', ''))}, whose scale "
                        "hangs on where it is used; ungroup it in the drawing"
                    )
                space = child.tag.removesuffix("symbol")
                hidden = ET.Element(f"{space}defs")
                parent[list(parent).index(child)] = hidden
                child.tag = f"{space}g"
                hidden.append(child)


def _held_within_reason(root: ET.Element) -> None:
    """Refuse a drawing whose uses of uses grow without end."""
    by_id = {element.get("id"): element for element in root.iter() if element.get("id")}
    known: dict[int, tuple[int, int]] = {}
    under_way: set[int] = set()

    def weigh(element: ET.Element, level: int) -> tuple[int, int]:
        """How many elements, and how deep, with everything that uses repeat."""
        mark = id(element)
        if mark in known:
            return known[mark]
        if level > 2 * DEEPEST_GROUP:
            raise Unreadable(f"nests more than {DEEPEST_GROUP} uses in one another")
        if mark in under_way:
            raise Unreadable(f"has a use of itself: {quoted(element.get('id', _tag(element)))}")
        under_way.add(mark)
        inner = list(element)
        if _tag(element) == "use":
            link = next((element.get(name) for name in _LINKS if element.get(name)), "")
            if link and not link.startswith("#"):
                raise Unreadable(f"uses another file, {quoted(link)}; put the curve itself here")
            if link and link[1:] in by_id:
                inner.append(by_id[link[1:]])
        count, depth = 1, 1
        for one in inner:
            more, deeper = weigh(one, level + 1)
            count, depth = count + more, max(depth, deeper + 1)
        if count > MOST_ELEMENTS or depth > 2 * DEEPEST_GROUP:
            raise Unreadable(f"repeats a part with `use` until there are more than {MOST_ELEMENTS}")
        under_way.discard(mark)
        known[mark] = count, depth
        return known[mark]

    weigh(root, 0)


def _page(root: ET.Element) -> tuple[float | None, curve.Move]:
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
        unit = _MM_A_UNIT["px"]
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
    match = _LENGTH.fullmatch(text) if text else None
    unit = _MM_A_UNIT.get(match[2].lower()) if match else None
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


def _chains(
    group: Group, layers: tuple[str, ...], move: curve.Move, *, labelled: bool = False
) -> Iterator[Chain]:
    """The chains of a group. labelled: whether it lies in a layer that its builder named.

    Such a layer's inner groups, to which programs give ids of their own, are none themselves.
    """
    for element in group:
        names = _names(element)
        if isinstance(element, Group | Use):
            label = _LABEL in _own(element)
            inner = layers + names[:1] if label or not labelled else layers
            yield from _chains(element, inner, move, labelled=labelled or label)
        elif isinstance(element, Shape):
            own = element.transform
            there = (own.a, own.b, own.c, own.d, own.e, own.f)
            for pieces in _ways(element.segments(transformed=False)):
                here = moved_pieces(moved_pieces(pieces, there), move)
                yield Chain(layers, tuple(reversed(names)), here)


def _names(element: Any) -> tuple[str, ...]:
    """What an element is called: the label its builder gave it, then its id."""
    own = _own(element)
    return tuple(dict.fromkeys(own[key] for key in (_LABEL, "id") if own.get(key)))


def _own(element: Any) -> dict[str, str]:
    """The attributes written on an element itself; svgelements mixes in those of its groups."""
    values = element.values if isinstance(element.values, dict) else {}
    return dict(values.get("attributes", {}))


def _ways(path: Iterable[Any]) -> Iterator[tuple[Piece, ...]]:
    """Each way of a path from where the pen is set down to where it is lifted."""
    pieces: list[Piece] = []
    for segment in path:
        if isinstance(segment, Move):
            if pieces:
                yield tuple(pieces)
            pieces = []
        elif isinstance(segment, Arc):
            count = math.ceil(abs(segment.sweep) / ARC_TURN)
            pieces += [_cubic(part) for part in segment.as_cubic_curves(count)]
        elif isinstance(segment, CubicBezier):
            pieces.append(_cubic(segment))
        elif isinstance(segment, QuadraticBezier):
            pieces.append(_raised(*map(_point, (segment.start, segment.control, segment.end))))
        elif None not in (segment.start, segment.end):
            start, stop = _point(segment.start), _point(segment.end)
            if start != stop:
                pieces.append(straight(start, stop))
            if isinstance(segment, Close) and pieces:
                yield tuple(pieces)
                pieces = []
    if pieces:
        yield tuple(pieces)


def _cubic(part: CubicBezier) -> Piece:
    return (
        _point(part.start),
        _point(part.control1),
        _point(part.control2),
        _point(part.end),
    )


def _raised(start: Point, control: Point, stop: Point) -> Piece:
    """A quadratic piece as a cubic one; exact."""

    def toward(end: Point) -> Point:
        return end[0] + 2 / 3 * (control[0] - end[0]), end[1] + 2 / 3 * (control[1] - end[1])

    return start, toward(start), toward(stop), stop


def _point(point: Any) -> Point:
    return float(point[0]), float(point[1])
