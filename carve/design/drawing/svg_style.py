"""Whether an SVG's own program would show a thing: style sheets, style attributes, inheritance.

CSS 2.1 says which rule wins (section 6.4) and how selectors match (section 5). SVG 1.1 says what
is not rendered: ``display: none`` takes out everything inside, ``visibility`` may be turned back
on inside (section 11.5); a paint of ``none``, an opacity of 0 and a stroke without width draw
nothing (sections 11.3, 11.4 and 14.5).
"""

import re
import xml.etree.ElementTree as ET
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from carve.design.drawing.model import Unreadable
from carve.design.values.quote import quoted

MARK = "carve-style"  # attribute with the number of an element's own style

_HIDING = ("display", "visibility", "opacity", "clip-path", "mask")
_FOLLOWED = (
    *_HIDING,
    "overflow",
    "fill",
    "fill-opacity",
    "stroke",
    "stroke-opacity",
    "stroke-width",
)
_COMMENT = re.compile(r"/\*.*?\*/|<!--|-->", re.DOTALL)
_BETWEEN_DECLARATIONS = re.compile(r";(?![^(]*\))")
_COMPOUND = re.compile(r"(\*|[A-Za-z_][\w-]*)?((?:[.#][\w-]+)*)")
_ON_A_SCREEN = re.compile(r"@media\s*(all|(only\s+)?screen)?\s*$", re.IGNORECASE)
_MOUSE = re.compile(r":(hover|active|focus|visited|link)\b")
_ZERO = re.compile(r"[+-]?0*\.?0*(e[+-]?\d+)?\s*(%|[a-z]*)", re.IGNORECASE)
_ALPHA = re.compile(r"(?:rgb|hsl)a?\((.*)\)")

Own = Mapping[str, str]
"""The properties that an element itself has been given, by name."""


@dataclass(frozen=True)
class _Rule:
    """steps: compound selectors from the outermost, each with the combinator before it."""

    steps: tuple[tuple[str, str, tuple[str, ...]], ...]
    weight: tuple[int, int, int]
    declared: tuple[tuple[str, str, bool], ...]


@dataclass(frozen=True)
class Look:
    """What of an element would be seen, as its groups and itself have it.

    gone: a clause that says why nothing inside is drawn, empty where it is. visible: by
    ``visibility``. fill, stroke: whether there is a paint. The rest: whether it is seen.
    """

    gone: str = ""
    visible: bool = True
    fill: bool = True
    fill_opaque: bool = True
    stroke: bool = False
    stroke_opaque: bool = True
    stroke_wide: bool = True

    def inside(self, own: Own) -> "Look":
        """The same for an element with these properties of its own."""
        gone = self.gone
        if not gone and own.get("display", "").lower() == "none":
            gone = "it has display: none, or a group around it has"
        if not gone and _is_zero(own.get("opacity", "1")):
            gone = "it has opacity 0, or a group around it has"
        visible = _given(own, "visibility")
        return Look(
            gone,
            visible not in ("hidden", "collapse") if visible else self.visible,
            _paints(_given(own, "fill"), "black", inherited=self.fill),
            _is_seen(_given(own, "fill-opacity"), inherited=self.fill_opaque),
            _paints(_given(own, "stroke"), "none", inherited=self.stroke),
            _is_seen(_given(own, "stroke-opacity"), inherited=self.stroke_opaque),
            _is_seen(_given(own, "stroke-width"), inherited=self.stroke_wide),
        )

    def hidden(self, *, painted: bool = True) -> str:
        """A clause that says why it is not seen, empty where it is. painted: by fill or stroke."""
        if self.gone:
            return self.gone
        if not self.visible:
            return "it has visibility: hidden, or a group around it has"
        filled = self.fill and self.fill_opaque
        stroked = self.stroke and self.stroke_opaque and self.stroke_wide
        return "it has neither a stroke nor a fill" if painted and not filled | stroked else ""


def _given(own: Own, name: str) -> str:
    """A property's value where it is not simply inherited."""
    value = own.get(name, "").strip().lower()
    return "" if value in ("inherit", "unset") else value


def _is_zero(value: str) -> bool:
    text = value.strip()
    return bool(re.search(r"\d", text)) and (text[:1] == "-" or bool(_ZERO.fullmatch(text)))


def _is_seen(value: str, *, inherited: bool) -> bool:
    """Whether an opacity or a width leaves anything to be seen."""
    return inherited if not value else not _is_zero(value)


def _paints(value: str, initial: str, *, inherited: bool) -> bool:
    """Whether a paint is one. initial: the property's own first value."""
    if not value:
        return inherited
    if value == "initial":
        value = initial
    if value in ("none", "transparent"):
        return False
    if re.fullmatch(r"#([0-9a-f]{3}0|[0-9a-f]{6}00)", value):
        return False
    if match := _ALPHA.fullmatch(value):
        parts = [part for part in re.split(r"[\s,/]+", match[1].strip()) if part]
        return not (len(parts) == 4 and _is_zero(parts[3]))
    return True


