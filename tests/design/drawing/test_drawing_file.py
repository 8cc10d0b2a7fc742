"""Drawings read: what SVG, CSS and DXF publish about lengths, arcs, bulges and blocks holds.

Sources: SVG 1.1 (W3C), sections 7.8 (preserveAspectRatio), 7.10 (units) and 8.3.8 (arcs); CSS
Values and Units (1 in = 96 px = 25.4 mm = 72 pt = 6 pc); the DXF reference (bulge = tan of a
quarter of the arc's angle; $INSUNITS). Splines are held against scipy's BSpline.
"""

import io
import itertools
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing as Document
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline

from carve.design.drawing.model import LARGEST, Drawn
from carve.design.drawing.read import read_drawing
from carve.design.values.curve import Piece

ROUND = 2e-6  # of an area within arcs: what the pieces are off by, with room

NAMESPACES = (
    'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'
)


def svg(inside: str, page: str = 'width="200mm" height="100mm" viewBox="0 0 200 100"') -> Drawn:
    return read_drawing(f"<svg {NAMESPACES} {page}>{inside}</svg>".encode())


def dxf(document: Document) -> Drawn:
    return read_drawing(written(document))


def written(document: Document) -> bytes:
    text = io.StringIO()
    document.write(text)
    return document.encode(text.getvalue())


def sheet(insunits: int = 4) -> Any:
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = insunits
    return document


def on(pieces: Sequence[Piece], count: int = 50) -> np.ndarray:
    """Points on pieces, by de Casteljau's construction."""
    t = np.linspace(0, 1, count)[:, None]
    points = []
    for piece in np.array(pieces):
        left = [np.repeat(point[None], count, 0) for point in piece]
        while len(left) > 1:
            left = [a + t * (b - a) for a, b in itertools.pairwise(left)]
        points.append(left[0])
    return np.concatenate(points)


