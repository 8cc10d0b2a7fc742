"""What one drawing may hold, so that reading it ends: more would take minutes, or all memory.

Sizes are held before the libraries see the file, for some of them take a time that grows with the
square of a number's digits. They are far above what a drawing program writes for an instrument: a
full-size plan with every screw has some thousand pieces.
"""

import io
import re
import time
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from carve.design.drawing.model import Chain, Unreadable
from carve.design.values.quote import quoted

MOST_SECONDS = 20.0  # of one processor, for one drawing
MOST_PIECES = 50_000  # of all its curves: 5 m of outline at one each 0.1 mm
MOST_NUMBERS = 400_000  # coordinates, those that `use` repeats among them
LONGEST_NUMBER = 40  # digits; a program writes 17
MOST_TRANSFORMS = 50  # in one attribute
LONGEST_TRANSFORM = 4_000  # characters
LONGEST_RULES = 20_000  # characters of all style sheets and of one `style` attribute
LONGEST_REMARK = 1_000  # characters of an attribute that places nothing; longer ones are passed by
MOST_NAMES = 200  # of attributes and styles; every element takes over those of its groups
MOST_DXF_LINES = 600_000  # two to a value
MOST_SPLINE_POINTS = 5_000  # in one spline

_LONG_NUMBER = re.compile(rf"\d{{{LONGEST_NUMBER + 1}}}")
_NUMBER = re.compile(r"[A-Za-z]|\.?\d+")
_STYLE_NAME = re.compile(r"([\w-]++)\s*+:")
_BLANKS, _BLANK_LINES = re.compile(r"[^\S\n]+"), re.compile(r"\n\s+")

_PLACED = {  # attributes of which each holds a few numbers
    *("x", "y", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "width", "height"),
    *("viewBox", "preserveAspectRatio"),
}
_POINTS = {"d", "points"}
_RULES = {"style", "class", "id", "display", "visibility"}
_LINKS = ("href", "{http://www.w3.org/1999/xlink}href")


class Budget:
    """What may still be spent on reading one drawing: time of the processor, and pieces."""

    def __init__(self) -> None:
        self._until = time.thread_time() + MOST_SECONDS
        self._pieces = 0

    def spend(self, pieces: int = 0) -> None:
        """Raises Unreadable where time is up, or there are too many pieces with these."""
        self._pieces += pieces
        if self._pieces > MOST_PIECES:
            raise Unreadable(
                f"holds more than {MOST_PIECES} pieces of curves; leave out hatching and what "
                "is no outline"
            )
        if time.thread_time() > self._until:
            raise Unreadable(
                f"takes longer than {MOST_SECONDS:g} s to read; leave out what is no outline"
            )

    def each(self, chains: Iterable[Chain]) -> Iterator[Chain]:
        """The same chains, their pieces counted as they come."""
        for chain in chains:
            self.spend(len(chain.pieces))
            yield chain


class WatchedBytes(io.BytesIO):
    """A file in memory that its reader gets only while there is time."""

    def __init__(self, data: bytes, budget: Budget) -> None:
        super().__init__(data)
        self._budget = budget

    def read(self, size: int | None = -1, /) -> bytes:
        """As of any file. Raises Unreadable where time is up."""
        self._budget.spend()
        return super().read(size)

    def readline(self, size: int | None = -1, /) -> bytes:
        """As of any file. Raises Unreadable where time is up."""
        self._budget.spend()
        return super().readline(size)


