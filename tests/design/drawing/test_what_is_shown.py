"""What a drawing's own program does not show is not read as a curve, and what is no curve is told.

Sources: SVG 1.1, sections 5.8 (conditional processing), 11.3 to 11.5 (painting, opacity,
visibility), 14.3 and 14.4 (clip paths and masks); CSS 2.1, section 6.4 (the cascade); XML 1.0,
section 4 (entities); the DXF reference: LAYER, BLOCK_RECORD, INSERT and the common group codes;
ezdxf's documentation, DXF units (an insert's factors are all of its scale). How frozen layers and
those that are off hide a block: common practice of programs that write the format.
"""

import io
from typing import Any

import ezdxf
import pytest

from carve.design.drawing.model import Drawn
from carve.design.drawing.read import read_drawing

SQUARE = "M 20 20 h 50 v 50 h -50 z"
STROKED = 'fill="none" stroke="#000"'


def svg(inside: str, before: str = "") -> Drawn:
    return read_drawing(
        f'{before}<svg xmlns="http://www.w3.org/2000/svg" '
        'xmlns:xlink="http://www.w3.org/1999/xlink" width="100mm" height="100mm" '
        f'viewBox="0 0 100 100"><path id="rim" d="M 0 0 h 99 v 99 h -99 z"/>{inside}</svg>'.encode()
    )


def square(attributes: str = "", d: str = SQUARE) -> str:
    return f'<path {STROKED} {attributes} d="{d}"/>'


@pytest.mark.parametrize(
    ("around", "attributes", "why"),
    [
        ("§", 'display="none"', "display: none"),
        ("§", 'style="display : none"', "display: none"),
        ("§", 'visibility="hidden"', "visibility: hidden"),
        ("§", 'visibility="collapse"', "visibility: hidden"),
        ("§", 'opacity="0"', "opacity 0"),
        ("§", 'style="opacity:0%"', "opacity 0"),
        ("§", 'style="stroke:none"', "neither a stroke nor a fill"),
        ("§", 'style="stroke:transparent"', "neither a stroke nor a fill"),
        ("§", 'style="stroke:#0000"', "neither a stroke nor a fill"),
        ("§", 'style="stroke: rgb(9 9 9 / 0)"', "neither a stroke nor a fill"),
        ("§", 'stroke-opacity="0"', "neither a stroke nor a fill"),
        ("§", 'stroke-width="0mm"', "neither a stroke nor a fill"),
        ('<g display="none">§</g>', "", "display: none"),
        ('<g display="none">§</g>', 'display="inline"', "display: none"),
        ('<g visibility="hidden">§</g>', "", "visibility: hidden"),
        ('<g opacity="0">§</g>', 'opacity="1"', "opacity 0"),
        ('<a opacity="0">§</a>', "", "opacity 0"),
        ("<style>.off{display:none}</style>§", 'class="on off"', "display: none"),
        ("<style>#a{visibility:hidden}</style>§", 'id="a"', "visibility: hidden"),
        ("<style>g > path{opacity:0}</style><g>§</g>", "", "opacity 0"),
        ("<style>svg .a path{opacity:0}</style><g class='a'><g>§</g></g>", "", "opacity 0"),
        (
            "<style>.off{display:none !important}</style>§",
            'class="off" style="display:inline"',
            "display: none",
        ),
        ('<defs>§</defs><use href="#a" visibility="hidden"/>', 'id="a"', "visibility: hidden"),
        ('<defs>§</defs><use href="#a" display="none"/>', 'id="a"', "display: none"),
        (
            '<clipPath id="c"><rect width="9" height="9"/></clipPath>§',
            'clip-path="url(#c)"',
            "cuts all of it off",
        ),
    ],
)
def test_what_svg_does_not_render_is_hidden(around: str, attributes: str, why: str) -> None:
    drawn = svg(around.replace("§", square(attributes)))
    assert len(drawn.chains) == 1
    (hidden,) = drawn.hidden
    assert why in hidden.why