def area(pieces: Sequence[Piece]) -> float:
    """Exact area within closed cubic pieces: Gauss's rule of four points takes a quintic whole."""
    nodes, weights = np.polynomial.legendre.leggauss(4)
    t = (nodes + 1) / 2
    total = 0.0
    for piece in np.array(pieces):
        basis = np.stack([(1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3], 1)
        slope = np.stack([(1 - t) ** 2, 2 * (1 - t) * t, t**2], 1) @ (3 * np.diff(piece, axis=0))
        x, y = (basis @ piece).T
        total += float(weights @ (x * slope[:, 1] - y * slope[:, 0])) / 4
    return total


# SVG


@pytest.mark.parametrize(
    ("wide", "mm"),
    [("1in", 25.4), ("96px", 25.4), ("72pt", 25.4), ("6pc", 25.4), ("2.54cm", 25.4), ("40Q", 10.0)],
)
def test_a_page_is_as_wide_as_css_says(wide: str, mm: float) -> None:
    drawn = svg('<path d="M0 0 H10 V10 Z"/>', f'width="{wide}" viewBox="0 0 10 10"')
    assert on(drawn.chains[0].pieces)[:, 0].max() == pytest.approx(mm, rel=1e-12)
    assert drawn.unit_mm == pytest.approx(mm / 10)


@pytest.mark.parametrize(
    "page",
    ["", 'viewBox="0 0 10 10"', 'width="100%" viewBox="0 0 9 9"', 'width="300" height="200"'],
)
def test_a_page_without_a_physical_size_has_no_unit(page: str) -> None:
    drawn = svg('<path d="M1 2 H10 V10 Z"/>', page)
    assert drawn.unit_mm is None
    assert drawn.chains[0].pieces[0][0] == pytest.approx((1, -2))


def test_without_a_view_box_a_unit_is_a_css_pixel() -> None:
    drawn = svg('<path d="M0 0 H96 V96 Z"/>', 'width="400px" height="400px"')
    assert on(drawn.chains[0].pieces).max() == pytest.approx(25.4)


@pytest.mark.parametrize(
    ("fit", "left", "wide", "high"),
    [
        # a box of 100 x 100 on a page of 200 x 100 mm
        ("none", 0.0, 200.0, 100.0),
        ("xMidYMid meet", 50.0, 100.0, 100.0),
        ("xMinYMin", 0.0, 100.0, 100.0),
        ("xMaxYMid meet", 100.0, 100.0, 100.0),
        ("xMidYMid slice", 0.0, 200.0, 200.0),
    ],
)
def test_the_box_is_fitted_into_the_page(fit: str, left: float, wide: float, high: float) -> None:
    page = f'width="200mm" height="100mm" viewBox="0 0 100 100" preserveAspectRatio="{fit}"'
    points = on(svg('<path d="M0 0 H100 V100 H0 Z"/>', page).chains[0].pieces)
    assert points[:, 0].min() == pytest.approx(left)
    assert np.ptp(points, axis=0) == pytest.approx([wide, high])


def test_a_box_may_begin_anywhere() -> None:
    page = 'width="50mm" height="50mm" viewBox="-100 -20 100 100"'
    drawn = svg('<path d="M-100 -20 h20 v20 z"/>', page)
    assert drawn.chains[0].pieces[0][0] == pytest.approx((0, 0))
    assert drawn.chains[0].pieces[0][3] == pytest.approx((10, 0))


def test_words_read_the_right_way_round() -> None:
    # down on the page is down for us, and right is right
    first, second = svg('<path d="M0 0 L0 10"/><path d="M0 0 L10 0"/>').chains
    assert first.pieces[0][3] == pytest.approx((0, -10))
    assert second.pieces[0][3] == pytest.approx((10, 0))


@pytest.mark.parametrize(
    ("flags", "centre", "turn"),
    # SVG 1.1, figure in 8.3.8: the same ends and radii, four arcs. Sweep 1 is drawn in the
    # direction of positive angles, clockwise on the page; large-arc 1 is more than 180 degrees.
    [("0 0", (50, 0), 90), ("0 1", (0, 50), -90), ("1 0", (0, 50), 270), ("1 1", (50, 0), -270)],
)
def test_the_flags_of_an_arc_choose_one_of_four(
    flags: str, centre: tuple[float, float], turn: float
) -> None:
    # from (0, 0) to (50, 50) with radius 50; the centres are (50, 0) and (0, 50)
    chain = svg(f'<path d="M0 0 A50 50 0 {flags} 50 50"/>', 'width="9mm" viewBox="0 0 9 9"').chains[
        0
    ]
    points = on(chain.pieces) * [1, -1]  # as the page counts
    away = points - np.array(centre)
    assert np.hypot(*away.T) == pytest.approx(50, abs=2e-4)
    assert points[-1] == pytest.approx((50, 50))
    angles = np.unwrap(np.arctan2(-away[:, 1], away[:, 0]))
    assert math.degrees(angles[-1] - angles[0]) == pytest.approx(turn, abs=1e-6)


def test_the_pie_of_the_specification_has_its_area() -> None:
    # SVG 1.1, example arcs01: M300,200 h-150 a150,150 0 1,0 150,-150 z, three quarters of a disc
    pieces = svg('<path d="M300,200 h-150 a150,150 0 1,0 150,-150 z"/>').chains[0].pieces
    assert abs(area(pieces)) == pytest.approx(0.75 * math.pi * 150**2, rel=ROUND)


def test_radii_too_short_for_their_arc_are_grown() -> None:
    # SVG 1.1, appendix F.6.6: scaled up until there is exactly one solution, a half circle
    points = on(svg('<path d="M0 0 A1 1 0 0 1 100 0"/>').chains[0].pieces)
    assert np.hypot(points[:, 0] - 50, points[:, 1]) == pytest.approx(50, abs=1e-4)


def test_shapes_are_what_their_names_say() -> None:
    drawn = svg(
        '<circle cx="50" cy="50" r="20"/><ellipse cx="50" cy="50" rx="30" ry="10"/>'
        '<rect x="5" y="5" width="40" height="20"/><rect width="40" height="20" rx="5"/>'
        '<polygon points="0,0 10,0 10,10"/>'
    )
    circle, ellipse, rect, rounded, polygon = (abs(area(c.pieces)) for c in drawn.chains)
    assert circle == pytest.approx(math.pi * 400, rel=ROUND)
    assert ellipse == pytest.approx(math.pi * 300, rel=ROUND)
    assert rect == pytest.approx(800)
    assert rounded == pytest.approx(800 - (4 - math.pi) * 25, rel=ROUND)
    assert polygon == pytest.approx(50)


def test_nested_transforms_work_from_the_inside_out() -> None:
    drawn = svg(
        '<g transform="translate(100 50) rotate(90)"><g transform="scale(2 -1)">'
        '<path transform="translate(3 0) skewX(45)" d="M0 0 L10 5"/></g></g>'
    )
    # skewX: (15, 5); moved: (18, 5); scaled: (36, -5); turned: (5, 36); moved: (105, 86)
    assert drawn.chains[0].pieces[0][3] == pytest.approx((105, -86))


def test_an_arc_under_a_skew_is_the_skewed_arc() -> None:
    plain = on(svg('<path d="M0 0 A30 12 25 1 0 40 10"/>').chains[0].pieces) * [1, -1]
    bent = svg('<path transform="matrix(1 0.4 -0.7 1.3 5 6)" d="M0 0 A30 12 25 1 0 40 10"/>')
    expected = plain @ np.array([[1, 0.4], [-0.7, 1.3]]) + [5, 6]
    distance = [
        np.hypot(*(expected - point).T).min() for point in on(bent.chains[0].pieces) * [1, -1]
    ]
    assert max(distance) < 0.3  # the nearest of points 0.5 mm apart


def test_what_is_used_lies_where_it_is_used_and_a_symbol_nowhere_else() -> None:
    drawn = svg(
        '<symbol id="s"><circle r="3"/></symbol><defs><circle id="c" r="5"/></defs>'
        '<use xlink:href="#c" x="20" y="30"/><use href="#s" transform="translate(60 0)"/>'
    )
    boxes = [on(chain.pieces) for chain in drawn.chains]
    assert [tuple(np.round(box.mean(axis=0))) for box in boxes] == [(20, -30), (60, 0)]


def test_layers_are_groups_by_their_label_or_their_id() -> None:
    drawn = svg(
        '<g inkscape:groupmode="layer" inkscape:label="body" id="layer1">'
        '<g id="g12"><path id="rim" d="M0 0 H9 V9 Z"/></g></g><path d="M0 0 L1 1"/>'
        '<g id="page"><g id="pocket"><path d="M0 0 L1 1"/></g></g>'
        '<g id="hidden" style="display:none"><path d="M0 0 L1 1"/></g><text>a word</text>'
    )
    assert [(chain.layers, chain.names) for chain in drawn.chains] == [
        (("body",), ("rim",)),  # a group within a layer that has a label is no layer
        ((), ()),
        (("page", "pocket"), ()),
    ]
    assert drawn.named == ("body", "g12", "page", "pocket", "hidden")
    assert drawn.skipped == ("words",)


def test_each_way_of_a_path_is_a_chain_of_its_own() -> None:
    drawn = svg('<path d="M0 0 H9 V9 Z M20 20 h5 v5 M40 40 q 10 0 10 10"/>')
    assert [len(chain.pieces) for chain in drawn.chains] == [3, 2, 1]


# DXF


@pytest.mark.parametrize(
    ("insunits", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0), (13, 0.001)]
)
def test_insunits_says_what_a_unit_is(insunits: int, mm: float) -> None:
    document = sheet(insunits)
    document.modelspace().add_line((0, 0), (3, 4))
    drawn = dxf(document)
    assert drawn.unit_mm == pytest.approx(mm)
    assert math.dist(*drawn.chains[0].pieces[0][::3]) == pytest.approx(5 * mm)


