"""An SVG's tree made ready for svgelements, which knows no visibility and follows no clip path.

What is never drawn goes. Words and images become marks, so that their places come out as those
of curves do. What a clip path or a mask cuts is put in a group of its own, and the clip path's
shapes with it, in the same units (SVG 1.1, section 14.3.5).
"""

import re
import xml.etree.ElementTree as ET
from collections.abc import Sequence

from carve.design.drawing.model import Unreadable
from carve.design.drawing.svg_style import MARK, Own
from carve.design.values.quote import quoted
from carve.design.values.units import MM_PER_INCH

PX_PER_INCH = 96.0  # CSS Values and Units, absolute lengths
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"

# our own attributes
KIND = "carve-kind"  # "words", "image" or CLIP
CLIP = "clip"  # what a clip path leaves
CUT_OFF = "carve-cut-off"  # of a wrapper: what cuts, where it can't be followed
PLAIN = "carve-plain"  # a group that is none to its builder
NAME = "carve-id"  # the id that an element had

MM_A_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": MM_PER_INCH,
    "pc": MM_PER_INCH / 6,
    "pt": MM_PER_INCH / 72,
    "px": MM_PER_INCH / PX_PER_INCH,
}
LENGTH = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([A-Za-z%]*)\s*")
_MOVED_BY_STYLE = re.compile(r"(^|[;{\s])(transform|translate|rotate|scale|zoom)\s*:")
_URL = re.compile(r"url\(\s*['\"]?#([^'\")]+)['\"]?\s*\)")

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
_WORDS = {"text": "words", "image": "image", "foreignObject": "words", "flowRoot": "words"}
_SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
_DRAWN = {*_SHAPES, *_WORDS, "g", "use", "a", "switch", "svg"}


def tag(element: ET.Element) -> str:
    """An element's name without its namespace."""
    return element.tag.rpartition("}")[2]


def refuse_moving_styles(root: ET.Element) -> None:
    """Raises Unreadable where a style sheet moves something."""
    for element in root.iter():
        rules = (element.text or "") if tag(element) == "style" else element.get("style", "")
        if _MOVED_BY_STYLE.search(rules):
            raise Unreadable(
                "moves or scales something by a style sheet, where only `transform` attributes "
                "are followed; save it as a plain SVG"
            )


def tidy(root: ET.Element, styles: Sequence[Own]) -> None:
    """Leave what is drawn, a symbol where it is used. styles: of the elements, by their marks."""
    space = root.tag.removesuffix("svg")
    for element in root.iter():  # a file may not bring them itself
        for name in (KIND, CUT_OFF, PLAIN, NAME):
            element.attrib.pop(name, None)
    cutting = {e.get("id"): e for e in root.iter() if tag(e) in ("clipPath", "mask")}
    for parent in list(root.iter()):
        _take_one(parent)
        for child in list(parent):
            name = tag(child)
            if name in _UNDRAWN or (name in _WORDS and not _as_mark(child)):
                parent.remove(child)
            elif name == "symbol":
                _in_defs(parent, child)
            elif name == "svg":
                _as_group(parent, child, styles)
            elif name in ("a", "switch"):
                _take_one(child)  # while it is still known as what it is
                child.tag = f"{space}g"
                child.set(PLAIN, "1")
    used: dict[str, ET.Element] = {}
    for parent in list(root.iter()):
        for child in list(parent):
            own = styles[int(child.get(MARK, "0"))]
            asked = [own.get("clip-path", "none"), own.get("mask", "none")]
            if MARK in child.attrib and tag(child) in _DRAWN and asked != ["none", "none"]:
                _wrap(parent, child, asked, cutting, used, styles)
    if used:
        defs = ET.SubElement(root, f"{space}defs")
        for id_, clip in used.items():
            defs.append(_clip_group(clip, space, f"{CLIP} {id_}"))


def _take_one(parent: ET.Element) -> None:
    """Of a switch, only the first child that everybody can show (SVG 1.1, section 5.8.2)."""
    needing = [child for child in parent if child.get("requiredExtensions") is not None]
    for child in needing:
        parent.remove(child)
    if tag(parent) == "switch":
        for child in [child for child in parent if tag(child) in _DRAWN][1:]:
            parent.remove(child)


def _as_mark(element: ET.Element) -> bool:
    """Make words or an image a tiny line where they begin. Returns whether there are any."""
    name = tag(element)
    if name in ("text", "flowRoot") and not "".join(element.itertext()).strip():
        return False
    x, y = (_user_units(element, axis) for axis in ("x", "y"))
    space = element.tag.removesuffix(name)
    for child in list(element):
        element.remove(child)
    element.text = None
    element.tag = f"{space}path"
    element.set(KIND, _WORDS[name])
    element.set("d", f"M {x!r} {y!r} l 0.001 0")
    return True