def hold_attributes(root: ET.Element) -> None:
    """Refuse attributes of an SVG that could take for ever. Long remarks are taken out.

    Raises Unreadable.
    """
    names: set[str] = set()
    rules = 0
    for element in root.iter():
        for name, text in list(element.attrib.items()):
            what = f"a `{quoted(name.rpartition('}')[2])[1:-1]}`"
            if name in _POINTS or name in _PLACED or name == "transform":
                if _LONG_NUMBER.search(text):
                    raise Unreadable(
                        f"has {what} with a number of more than {LONGEST_NUMBER} digits, which "
                        "no drawing program writes; save it anew"
                    )
                if name in _PLACED and len(text) > LONGEST_REMARK:
                    raise Unreadable(f"has {what} of more than {LONGEST_REMARK} characters")
            elif name not in _RULES and len(text) > LONGEST_REMARK:
                del element.attrib[name]
                continue
            if name == "transform" and (
                len(text) > LONGEST_TRANSFORM or text.count("(") > MOST_TRANSFORMS
            ):
                raise Unreadable(
                    f"moves something by more than {MOST_TRANSFORMS} transforms in one `transform`,"
                    " or by one that is too long; save it as a plain SVG"
                )
            if name in _RULES and len(text) > LONGEST_RULES:
                raise Unreadable(f"has {what} of more than {LONGEST_RULES} characters")
            names.add(name)
            if name == "style":
                names.update(_STYLE_NAME.findall(text))
        if element.tag.rpartition("}")[2] == "style" and element.text:
            rules += len(element.text)
            if rules > LONGEST_RULES:
                raise Unreadable(
                    f"has a style sheet of more than {LONGEST_RULES} characters; save it as a "
                    "plain SVG"
                )
            names.update(_STYLE_NAME.findall(element.text))
            element.text = _BLANK_LINES.sub("\n", _BLANKS.sub(" ", element.text))
        if len(names) > MOST_NAMES:
            raise Unreadable(
                f"has attributes and styles of more than {MOST_NAMES} names; save it as a plain SVG"
            )


def hold_numbers(root: ET.Element) -> None:
    """Refuse an SVG of too many coordinates, those counted that uses repeat.

    root: where no use repeats itself. Raises Unreadable.
    """
    by_id = {element.get("id"): element for element in root.iter() if element.get("id")}
    known: dict[int, int] = {}

    def weigh(element: ET.Element) -> int:
        if id(element) not in known:
            count = sum(_numbers(element.get(name, "")) for name in _POINTS)
            count += sum(weigh(inner) for inner in element)
            if element.tag.rpartition("}")[2] == "use":
                link = next((link for name in _LINKS if (link := element.get(name))), "")
                used = by_id.get(link[1:])
                count += 0 if used is None else weigh(used)
            known[id(element)] = count
        return known[id(element)]

    if weigh(root) > MOST_NUMBERS:
        raise Unreadable(
            f"holds more than {MOST_NUMBERS} coordinates; leave out hatching and what is no outline"
        )


def _numbers(text: str) -> int:
    return sum(1 for _ in _NUMBER.finditer(text))


def hold_lines(data: bytes) -> None:
    """Refuse a DXF of too many lines. Raises Unreadable."""
    if max(data.count(b"\n"), data.count(b"\r")) > MOST_DXF_LINES:
        raise Unreadable(
            f"has more than {MOST_DXF_LINES} lines of text; leave out hatching and what is no "
            "outline"
        )


def hold_spline(points: Any, layer: str) -> None:
    """Refuse a spline of too many points. Raises Unreadable."""
    if len(points) > MOST_SPLINE_POINTS:
        raise Unreadable(
            f"has a spline of more than {MOST_SPLINE_POINTS} points on layer {quoted(layer)}; "
            "draw it as several"
        )


def hold_corners(entity: Any, segments: int, layer: str) -> None:
    """Refuse a polyline that would be cut into too many pieces. Raises Unreadable.

    segments: that each of its sides may become.
    """
    kind = entity.dxftype()
    sides = (
        len(entity) if kind == "LWPOLYLINE" else len(entity.vertices) if kind == "POLYLINE" else 1
    )
    if sides * max(1, segments // 3) > MOST_PIECES:
        raise Unreadable(
            f"has a polyline of more than {MOST_PIECES} pieces on layer {quoted(layer)}; draw it "
            "as several, or leave out what is no outline"
        )


@contextmanager
def in_our_words() -> Iterator[None]:
    """Where a library follows curves: a damaged file makes it stumble anywhere.

    Raises Unreadable in place of whatever it says then.
    """
    try:
        yield
    except Unreadable:
        raise
    except Exception:
        raise Unreadable("is damaged: its curves cannot be followed; save it anew") from None