def test_a_dxf_without_insunits_has_no_unit() -> None:
    document = sheet(0)
    document.modelspace().add_line((0, 0), (3, 4))
    assert dxf(document).unit_mm is None


@pytest.mark.parametrize("degrees", [30, 90, 180, 270, 350])
@pytest.mark.parametrize("kind", ["LWPOLYLINE", "POLYLINE"])
def test_a_bulge_is_the_tangent_of_a_quarter_of_the_angle(kind: str, degrees: float) -> None:
    angle = math.radians(degrees)
    points = [(0, 0, math.tan(angle / 4)), (100, 0, 0)]
    space = (document := sheet()).modelspace()
    if kind == "LWPOLYLINE":
        space.add_lwpolyline(points, format="xyb")
    else:
        space.add_polyline2d(points, format="xyb")
    pieces = dxf(document).chains[0].pieces
    # a positive bulge runs counter-clockwise: the arc of the chord 100 bulges to its right
    radius = 50 / math.sin(angle / 2)
    sagitta = radius * (1 - math.cos(angle / 2))
    assert on(pieces, 400)[:, 1].min() == pytest.approx(-sagitta, abs=1e-3 * radius)
    centre = np.array([50, radius - sagitta])
    assert np.hypot(*(on(pieces) - centre).T) == pytest.approx(radius, rel=ROUND)