def take_styles(root: ET.Element) -> list[Own]:
    """Read what every element has been given, and mark each with its number in the list.

    Style sheets go, and so does what is followed here; of the rest each element keeps its own.
    Raises Unreadable where a rule hides something in a way that is not followed.
    """
    sheets = [e.text or "" for e in root.iter() if _local(e) == "style" and _is_css(e)]
    rules = sorted(
        (rule for sheet in sheets for rule in _rules(_COMMENT.sub(" ", sheet))),
        key=lambda rule: rule.weight,
    )
    by_part: dict[str, list[tuple[int, _Rule]]] = defaultdict(list)
    for number, rule in enumerate(rules):
        _, kind, parts = rule.steps[-1]
        by_part[parts[0] if parts else kind or "*"].append((number, rule))
    found: list[Own] = []

    def take(element: ET.Element, above: tuple[ET.Element, ...]) -> None:
        declared = [(name, element.get(name, ""), False) for name in _FOLLOWED if element.get(name)]
        classes = {f".{name}" for name in element.get("class", "").split()}
        of_it = {"*", _local(element), f"#{element.get('id')}", *classes}
        near = [one for part in of_it for one in by_part.get(part, ())]
        for _, rule in sorted(near, key=lambda one: one[0]):
            if _matches(rule.steps, element, above):
                declared += rule.declared
        declared += _declarations(element.get("style", ""))
        declared.sort(key=lambda one: one[2])  # stable: what is important wins
        won = {name: value for name, value, _ in declared}
        for name in (*_FOLLOWED, "style"):
            element.attrib.pop(name, None)
        rest = ";".join(f"{name}:{value}" for name, value in won.items() if name not in _FOLLOWED)
        if rest:
            element.set("style", rest)
        element.set(MARK, str(len(found)))
        found.append({name: won[name] for name in _FOLLOWED if name in won})
        for child in element:
            take(child, (*above, element))

    take(root, ())
    for parent in list(root.iter()):
        for child in [child for child in parent if _local(child) == "style"]:
            parent.remove(child)
    return found


def _is_css(element: ET.Element) -> bool:
    return element.get("type", "text/css").strip().lower() in ("", "text/css")


def _local(element: ET.Element) -> str:
    return element.tag.rpartition("}")[2]


def _rules(sheet: str) -> Iterator[_Rule]:
    """The rules of a style sheet that hold on a screen."""
    at = 0
    while (start := sheet.find("{", at)) >= 0:
        head = sheet[at:start].rpartition(";")[2].strip()  # before a `;` stands an @import
        stop = _closing(sheet, start)
        inside = sheet[start + 1 : stop]
        at = stop + 1
        if head.startswith("@"):
            if _ON_A_SCREEN.match(head):
                yield from _rules(inside)
            continue
        declared = tuple(_declarations(inside))
        for selector in head.split(","):
            steps = _steps(selector.strip())
            if steps is not None:
                ids = sum(part[0] == "#" for _, _, parts in steps for part in parts)
                classes = sum(len(parts) for _, _, parts in steps) - ids
                kinds = sum(kind not in ("", "*") for _, kind, _ in steps)
                yield _Rule(steps, (ids, classes, kinds), declared)
            elif not _MOUSE.search(selector) and any(one[0] in _HIDING for one in declared):
                raise Unreadable(
                    f"hides or cuts off something by a style rule for {quoted(selector.strip())}, "
                    "where only types, classes and ids are followed; save it as a plain SVG"
                )


def _closing(sheet: str, start: int) -> int:
    depth = 0
    for match in re.compile(r"[{}]").finditer(sheet, start):
        depth += 1 if match[0] == "{" else -1
        if depth == 0:
            return match.start()
    return len(sheet)


def _declarations(text: str) -> Iterator[tuple[str, str, bool]]:
    """Name, value, and whether it is marked as important."""
    for one in _BETWEEN_DECLARATIONS.split(_COMMENT.sub(" ", text)):
        name, colon, value = one.partition(":")
        value, important, _ = value.partition("!")
        if colon and value.strip():
            yield name.strip().lower(), value.strip(), bool(important)


def _steps(selector: str) -> tuple[tuple[str, str, tuple[str, ...]], ...] | None:
    """A selector's compounds, None where it is not followed."""
    steps = []
    combinator = " "
    for word in selector.replace(">", " > ").split():
        if word == ">":
            combinator = ">"
            continue
        match = _COMPOUND.fullmatch(word)
        if match is None or not word:
            return None
        parts = tuple(re.findall(r"[.#][\w-]+", match[2]))
        steps.append((combinator, match[1] or "", parts))
        combinator = " "
    return tuple(steps) or None


def _matches(
    steps: tuple[tuple[str, str, tuple[str, ...]], ...],
    element: ET.Element,
    above: tuple[ET.Element, ...],
) -> bool:
    combinator, kind, parts = steps[-1]
    if kind not in ("", "*", _local(element)):
        return False
    classes = element.get("class", "").split()
    if not all(
        part[1:] == element.get("id") if part[0] == "#" else part[1:] in classes for part in parts
    ):
        return False
    if len(steps) == 1:
        return True
    for up in range(len(above) - 1, -1, -1):
        if _matches(steps[:-1], above[up], above[:up]):
            return True
        if combinator == ">":
            return False
    return False