@pytest.mark.parametrize(
    ("around", "attributes"),
    [
        ('<g visibility="hidden">§</g>', 'visibility="visible"'),
        ("<style>.a{display:none} path.a{display:inline}</style>§", 'class="a"'),
        ("<style>.a{display:none}</style>§", 'class="a" style="display:inline"'),
        ("<style>@media print{path{display:none}}</style><g>§</g>", ""),
        ("<style>/* path{display:none} */</style>§", ""),
        ("<style>svg > .a{opacity:0}</style><g>§</g>", 'class="a"'),
        ("<style>path:hover{opacity:0}</style>§", ""),
        ("§", 'style="fill:red;stroke:none"'),
        ("§", 'style="fill:url(#a)"'),
        ('<g stroke="none">§</g>', ""),
        ('<switch>§<path d="M 0 0 h 3 v 3 z"/></switch>', ""),
        ('<switch><foreignObject requiredExtensions="http://a.example/"/>§</switch>', ""),
    ],
)
def test_what_svg_renders_is_shown(around: str, attributes: str) -> None:
    drawn = svg(around.replace("§", square(attributes)))
    assert (len(drawn.chains), drawn.hidden) == (2, ())


def test_a_rule_that_may_hide_and_is_not_followed_is_told() -> None:
    with pytest.raises(ValueError, match="a style rule for") as caught:
        svg(f'<style>path[id="a"]{{display:none}}</style>{square()}')
    assert "\n" not in str(caught.value)
    svg(f'<style>path[id="a"]{{fill:red}}</style>{square()}')


def test_a_drawing_that_shows_nothing_says_why() -> None:
    hidden = square('display="none"')
    data = f'<svg xmlns="http://www.w3.org/2000/svg">{hidden}</svg>'.encode()
    with pytest.raises(ValueError, match="shows no lines and no curves: it has display: none"):
        read_drawing(data)


@pytest.mark.parametrize(
    ("inside", "kind", "at"),
    [
        ('<text x="10" y="20">a</text>', "words", (10, -20)),
        # on a page of 1 mm a unit, an inch is 96 units all the same
        ('<text><tspan x="1in" y="2">a</tspan></text>', "words", (96, -2)),
        ('<flowRoot><flowRegion><rect x="3" y="4"/></flowRegion>a</flowRoot>', "words", (3, -4)),
        ('<image x="7" y="8" width="3" height="3"/>', "image", (7, -8)),
        (square('mask="url(#m)"') + '<mask id="m"/>', "curve cut off by a mask", (20, -20)),
        (
            '<clipPath id="c"><rect width="50" height="90"/></clipPath>'
            + square('clip-path="url(#c)"'),
            "curve cut off by a clip path",
            (20, -20),
        ),
        (
            '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height="1"/>'
            '</clipPath><g clip-path="url(#c)">' + square() + "</g>",
            "curve cut off by a clip path",
            (20, -20),
        ),
        (square('style="clip-path: circle(5px)"'), "curve cut off by a clip path", (20, -20)),
    ],
)
def test_what_is_no_curve_is_told_with_its_place(
    inside: str, kind: str, at: tuple[float, float]
) -> None:
    (one,) = svg(inside).no_curves
    assert one.kind == kind
    assert one.at == pytest.approx(at)


@pytest.mark.parametrize(
    "inside",
    [
        # around all of the page, as programs write it; in the units of what it cuts
        '<clipPath id="c"><rect width="100" height="100"/></clipPath>'
        + square('clip-path="url(#c)"'),
        '<defs><rect id="r" width="10" height="10"/></defs><clipPath id="c"><use href="#r"/>'
        '</clipPath><g transform="scale(10)" clip-path="url(#c)">'
        + square(d="M 2 2 h 5 v 5 z")
        + "</g>",
        # one that isn't there cuts nothing (SVG 2, section 14.3)
        square('clip-path="url(#nowhere)"'),
        "<text> </text>" + square(),
    ],
)
def test_what_cuts_nothing_is_not_told(inside: str) -> None:
    drawn = svg(inside)
    assert len(drawn.chains) == 2
    assert drawn.no_curves == drawn.hidden == ()