def _user_units(element: ET.Element, axis: str) -> float:
    """Where an element or what is in it begins, the first place that is given."""
    for one in element.iter():
        length = _plain_length(re.split(r"[\s,]+", one.get(axis, "").strip())[0])
        if length is not None:
            return length
    return 0.0


def _as_group(parent: ET.Element, inner: ET.Element, styles: Sequence[Own]) -> None:
    """Put a page within the page where it lies, cut off at its edges as it is shown.

    SVG 1.1, sections 7.9 and 14.3.3. One with a viewBox is fitted in by svgelements.
    """
    space = inner.tag.removesuffix("svg")
    sides = [_plain_length(inner.get(name, "")) for name in ("x", "y", "width", "height")]
    x, y, wide, high = (0.0 if side is None else side for side in sides)
    wrapper = ET.Element(f"{space}g", {PLAIN: "1"})
    own = styles[int(inner.get(MARK, "0"))]
    if own.get("overflow", "hidden") not in ("visible", "auto") and None not in sides[2:]:
        clip = ET.SubElement(wrapper, f"{space}g", {KIND: CLIP})
        box = {"x": repr(x), "y": repr(y), "width": repr(wide), "height": repr(high)}
        ET.SubElement(clip, f"{space}rect", box)
    parent[list(parent).index(inner)] = wrapper
    wrapper.append(inner)
    if inner.get("viewBox") is None:
        inner.tag = f"{space}g"
        moved = f"{inner.get('transform', '')} translate({x!r} {y!r})"
        inner.set("transform", moved.strip())
        for name in ("x", "y", "width", "height"):
            inner.attrib.pop(name, None)


def _plain_length(text: str) -> float | None:
    """A length in the units that it is drawn in, None where it is none or a share."""
    match = LENGTH.fullmatch(text)
    if match is None or match[2] == "%":
        return None
    return float(match[1]) * MM_A_UNIT.get(match[2].lower(), MM_A_UNIT["px"]) / MM_A_UNIT["px"]


def _in_defs(parent: ET.Element, symbol: ET.Element) -> None:
    if symbol.get("viewBox"):
        raise Unreadable(
            f"has a symbol with a viewBox, {quoted(symbol.get('id', ''))}, whose scale "
            "hangs on where it is used; ungroup it in the drawing"
        )
    space = symbol.tag.removesuffix("symbol")
    hidden = ET.Element(f"{space}defs")
    parent[list(parent).index(symbol)] = hidden
    symbol.tag = f"{space}g"
    hidden.append(symbol)


def _wrap(
    parent: ET.Element,
    child: ET.Element,
    asked: Sequence[str],
    cutting: dict[str | None, ET.Element],
    used: dict[str, ET.Element],
    styles: Sequence[Own],
) -> None:
    """Put what is cut off into a group together with what cuts it."""
    space = child.tag.removesuffix(tag(child))
    wrapper = ET.Element(f"{space}g", {PLAIN: "1"})
    if "transform" in child.attrib:
        wrapper.set("transform", child.attrib.pop("transform"))
    for kind, value in zip(("clip path", "mask"), asked, strict=True):
        if value == "none":
            continue
        match = _URL.match(value)
        by = cutting.get(match[1]) if match is not None else None
        if by is None and match is not None:
            continue  # one that isn't there cuts nothing (SVG 2, section on references)
        if kind == "clip path" and by is not None and _is_followed(by, styles):
            used[by.get("id", "")] = by
            use = {"href": f"#{CLIP} {by.get('id')}", KIND: CLIP}
            ET.SubElement(wrapper, f"{space}use", use)
        else:
            wrapper.set(CUT_OFF, kind)
    if len(wrapper) == 0 and CUT_OFF not in wrapper.attrib:
        if "transform" in wrapper.attrib:
            child.set("transform", wrapper.get("transform", ""))
        return
    if "id" in child.attrib:  # whatever uses it uses it cut off
        wrapper.set("id", child.attrib.pop("id"))
        child.set(NAME, wrapper.get("id", ""))
    parent[list(parent).index(child)] = wrapper
    wrapper.append(child)


def _is_followed(clip: ET.Element, styles: Sequence[Own]) -> bool:
    """Whether a clip path's shapes say all of what it leaves."""
    if clip.get("clipPathUnits", "userSpaceOnUse") != "userSpaceOnUse":
        return False
    for one in clip.iter():
        cut = styles[int(one.get(MARK, "0"))].get("clip-path", "none") != "none"
        if cut or tag(one) in _WORDS or KIND in one.attrib:
            return False
    return True


def _clip_group(clip: ET.Element, space: str, name: str) -> ET.Element:
    """A clip path's shapes as a group to be used."""
    group = ET.Element(f"{space}g", {"id": name, PLAIN: "1"})
    if "transform" in clip.attrib:
        group.set("transform", clip.get("transform", ""))
    group.extend(list(clip))
    return group