def test_two_bulged_halves_are_a_full_circle() -> None:
    document = sheet()
    document.modelspace().add_lwpolyline([(-150, 0, 1), (150, 0, 1)], format="xyb", close=True)
    pieces = dxf(document).chains[0].pieces
    assert area(pieces) == pytest.approx(math.pi * 150**2, rel=ROUND)
    assert np.hypot(*on(pieces).T) == pytest.approx(150, abs=1e-4)


def test_circle_arc_and_ellipse_are_where_they_should_be() -> None:
    document = sheet()
    space = document.modelspace()
    space.add_circle((10, 20), 400)
    space.add_arc((0, 0), 100, 350, 80)
    space.add_ellipse((0, 0), (0, 60), 0.5)
    circle, arc, ellipse = (chain.pieces for chain in dxf(document).chains)
    assert np.hypot(*(on(circle) - [10, 20]).T) == pytest.approx(400, abs=2e-4)
    assert abs(area(circle)) == pytest.approx(math.pi * 400**2, rel=ROUND)
    ends = np.degrees(np.arctan2(*np.array([arc[0][0], arc[-1][3]]).T[::-1]))
    assert ends == pytest.approx([-10, 80])
    assert abs(area(ellipse)) == pytest.approx(math.pi * 60 * 30, rel=ROUND)


KNOTS = [0, 0, 0, 0, 1, 2.5, 3, 3, 3, 3]
CONTROL = [(0.0, 0.0), (40.0, 80.0), (90.0, -30.0), (150.0, 60.0), (200.0, 10.0), (220.0, 90.0)]


def _from_spline(
    degree: int, knots: Sequence[float], weights: Sequence[float] | None = None
) -> np.ndarray:
    """Points by scipy: in homogeneous coordinates where there are weights (a NURBS curve)."""
    share = np.ones(len(CONTROL)) if weights is None else np.array(weights)
    rows = np.column_stack([np.array(CONTROL) * share[:, None], share])
    spline = BSpline(np.array(knots, float), rows, degree)
    x, y, w = spline(np.linspace(knots[degree], knots[-degree - 1], 4000)).T
    return np.stack([x / w, y / w], 1)


@pytest.mark.parametrize(
    ("degree", "knots", "weights"),
    [
        (3, KNOTS, None),
        (3, KNOTS, [1, 3, 0.4, 1, 2, 1]),
        (2, [0, 0, 0, 1, 2, 3, 4, 4, 4], None),
        (5, [0] * 6 + [1] * 6, None),
        (3, list(range(10)), None),  # not clamped: it is drawn on its inner knots only
    ],
)
def test_a_spline_runs_where_scipy_has_it(
    degree: int, knots: list[float], weights: list[float] | None
) -> None:
    document = sheet()
    spline = document.modelspace().add_spline(degree=degree)
    spline.control_points = [(x, y, 0) for x, y in CONTROL]
    spline.knots = knots
    if weights:
        spline.weights = weights
    expected = _from_spline(degree, knots, weights)
    pieces = dxf(document).chains[0].pieces
    points = on(pieces, 9)
    assert points[[0, -1]] == pytest.approx(expected[[0, -1]], abs=1e-9)
    step = np.hypot(*np.diff(expected, axis=0).T).max()
    away = [np.hypot(*(expected - point).T).min() for point in points]
    assert max(away) < math.hypot(step / 2, 3e-4)
    if weights is None and degree == 3:
        assert len(pieces) == 3 + (knots[0] != knots[1]) * 0  # one piece a span, exactly