@pytest.mark.parametrize(
    ("inside", "first", "cut"),
    [
        ('x="10" y="20" width="30" height="30"', (20, -30), 0),
        ('x="10" y="20" width="12" height="12"', (20, -30), 1),
        ('x="10" y="20" width="12" height="12" overflow="visible"', (20, -30), 0),
        ('x="10" y="20" width="30" height="30" viewBox="0 0 60 60"', (15, -25), 0),
        ('y="20"', (10, -30), 0),
    ],
)
def test_a_page_within_the_page_lies_where_it_says_and_cuts_at_its_edges(
    inside: str, first: tuple[float, float], cut: int
) -> None:
    drawn = svg(f'<g id="L"><svg {inside}><path d="M 10 10 h 5 v 5 z"/></svg></g>')
    assert drawn.chains[1].pieces[0][0] == pytest.approx(first)
    assert drawn.chains[1].layers == ("L",)
    assert len(drawn.no_curves) == cut


# entities


def doctype(declared: str) -> str:
    return (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        f'"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" [{declared}]>'
    )


def test_entities_for_namespaces_are_read() -> None:
    names = '<!ENTITY ns_svg "http://www.w3.org/2000/svg"><!ENTITY ns_x "http://example.com/">'
    data = (
        f'{doctype(names)}<svg xmlns="&ns_svg;" xmlns:x="&ns_x;" x:a="1" width="9mm" '
        'viewBox="0 0 9 9"><path d="M 0 0 h 9 v 9 z"/></svg>'
    )
    assert len(read_drawing(data.encode()).chains) == 1
    assert len(read_drawing(data.encode("utf-16")).chains) == 1


@pytest.mark.parametrize(
    ("declared", "why"),
    [
        ('<!ENTITY a "ha"><!ENTITY b "&a;&a;">', "for other entities"),
        ('<!ENTITY b "&#38;a;">', "for other entities"),
        ('<!ENTITY a SYSTEM "file:///etc/passwd">', "for another file"),
        ('<!ENTITY % a "x">', "for other entities"),
        ('<!ENTITY a "&#60;path/>">', "for markup"),
        (f'<!ENTITY a "{"ha" * 200}">', "more than 300 characters"),
        ("".join(f'<!ENTITY a{n} "x">' for n in range(100)), "more than 64"),
    ],
)
def test_entities_that_could_grow_are_refused(declared: str, why: str) -> None:
    with pytest.raises(ValueError, match="declares an entity of its own") as caught:
        svg("", doctype(declared))
    assert why in str(caught.value)
    assert len(str(caught.value)) < 250


def test_an_entity_used_very_often_is_refused() -> None:
    with pytest.raises(ValueError, match="wherever it is used"):
        svg("<desc>" + "&a;" * 5000 + "</desc>", doctype(f'<!ENTITY a "{"x" * 200}">'))


# DXF


def sheet(insunits: int = 4) -> Any:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = insunits
    document.modelspace().add_circle((0, 0), 90, dxfattribs={"layer": "body"})
    document.layers.add("off").off()
    document.layers.add("frozen").freeze()
    return document


def dxf(document: Any) -> Drawn:
    text = io.StringIO()
    document.write(text)
    return read_drawing(document.encode(text.getvalue()))


@pytest.mark.parametrize(
    ("attributes", "why"),
    [
        ({"layer": "off"}, 'layer "off" is off'),
        ({"layer": "frozen"}, 'layer "frozen" is frozen'),
        ({"layer": "FROZEN"}, "is frozen"),
        ({"layer": "body", "invisible": 1}, "invisible (code 60)"),
    ],
)
def test_what_dxf_does_not_show_is_hidden(attributes: dict[str, Any], why: str) -> None:
    document = sheet()
    document.modelspace().add_circle((5, 5), 9, dxfattribs=attributes)
    drawn = dxf(document)
    assert len(drawn.chains) == 1
    assert [why in one.why for one in drawn.hidden] == [True]


