"""SVG files, by svgelements: its paths and shapes as cubic pieces, in mm where the file says so.

``svg_style`` says what of it is seen, ``svg_tree`` makes its tree ready for svgelements,
``svg_page`` tells how long its unit is. CSS fixes 1 in at 25.4 mm and 96 px.
"""

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator, Mapping, Sequence
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

from carve.design.drawing.clipping import Clip, Effort, clip_of, left_by
from carve.design.drawing.entities import EntityBounds
from carve.design.drawing.limits import (
    Budget,
    WatchedBytes,
    hold_attributes,
    hold_numbers,
    in_our_words,
)
from carve.design.drawing.model import ARC_TURN, Chain, Drawn, Hidden, NoCurve, Unreadable
from carve.design.drawing.svg_page import page_of
from carve.design.drawing.svg_style import MARK, Look, Own, take_styles
from carve.design.drawing.svg_tree import (
    CLIP,
    CUT_OFF,
    KIND,
    LABEL,
    NAME,
    PLAIN,
    PX_PER_INCH,
    refuse_moving_styles,
    tag,
    tidy,
)
from carve.design.values import curve
from carve.design.values.curve import Piece, Point, moved_pieces, straight
from carve.design.values.quote import quoted

DEEPEST_GROUP = 100  # groups in groups; programs nest a dozen
MOST_ELEMENTS = 30_000  # what `use` repeats among them
_LINKS = ("href", "{http://www.w3.org/1999/xlink}href")

_BROKEN = {  # what the parser says, and what a builder can make of it
    expat.errors.XML_ERROR_NO_ELEMENTS: "it breaks off",
    expat.errors.XML_ERROR_UNCLOSED_TOKEN: "it breaks off",
    expat.errors.XML_ERROR_TAG_MISMATCH: "an element is closed that is not open",
    expat.errors.XML_ERROR_DUPLICATE_ATTRIBUTE: "an element has two attributes of one name",
    expat.errors.XML_ERROR_JUNK_AFTER_DOC_ELEMENT: "something follows after its end",
    expat.errors.XML_ERROR_INCORRECT_ENCODING: "it is not in the encoding that it names",
}


def read_svg(data: bytes) -> Drawn:
    """Read an SVG file; its y is turned upward. Raises Unreadable."""
    _look_first(data)
    try:
        root = ET.fromstring(data)  # entities were refused before
    except ET.ParseError as error:  # a prefix that was never declared, for one
        raise Unreadable(f"is damaged in line {error.position[0]}; save it anew") from None
    hold_attributes(root)
    if tag(root) != "svg":
        raise Unreadable(f"is not SVG: it is XML that begins with {quoted(tag(root))}")
    refuse_moving_styles(root)
    groups = (element for element in root.iter() if tag(element) == "g")
    named = tuple(name for group in groups if (name := group.get(LABEL) or group.get("id")))
    styles = take_styles(root)
    tidy(root, styles)
    _held_within_reason(root)
    hold_numbers(root)
    unit_mm, move = page_of(root)
    budget = Budget()
    reading = _Reading(styles, move, budget)
    with in_our_words():
        # not reified: svgelements would skew an ellipse's two radii and take them for the new ones
        source = WatchedBytes(ET.tostring(root), budget)
        tree = SVG.parse(source, reify=False, ppi=PX_PER_INCH, on_error="raise")
        if isinstance(tree, Group):
            reading.read(tree, (), reading.look(tree, Look()), (), labelled=False)
    return Drawn(
        tuple(reading.chains),
        unit_mm,
        y_down=True,
        named=named,
        hidden=tuple(reading.hidden),
        no_curves=tuple(reading.no_curves),
    )


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

    parser.StartElementHandler = opened
    parser.EndElementHandler = closed
    parser.EntityDeclHandler = EntityBounds(data).hold
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        what = _BROKEN.get(expat.ErrorString(error.code) or "", "this is no XML")
        raise Unreadable(f"is damaged in line {error.lineno}: {what}; save it anew") from None
    except (LookupError, ValueError) as error:  # also what expat is told is an encoding, and isn't
        if isinstance(error, Unreadable):
            raise
        raise Unreadable("is written in an encoding nobody knows; save it as UTF-8") from None


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
            raise Unreadable(f"has a use of itself: {quoted(element.get('id', tag(element)))}")
        under_way.add(mark)
        inner = list(element)
        if tag(element) == "use":
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


