"""A page as an SVG file, written by hand."""

import math
from collections.abc import Callable

import numpy as np

from trials.page import Page, Point

_HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
)
_UNITS = [("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("px", 25.4 / 96)]
_STROKED = 'fill="none" stroke="#000"'


class _Svg:
    """What is written: of the layer, of its outline's attributes, and around it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        rng = page.rng
        self.unit, self.mm = rng.choice(
            [("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("px", 25.4 / 96)]
        )
        self.inside: list[str] = []
        self.outside: list[str] = []
        self.rules = ""
        self.doctype = ""
        self.outline = 'id="rim"'
        self.more = ""  # subpaths of the outline's own path
        self.layer = ""  # attributes of the layer
        turn, scale = rng.uniform(-math.pi, math.pi), rng.uniform(0.3, 3)
        flip = rng.choice([1, -1])
        self.matrix = np.array(
            [
                [scale * math.cos(turn), -flip * scale * math.sin(turn), rng.uniform(-50, 50)],
                [scale * math.sin(turn), flip * scale * math.cos(turn), rng.uniform(-50, 50)],
                [0, 0, 1],
            ]
        )
        if rng.random() < 0.4:
            self.matrix = np.eye(3)
        self.back = np.linalg.inv(self.matrix)

    def at(self, point: Point) -> str:
        """A place in the layer's own coordinates."""
        page = np.array([self.page.across + point[1], self.page.down + point[0], 1]) / self.mm
        page[2] = 1
        x, y, _ = self.back @ page
        return f"{x:.9g} {y:.9g}"

    def path(self, points: list[Point]) -> str:
        return "M " + " L ".join(map(self.at, points)) + " Z"

    def box(self, attributes: str = _STROKED) -> str:
        return f'<path {attributes} d="{self.path(self.page.box())}"/>'

    def rim(self, first: int = 0) -> str:
        pieces = self.page.pieces[first:] + self.page.pieces[:first]
        text = f"M {self.at(pieces[0][0])}"
        for piece in pieces:
            text += (" L " if len(piece) == 2 else " C ") + " ".join(map(self.at, piece[1:]))
        return text + " Z"

    def around(self, by: float) -> list[Point]:
        """The corners of a rectangle around the outline, moved along it by a share of it."""
        low, high = self.page.points().min(axis=0), self.page.points().max(axis=0)
        shift = by * (high[0] - low[0])
        (x, y), (right, top) = low - 5, high + 5
        corners = [(x, y), (right, y), (right, top), (x, top)]
        return [(float(a + shift), float(b)) for a, b in corners]


def svg_of(page: Page) -> tuple[str, bytes]:
    """The file's name and what it holds."""
    svg = _Svg(page)
    for extra in page.rng.sample(_EXTRAS, page.rng.randint(0, 4)):
        extra(svg)
    own = page.rng.random() < 0.5
    label = f'inkscape:groupmode="layer" inkscape:label="{page.layer}"'
    named = f'id="{page.layer}"' if own else label
    a, c, e, b, d, f = svg.matrix[:2].ravel().tolist()
    inner = (
        f'<g transform="matrix({a} {b} {c} {d} {e} {f})">'
        f'<path {_STROKED} {svg.outline} d="{svg.rim()}{svg.more}"/>{"".join(svg.inside)}</g>'
    )
    text = (
        f'<?xml version="1.0"?>{svg.doctype}{_HEAD}width="{600 / svg.mm}{svg.unit}" '
        f'height="{600 / svg.mm}{svg.unit}" viewBox="0 0 {600 / svg.mm} {600 / svg.mm}">'
        f"<style>{svg.rules}</style>{''.join(svg.outside)}<g {named} {svg.layer}>{inner}</g></svg>"
    )
    return "body.svg", text.encode()


# what is not shown


def _attribute(svg: _Svg) -> None:
    ways = [
        'display="none"',
        'style="display:none"',
        'visibility="hidden"',
        'style="stroke:red; visibility : collapse"',
        'opacity="0"',
        'style="opacity:0.0"',
        'stroke="none"',
        'stroke-opacity="0"',
        'stroke-width="0px"',
        'style="stroke:transparent"',
        'style="stroke:rgba(0,0,0,0)"',
        'requiredExtensions="http://example.com/none"',
    ]
    way = svg.page.rng.choice(ways)
    stroke = "" if "stroke=" in way else 'stroke="#000"'
    svg.inside.append(svg.box(f'fill="none" {stroke} {way}'))
    svg.page.add(way, hidden="requiredExtensions" not in way)


def _rule(svg: _Svg) -> None:
    ways = [
        (".off{display:none}", 'class="on off"'),
        ("/* a */ path.off , .other { visibility:hidden }", 'class="off"'),
        ("#one{display:none}", 'id="one"'),
        ("g g > .off{opacity:0}", 'class="off"'),
        (".off{display:none!important}", 'class="off" style="display:inline"'),
        ("@media screen{.off{display:none}}", 'class="off"'),
        (".off{stroke:none;fill:none}", 'class="off" style="stroke-width:2"'),
        (".off{display:none}.x .off{display:inline}", 'class="off"'),
    ]
    rule, attributes = svg.page.rng.choice(ways)
    svg.rules += rule
    svg.inside.append(svg.box(f"{_STROKED} {attributes}"))
    svg.page.add(rule, hidden=1)


def _overruled(svg: _Svg) -> None:
    ways = [
        (".shown{display:none}", 'class="shown" style="display:inline"'),
        ("@media print{.shown{display:none}}", 'class="shown"'),
        (".shown{visibility:hidden}path.shown{visibility:visible}", 'class="shown"'),
        (".x .shown{display:none}", 'class="shown"'),
        ("svg > .shown{display:none}", 'class="shown"'),
        ("path:hover{opacity:0}", ""),
        ("", 'stroke-opacity="0.01"'),
    ]
    rule, attributes = svg.page.rng.choice(ways)
    svg.rules += rule
    svg.inside.append(svg.box(f"{_STROKED} {attributes}"))
    svg.page.add(f"shown: {rule}{attributes}", left=1)


def _parent(svg: _Svg) -> None:
    ways = [
        ('visibility="hidden"', 'visibility="visible"', 1),
        ('visibility="hidden"', "", 0),
        ('visibility="hidden"', 'style="visibility:inherit"', 0),
        ('display="none"', 'display="inline" visibility="visible"', 0),
        ('opacity="0"', 'opacity="1"', 0),
        ('stroke="none"', "", 1),  # its own stroke counts
    ]
    outer, inner, shown = svg.page.rng.choice(ways)
    svg.inside.append(f"<g {outer}>{svg.box(f'{_STROKED} {inner}')}</g>")
    svg.page.add(f"{outer} around {inner}", left=shown, hidden=1 - shown)


def _used(svg: _Svg) -> None:
    way, shown = svg.page.rng.choice(
        [("", 1), ('visibility="hidden"', 0), ('style="display:none"', 0), ('opacity="0"', 0)]
    )
    # what is used has its own id, and lies in the layer of the use
    svg.inside.append(f'<defs><path id="other" {_STROKED} d="{svg.path(svg.page.box())}"/></defs>')
    svg.inside.append(f'<use xlink:href="#other" {way}/>')
    svg.page.add(f"use {way}", left=shown, hidden=1 - shown)


# what is shown


def _second(svg: _Svg) -> None:
    svg.inside.append(svg.box())
    svg.page.add("second shape", left=1)


def _hole(svg: _Svg) -> None:
    if svg.more or "clip-path" in svg.outline:
        return
    count = svg.page.rng.randint(1, 3)
    svg.more = " ".join(["", *(svg.path(svg.page.box()) for _ in range(count))])
    svg.page.add(f"{count} holes of the path", left=count, rim=True)


def _words(svg: _Svg) -> None:
    x, y = svg.at((200, 0)).split()
    svg.inside.append(f'<text x="{x}" y="{y}">a <tspan>word</tspan></text><text> </text>')
    svg.page.add("words", left=1)


def _image(svg: _Svg) -> None:
    svg.inside.append('<image x="3" y="4" width="9" height="9" xlink:href="a.png"/>')
    svg.page.add("image", left=1)


def _elsewhere(svg: _Svg) -> None:
    x, y = ((svg.page.across) / svg.mm, (svg.page.down + 180) / svg.mm)  # within the outline
    small = f'<path d="M {x} {y} h {9 / svg.mm} v {9 / svg.mm} z"/>'
    svg.outside.append(f'<g id="notes"><text x="9" y="9">a word</text>{small}</g>')
    svg.outside.append('<g id="more" style="display:none"><path d="M 0 0 h 9 v 9 z"/></g>')
    svg.page.add("other layers")


def _twice(svg: _Svg) -> None:
    first = svg.page.rng.choice([0, 1, 3])
    svg.inside.append(f'<path {_STROKED} d="{svg.rim(first)}"/>')
    svg.page.add("the outline twice")


def _no_length(svg: _Svg) -> None:
    place = svg.at((100, 10))
    svg.inside.append(f'<path {_STROKED} d="M {place} L {place}"/>')
    svg.inside.append(f'<path {_STROKED} d="M {place} C {place} {place} {place}"/>')
    svg.page.add("no length")


# clip paths


def _clipped(svg: _Svg) -> None:
    by = 0.0 if svg.more else svg.page.rng.choice([0.0, 0.3, 0.7])
    clip = svg.path(svg.around(by))
    svg.inside.append(f'<clipPath id="cut"><path d="{clip}"/></clipPath>')
    svg.outline += ' clip-path="url(#cut)"'
    svg.page.add(f"clip path moved by {by}", left=by > 0, rim=True)


def _clipped_away(svg: _Svg) -> None:
    clip = svg.path(svg.around(1.5))
    svg.inside.append(f'<defs><path id="far" d="{clip}"/></defs>')
    svg.inside.append('<clipPath id="away"><use xlink:href="#far"/></clipPath>')
    svg.inside.append(f'<g style="clip-path: url(#away)">{svg.box()}</g>')
    svg.page.add("clipped away", hidden=1)


def _masked(svg: _Svg) -> None:
    svg.inside.append(f'<mask id="m"><path d="{svg.path(svg.around(0))}"/></mask>')
    svg.inside.append(svg.box(f'{_STROKED} mask="url(#m)"'))
    svg.page.add("mask", left=2)  # a closed curve, and one that is not all shown


# the whole file


def _entities(svg: _Svg) -> None:
    if svg.page.rng.random() < 0.6:
        declared = '<!ENTITY ns_svg "http://www.w3.org/2000/svg"><!ENTITY ns_a "http://a.com/">'
        svg.page.add("entities of namespaces")
        svg.outside.append('<g xmlns:a="&ns_a;"/>')
    else:
        declared = svg.page.rng.choice(
            [
                '<!ENTITY a "ha"><!ENTITY b "&a;&a;">',
                '<!ENTITY a SYSTEM "file:///etc/hostname">',
                '<!ENTITY % a "ha">',
                '<!ENTITY a "&#60;path/>">',
                f'<!ENTITY a "{"ha" * 1000}">',
            ]
        )
        svg.page.add("bad entities", refused="declares an entity of its own")
    svg.doctype = f'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd" [{declared}]>'


def _all_hidden(svg: _Svg) -> None:
    if not (svg.page.by_layer or svg.page.by_id):
        return  # another curve is the outermost then
    svg.layer = svg.page.rng.choice(['display="none"', 'style="opacity:0"'])
    svg.outside.append('<g id="shown"><path d="M 0 0 L 0 5"/></g>')
    svg.page.add("all hidden", refused="does not show")


_EXTRAS: list[Callable[[_Svg], None]] = [
    _attribute, _attribute, _rule, _rule, _overruled, _parent, _parent, _used, _second, _hole,
    _words, _image, _elsewhere, _twice, _no_length, _clipped, _clipped_away, _masked, _entities,
    _all_hidden,
]  # fmt: skip