@pytest.mark.parametrize(
    ("attributes", "layers"),
    [
        ({"layer": "body"}, ["body", "own"]),
        ({"layer": "off"}, ["own"]),  # what has a layer of its own stays
        ({"layer": "frozen"}, []),
        ({"layer": "body", "invisible": 1}, []),
    ],
)
def test_a_block_is_shown_as_its_insert_is(attributes: dict[str, Any], layers: list[str]) -> None:
    document = sheet()
    block = document.blocks.new("B")
    block.add_circle((0, 0), 9)
    block.add_circle((0, 0), 5, dxfattribs={"layer": "own"})
    document.blocks.new("OUTER").add_blockref("B", (1, 1))  # on layer 0, so it takes the insert's
    document.modelspace().add_blockref("OUTER", (5, 5), dxfattribs=attributes)
    drawn = dxf(document)
    assert [chain.layer for chain in drawn.chains] == ["body", *layers]
    assert len(drawn.hidden) == 2 - len(layers)


@pytest.mark.parametrize(
    ("kind", "draw"),
    [
        ("words", lambda space, on: space.add_text("a", dxfattribs={**on, "insert": (3, 4)})),
        ("words", lambda space, on: space.add_mtext("a", dxfattribs={**on, "insert": (3, 4)})),
        ("point", lambda space, on: space.add_point((3, 4), dxfattribs=on)),
        ("solid", lambda space, on: space.add_solid([(3, 4), (4, 4), (4, 5)], dxfattribs=on)),
        (
            "dimension",
            lambda space, on: space.add_linear_dim((3, 4), (0, 0), (9, 0), dxfattribs=on).render(),
        ),
        ("mesh", lambda space, on: space.add_polyface(dxfattribs=on)),
        (
            'block "NOWHERE", which is missing',
            lambda space, on: space.add_blockref("NOWHERE", (3, 4), dxfattribs=on),
        ),
    ],
)
def test_what_is_no_curve_in_a_dxf_is_told(kind: str, draw: Any) -> None:
    document = sheet()
    draw(document.modelspace(), {"layer": "body"})
    (one,) = dxf(document).no_curves
    assert (one.kind, one.layers) == (kind, ("body",))


def test_what_had_to_be_taken_out_of_a_damaged_file_is_told() -> None:
    document = sheet()
    document.modelspace().add_ellipse((3, 4), (7.25, 0), 0.5, dxfattribs={"layer": "body"})
    text = io.StringIO()
    document.write(text)
    drawn = read_drawing(document.encode(text.getvalue().replace("7.25", "0.0")))
    (one,) = drawn.no_curves
    assert (one.kind, one.layers, one.at) == ("damaged ellipse", ("body",), (3, 4))


def test_a_clipped_block_is_told() -> None:
    from ezdxf.xclip import XClip

    document = sheet()
    document.blocks.new("B").add_circle((0, 0), 9)
    corners = {"wide": 20, "narrow": 5}
    for size in corners.values():
        insert = document.modelspace().add_blockref("B", (50, 0), dxfattribs={"layer": "body"})
        XClip(insert).set_block_clipping_path([(-size, -size), (size, size)])
    drawn = dxf(document)
    assert len(drawn.chains) == 3
    assert [one.kind for one in drawn.no_curves] == ["curve cut off by a block's clipping"]


@pytest.mark.parametrize(
    ("unit", "scale", "told"),
    [(1, 1.0, True), (1, 25.4, False), (4, 1.0, False), (0, 1.0, False), (5, -1.0, True)],
)
def test_a_block_of_another_unit_without_a_scale_is_told(
    unit: int, scale: float, told: bool
) -> None:
    document = sheet()
    block = document.blocks.new("B")
    block.block_record.dxf.units = unit
    block.add_circle((0, 0), 9)
    scales = {"xscale": scale, "yscale": scale}
    document.modelspace().add_blockref("B", (5, 5), dxfattribs={"layer": "body", **scales})
    drawn = dxf(document)
    assert len(drawn.chains) == 2
    assert [(one.name, one.into) for one in drawn.unscaled] == told * [("B", "millimetres")]
    if told:
        assert drawn.unscaled[0].factor == {1: 25.4, 5: 10.0}[unit]


def test_what_lies_on_a_paper_layout_alone_is_told() -> None:
    document = ezdxf.new("R2010")
    document.layout("Layout1").add_circle((0, 0), 9)
    with pytest.raises(ValueError, match="only what lies on a paper layout"):
        dxf(document)