class _Reading:
    """What is found while the tree is walked. styles: of the elements, by their marks."""

    def __init__(self, styles: Sequence[Own], move: curve.Move, budget: Budget) -> None:
        self.budget = budget
        self.styles = styles
        self.move = move
        self.effort = Effort()
        self.chains: list[Chain] = []
        self.hidden: list[Hidden] = []
        self.no_curves: list[NoCurve] = []

    def look(self, element: Any, around: Look) -> Look:
        """What of an element is seen."""
        mark = _own(element).get(MARK)
        return around if mark is None else around.inside(self.styles[int(mark)])

    def read(
        self,
        group: Group,
        layers: tuple[str, ...],
        look: Look,
        clips: tuple[Clip, ...],
        *,
        labelled: bool,
    ) -> None:
        """Read a group. labelled: whether it lies in a layer that its builder named.

        Such a layer's inner groups, to which programs give ids of their own, are none themselves.
        """
        own = _own(group)
        if CUT_OFF in own:
            clips += (Clip(own[CUT_OFF], None),)
        clips += tuple(
            clip_of("clip path", self._shapes(element))
            for element in group
            if _own(element).get(KIND) == CLIP
        )
        for element in group:
            own = _own(element)
            names, seen = _names(own), self.look(element, look)
            if own.get(KIND) == CLIP:
                continue
            if isinstance(element, Group | Use):
                label = LABEL in own
                inner = layers + names[:1] if label or not labelled else layers
                self.read(element, inner, seen, clips, labelled=labelled or label)
            elif isinstance(element, Shape):
                self._shape(element, layers, tuple(reversed(names)), seen, clips)

    def _shape(
        self,
        element: Shape,
        layers: tuple[str, ...],
        names: tuple[str, ...],
        look: Look,
        clips: tuple[Clip, ...],
    ) -> None:
        kind = _own(element).get(KIND)
        why = look.hidden(painted=kind != "image")
        for pieces in self._moved_ways(element):
            if kind is not None:
                if not why:
                    self.no_curves.append(NoCurve(layers, names, kind, pieces[0][0]))
                continue
            left, by = left_by(clips, pieces, self.effort) if not why else ("all", "")
            if left == "nothing":
                self.hidden.append(Hidden(layers, names, f"a {by} cuts all of it off"))
            elif why:
                self.hidden.append(Hidden(layers, names, why))
            else:
                self.chains.append(Chain(layers, names, pieces))
                if left == "part":
                    cut = f"curve cut off by a {by}"
                    self.no_curves.append(NoCurve(layers, names, cut, pieces[0][0]))

    def _shapes(self, group: Group) -> Iterator[list[tuple[Piece, ...]]]:
        """The ways of every shape in a group."""
        for element in group:
            if isinstance(element, Group | Use):
                yield from self._shapes(element)
            elif isinstance(element, Shape):
                yield list(self._moved_ways(element))

    def _moved_ways(self, element: Shape) -> Iterator[tuple[Piece, ...]]:
        own = element.transform
        there = (own.a, own.b, own.c, own.d, own.e, own.f)
        for pieces in _ways(element.segments(transformed=False)):
            self.budget.spend(len(pieces))
            yield moved_pieces(moved_pieces(pieces, there), self.move)


def _names(own: Mapping[str, str]) -> tuple[str, ...]:
    """What an element is called: the label its builder gave it, then its id."""
    if PLAIN in own:
        return ()
    return tuple(dict.fromkeys(own[key] for key in (LABEL, "id", NAME) if own.get(key)))


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