def test_a_mirrored_insert_is_mirrored_and_lies_on_its_layer() -> None:
    document = sheet()
    block = document.blocks.new("HORN")
    block.add_lwpolyline([(0, 0, 1), (10, 0, 0)], format="xyb")
    block.add_line((0, 0), (5, 5), dxfattribs={"layer": "own"})
    document.modelspace().add_blockref("HORN", (100, 0), dxfattribs={"xscale": -1, "layer": "body"})
    arc, line = dxf(document).chains
    assert (arc.layer, line.layer) == ("body", "own")
    points = on(arc.pieces)
    assert np.hypot(points[:, 0] - 95, points[:, 1]) == pytest.approx(5, abs=1e-5)
    assert points[:, 1].max() == pytest.approx(0, abs=1e-9)  # bulging down, as before the mirror
    assert line.pieces[0][3] == pytest.approx((95, 5))


def test_an_arc_seen_from_below_is_mirrored() -> None:
    # extrusion (0, 0, -1): the object's x runs the other way (DXF reference, arbitrary axis)
    document = sheet()
    document.modelspace().add_arc((10, 0), 5, 0, 90, dxfattribs={"extrusion": (0, 0, -1)})
    pieces = dxf(document).chains[0].pieces
    ends = sorted([pieces[0][0], pieces[-1][3]])
    assert np.array(ends) == pytest.approx(np.array([(-15, 0), (-10, 5)]), abs=1e-9)


def test_a_binary_dxf_is_read(tmp_path: Path) -> None:
    document = sheet()
    document.modelspace().add_circle((0, 0), 30)
    document.saveas(tmp_path / "binary.dxf", fmt="bin")
    pieces = read_drawing((tmp_path / "binary.dxf").read_bytes()).chains[0].pieces
    assert abs(area(pieces)) == pytest.approx(math.pi * 900, rel=ROUND)


# what cannot be read


def _bomb() -> bytes:
    lines = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 12))
    return f'<!DOCTYPE svg [<!ENTITY l0 "ha">{lines}]><svg {NAMESPACES}>&l11;</svg>'.encode()


def _uses() -> bytes:
    groups = "".join(
        f'<g id="g{n}">{f"""<use href="#g{n - 1}"/>""" * 10}</g>' for n in range(1, 12)
    )
    return f'<svg {NAMESPACES}><g id="g0"><circle r="9"/></g>{groups}</svg>'.encode()


def _blocks() -> bytes:
    document = sheet()
    document.blocks.new("B0").add_line((0, 0), (9, 9))
    for n in range(1, 9):
        block = document.blocks.new(f"B{n}")
        for _ in range(10):
            block.add_blockref(f"B{n - 1}", (0, 0))
    document.modelspace().add_blockref("B8", (0, 0))
    return written(document)


def _block_in_itself() -> bytes:
    document = sheet()
    document.blocks.new("B").add_blockref("B", (0, 0))
    document.modelspace().add_blockref("B", (0, 0))
    return written(document)


def _many_columns() -> bytes:
    document = sheet()
    document.blocks.new("B").add_line((0, 0), (9, 9))
    attributes = {"row_count": 30000, "column_count": 30000, "row_spacing": 1, "column_spacing": 1}
    document.modelspace().add_blockref("B", (0, 0), dxfattribs=attributes)
    return written(document)


def _tilted() -> bytes:
    document = sheet()
    document.modelspace().add_line((0, 0, 0), (9, 9, 9))
    return written(document)


def _in_miles() -> bytes:
    document = sheet(3)
    document.modelspace().add_line((0, 0), (9, 9))
    return written(document)


def _one(inside: str, page: str = "") -> bytes:
    return f"<svg {NAMESPACES} {page}>{inside}</svg>".encode()


UNREADABLE = [
    (b"", "is empty"),
    (b" \n ", "is empty"),
    (b"hello", "neither SVG nor DXF"),
    (b"%PDF-1.7 ...", "neither SVG nor DXF"),
    (b"\x1f\x8b\x08rest", "compressed"),
    (b"<html><body/></html>", "begins with"),
    (b"<svg><g>", "damaged"),
    (b"<svg x=1></svg>", "line 1"),
    (b'<svg><path a:d="M0 0"/></svg>', "damaged in line 1"),
    (b"<svg/>", "no lines and no curves"),
    (_one("<text>only words</text>"), "only words"),
    (_one('<path d="M0 0 L1e300 5"/>'), "no place on a drawing"),
    (_one('<path d="M0 0 L1 1"/>', 'viewBox="0 0 0 10"'), "viewBox"),
    (_one('<path d="M0 0 L1 1"/>', 'viewBox="zero"'), "viewBox"),
    (_one('<path d="M0 0 L1 1"/>', 'width="0mm" viewBox="0 0 1 1"'), "width"),
    (_one('<use href="other.svg#body"/>'), "another file"),
    (_one('<g id="a"><use href="#a"/></g>'), "use of itself"),
    (_one('<g style="fill:none;transform:scale(2)"><path d="M0 0 L1 1"/></g>'), "style sheet"),
    (_one("<style>.a { transform: scale(2) }</style>"), "style sheet"),
    (_one('<symbol id="s" viewBox="0 0 1 1"/>'), "symbol with a viewBox"),
    (b"<svg>" + b"<g>" * 500 + b"</g>" * 500 + b"</svg>", "nests more than"),
    (_bomb(), "entity"),
    (_uses(), "repeats"),
    (b" " * (LARGEST + 1), "MB"),
    (b"  0\nSECTION\n  2\nENTITIES\n", "no lines"),
    (_blocks(), "more than"),
    (_many_columns(), "more than"),
    (_block_in_itself(), "blocks in one another"),
    (_tilted(), "does not lie flat"),
    (_in_miles(), "$INSUNITS"),
    (written(sheet()), "no lines and no curves"),
]


@pytest.mark.parametrize(("data", "said"), UNREADABLE, ids=[said for _, said in UNREADABLE])
def test_what_cannot_be_read_is_told_in_a_sentence(data: bytes, said: str) -> None:
    with pytest.raises(ValueError, match=r"\S") as caught:
        read_drawing(data)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 250


def _samples() -> list[bytes]:
    document = sheet()
    space = document.modelspace()
    space.add_lwpolyline([(0, 0, 1), (10, 0, 0.5)], format="xyb", close=True)
    space.add_spline([(0, 0), (10, 5), (20, 0)])
    space.add_ellipse((0, 0), (5, 0), 0.4)
    document.blocks.new("B").add_arc((0, 0), 5, 0, 90)
    space.add_blockref("B", (3, 3))
    shapes = _one(
        '<defs><circle id="c" r="5"/></defs><g id="a" transform="rotate(20)"><path '
        'd="M0 0 A50 50 0 1 0 50 50 C1 2 3 4 5 6 q1 2 3 4 z"/><use href="#c" x="2"/></g>',
        'width="20mm" height="3in" viewBox="0 0 20 30"',
    )
    return [written(document), shapes]


SAMPLES = _samples()


@settings(max_examples=40)
@given(data=st.data())
def test_no_damage_brings_anything_but_a_sentence(data: st.DataObject) -> None:
    sample = bytearray(data.draw(st.sampled_from(SAMPLES)))
    # DXF's own tables fill most of the file: harm the end of it, where the curves are, too
    low = data.draw(st.sampled_from([0, max(0, len(sample) - 4000)]))
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(low, len(sample) - 1))
        sample[at : at + data.draw(st.integers(0, 9))] = data.draw(st.binary(max_size=9))
    try:
        drawn = read_drawing(bytes(sample))
    except ValueError as error:
        assert "\n" not in str(error)  # noqa: PT017  either is fine, but only these two
    else:
        assert np.isfinite([p for chain in drawn.chains for q in chain.pieces for p in q]).all()


@settings(max_examples=60)
@given(st.binary(max_size=300), st.sampled_from([b"", b"<svg", b"  0\nSECTION\n"]))
def test_no_bytes_bring_anything_but_a_sentence(rest: bytes, start: bytes) -> None:
    with pytest.raises(ValueError, match=r"\S"):
        read_drawing(start + rest)
