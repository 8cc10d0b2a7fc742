"""Outlines placed: which way the neck is, where the edge is, and that the scale is proven.

A plain shape whose every side is known stands on the page: 300 mm long, 200 mm wide, with a
notch on the treble side near the neck, so that no turn and no mirror goes unseen. Its true
figures are shapely's of the same corners.
"""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
import shapely
from scipy.interpolate import CubicSpline

from carve.design import read_design  # noqa: F401  the design must load before its tables
from carve.design.derived.outline_choice import candidates, hold_centre, hold_layer, page_of
from carve.design.drawing.chains import joined_chains
from carve.design.drawing.read import read_drawing
from carve.design.drawing.source import DrawingFile
from carve.design.schema.outline import OutlineFile
from carve.design.values.curve import Curve, closed_polygon
from carve.errors import DesignError
from carve.parts.sentences.said import in_sentences
from carve.shape.outlines.placed import PlacedOutline, behind_nut, curves_on_layer, placed
from carve.shape.outlines.problems import Owner
from carve.shape.planar.curves import curve_extent, through
from carve.shape.planar.outline import polygon
from carve.shape.views.kit.drawing import Circle, Drawing, Line

# x away from the neck, y to the treble side; (0, 0) is where neck and body meet
BODY = [(0, -80), (0, 30), (40, 30), (40, 100), (300, 100), (300, -100), (20, -100)]
POCKET = [(100, -20), (150, -20), (150, 45), (100, 45)]
TENON = [(-10, -28), (70, -28), (70, 28), (-10, 28)]
ACROSS, DOWN = 250.0, 60.0  # where the body's origin lies on a page with the neck up


def path(points: list[tuple[float, float]]) -> str:
    return "M " + " L ".join(f"{x:.12g} {y:.12g}" for x, y in points) + " Z"


def page(side: str = "up", *, back: bool = False, lean: float = 0.0) -> bytes:
    """An SVG of the body with its neck toward a side of the page."""
    turn = {"up": 0, "right": 90, "down": 180, "left": 270}[side] + lean
    flip = " scale(-1 1)" if back else ""
    moved = f'transform="translate({ACROSS} {DOWN}) rotate({turn}){flip}"'

    def shown(points: list[tuple[float, float]]) -> str:
        return path([(y, x) for x, y in points])  # neck up: treble to the right, tail down

    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" '
        f'viewBox="0 0 900 900"><g {moved}><g id="body"><path id="rim" d="{shown(BODY)}"/></g>'
        f'<g id="pickup"><path d="{shown(POCKET)}"/></g><g id="neck"><path d="{shown(TENON)}"/></g>'
        '<g id="centre"><path d="M 0 -50 L 0 400"/></g></g></svg>'
    ).encode()


def outline(data: bytes, **keys: Any) -> OutlineFile:
    file = DrawingFile("body.svg", data, read_drawing(data))
    given = {"file": file, "layer": "body", "length": 300.0, "centre_layer": "centre", **keys}
    return OutlineFile.model_validate({k: v for k, v in given.items() if v is not None})


def region(curve: Curve) -> shapely.Polygon:
    return shapely.Polygon(polygon(curve, 0.001))


def same(curve: Curve, points: list[tuple[float, float]]) -> bool:
    return region(curve).symmetric_difference(shapely.Polygon(points)).area < 0.01


def held_and_placed(table: OutlineFile) -> PlacedOutline:
    """The outline, once the rules have looked at it as they do before there is any shape."""
    drawing = page_of(table, "body.outline")
    candidates(drawing, table, "body.outline")
    if table.centre_layer is not None:
        hold_centre(drawing, table.centre_layer, "body.outline")
    return placed(table, "body")


def told(keys: Mapping[str, Any], data: bytes | None = None) -> str:
    table = outline(page() if data is None else data, **keys)
    with pytest.raises(DesignError) as caught, in_sentences("mm"):
        held_and_placed(table)
    assert len(caught.value.problems) == 1
    return caught.value.problems[0]


@pytest.mark.parametrize("back", [False, True])
@pytest.mark.parametrize("side", ["up", "down", "left", "right"])
def test_the_body_is_the_same_whichever_way_it_lies_on_the_page(side: str, back: bool) -> None:
    table = outline(page(side, back=back), neck_toward=side, seen_from="back" if back else "front")
    found = placed(table, "body")
    assert same(found.outline, BODY)
    assert same(found.on("PICKUP")[0], POCKET)


def test_a_centre_line_that_leans_a_little_turns_the_drawing_straight() -> None:
    assert same(placed(outline(page(lean=3)), "body").outline, BODY)
    assert "7.0° off" in told({}, page(lean=7))


def test_the_centre_line_may_be_told_by_its_place_on_the_page() -> None:
    table = outline(page(), centre_layer=None, centre_at=ACROSS)
    assert same(placed(table, "body").outline, BODY)
    sideways = outline(page("right"), centre_layer=None, centre_at=DOWN, neck_toward="right")
    assert same(placed(sideways, "body").outline, BODY)


def test_the_edge_may_be_told_by_its_place_on_the_page() -> None:
    # 12 mm further down the page than where the centre line meets the outline
    moved = [(x - 12, y) for x, y in BODY]
    assert same(placed(outline(page(), edge_at=DOWN + 12), "body").outline, moved)


def test_a_pocket_may_run_out_over_the_edge() -> None:
    found = placed(outline(page()), "body")
    assert [inner.layer for inner in found.inner] == ["pickup"]  # the tenon's is not within
    (tenon,) = curves_on_layer(outline(page()), "neck", "body", "body.pockets[0]")
    assert same(tenon, TENON)


def test_a_headstock_lies_beyond_the_nut() -> None:
    # a page with the neck down, seen from the front: the treble side is on the right
    head = [(0, -22), (0, 22), (60, 40), (180, 30), (150, -40)]  # from the nut on
    shown = path([(300 + y, 400 - x) for x, y in head])
    data = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="600mm" viewBox="0 0 600 600">'
        f'<path id="head" d="{shown}"/></svg>'
    ).encode()
    keys = {"layer": None, "curve": "head", "neck_toward": "down", "length": 180.0}
    table = outline(data, centre_layer=None, centre_at=300.0, **keys)
    found = placed(table, "headstock")
    assert same(found.outline, head)
    assert same(behind_nut(found.outline), [(-x, y) for x, y in head])


def test_a_length_within_half_a_percent_agrees() -> None:
    placed(outline(page(), length=301.4), "body")
    assert "298 mm by your measure" in told({"length": 298.0})


@pytest.mark.parametrize(
    ("ratio", "cause"),
    [
        (25.4, "inches were taken for millimetres"),
        (1 / 25.4, "inches were taken for millimetres"),
        (96 / 72, "72 and 96 dots"),
        (72 / 25.4, "1/72 in"),
        (96 / 25.4, "1/96 in"),
        (10, "centimetres"),
        (2, "half size"),
    ],
)
def test_a_well_known_ratio_is_named(ratio: float, cause: str) -> None:
    # the page is made larger by the ratio, so a true 48 mm is drawn so much too long
    size, length = 900 * ratio, 300.0
    if size / 900 * 300 > 2000:
        size, length = 900.0, 300 / ratio
    data = page().replace(b'"900mm"', f'"{size}mm"'.encode())
    said = told({"length": length}, data)
    assert cause in said
    assert "by your measure" in said


def test_a_drawing_on_its_side_is_noticed() -> None:
    wide = path([(y, x) for x, y in [(0, -150), (0, 150), (200, 150), (200, -150)]])
    data = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" viewBox="0 0 900 900">'
        f'<g id="body"><path transform="translate(250 9)" d="{wide}"/></g></svg>'
    ).encode()
    said = told({"centre_layer": None, "centre_at": 250.0, "length": 300.0}, data)
    assert "is `neck_toward` right" in said


def with_body(d: str) -> bytes:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" viewBox="0 0 900 900">'
        f'<g id="body"><path id="rim" d="{d}"/></g><g id="centre"><path d="M 150 0 V 400"/></g>'
        '<g id="empty"/></svg>'
    ).encode()


EIGHT = with_body("M 100 100 L 200 200 L 200 100 L 100 200 Z")
TWO = with_body("M 100 100 h 50 v 50 z M 300 300 h 50 v 50 z")


@pytest.mark.parametrize(
    ("data", "keys", "said"),
    [
        (EIGHT, {}, "crosses or touches itself at x 150 mm, y 150 mm"),
        (TWO, {}, "has 2 outer curves"),
        (with_body("M 100 100 h 2 v 2 z"), {}, "from 5 mm to 2000 mm"),
        (with_body("M -5000 100 h 9000 v 200 h -9000 z"), {}, "from 5 mm to 2000 mm"),
        (
            with_body("M 100 100 h 99 v 99 h -99 v -95.8"),
            {},
            'layer "body" is open at x 100 mm, y 1',
        ),
        (with_body("M 100 100 h 99 v 99 h -99 v -98"), {}, "the next end is 1 mm away"),
        (with_body("M 100 100 h 99 v 99 h -99 v -98"), {}, "or let a wider `gap` be closed"),
        (
            with_body("M 100 100 h 99 v 99 h -99 v -98 M 120 120 h 9 v 9 z"),
            {"layer": None},
            "is open at x 100 mm",
        ),
        (with_body("M 10 10 H 90"), {"layer": None}, "the drawing holds no closed curve"),
        (TWO, {"layer": "empty"}, 'layer "empty" holds no lines and no curves'),
        (None, {"layer": "bdoy"}, 'no layer "bdoy" in the drawing; there are "body", "pickup"'),
        (None, {"curve": "rime"}, 'no curve "rime" in the drawing; there are "rim"'),
        (None, {"centre_layer": "middle"}, 'no layer "middle" in the drawing'),
        (None, {"centre_layer": "pickup"}, "holds more than one straight line"),
        (None, {"unit": "in"}, "says of itself, that a unit is 1 mm"),
        (None, {"centre_layer": None, "centre_at": 9.0}, "does not meet the outline"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(
    data: bytes | None, keys: Mapping[str, Any], said: str
) -> None:
    sentence = told(keys, data)
    assert said in sentence
    assert sentence.startswith("body.outline.")
    assert "\n" not in sentence
    assert len(sentence) < 300


def test_a_wider_gap_is_closed_where_the_builder_lets_it() -> None:
    data = with_body("M 100 100 h 99 v 99 h -99 v -98")
    found = placed(outline(data, gap=1.5, length=99.0), "body")
    assert region(found.outline).area == pytest.approx(99**2, rel=0.01)
    (gap,) = found.gaps
    assert gap.width == pytest.approx(1.0)
    assert (gap.x, gap.y) == pytest.approx((100, -100.5))


def test_without_a_layer_the_outermost_curve_is_taken() -> None:
    data = page().replace(b'<g id="neck">', b'<g id="neck" style="display:none">')
    assert same(placed(outline(data, layer=None), "body").outline, BODY)


@pytest.mark.parametrize("layer", ["nothing", "neck"])
def test_a_pocket_that_is_not_there_or_lies_outside_is_told(layer: str) -> None:
    far = page().replace(b'<g id="neck">', b'<g id="neck" transform="translate(700 0)">')
    table = outline(far)
    refused = pytest.raises(DesignError, match=r"^body\.pockets\[0\]\.layer: ")
    with refused as caught, in_sentences("mm"):
        hold_layer(page_of(table, "body.outline"), layer, "body.pockets[0].layer")
        curves_on_layer(table, layer, "body", "body.pockets[0]")
    assert ("outside" if layer == "neck" else "no layer") in str(caught.value)


@pytest.mark.parametrize("of", ["body", "headstock"])
def test_a_left_handed_page_shows_what_a_right_handed_one_shows_from_the_back(
    of: Owner,
) -> None:
    left = placed(outline(page(), handed="left"), of)
    back = placed(outline(page(), seen_from="back"), of)
    assert left.outline == back.outline
    assert left.outline != placed(outline(page()), of).outline
    both = outline(page(), handed="left", seen_from="back")
    plain = placed(outline(page(), handed="right"), of)
    assert placed(both, of).outline == plain.outline


def test_points_are_a_polygon_or_a_smooth_curve() -> None:
    plain = OutlineFile(points=[(float(x), float(y)) for x, y in BODY])
    assert same(placed(plain, "body").outline, BODY)
    with pytest.raises(DesignError, match="crosses or touches itself"), in_sentences("mm"):
        placed(OutlineFile(points=[(0, 0), (100, 100), (100, 0), (0, 100)]), "body")
    with pytest.raises(DesignError, match="points 2 and 3 are the same"), in_sentences("mm"):
        placed(OutlineFile(points=[(0, 0), (50, 9), (50, 9), (9, 80)], smooth=True), "body")


def test_the_smooth_curve_is_scipys_periodic_spline() -> None:
    angles = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    points = [(float(150 * np.cos(a)), float(110 * np.sin(a) + 20 * np.cos(2 * a))) for a in angles]
    curve = through("body", points)
    there = np.array([*points, points[0]])
    knots = np.concatenate([[0], np.cumsum(np.sqrt(np.hypot(*np.diff(there, axis=0).T)))])
    spline = CubicSpline(knots, there, bc_type="periodic")
    ours = shapely.LinearRing(polygon(curve, 1e-4))
    theirs = shapely.LinearRing(spline(np.linspace(0, knots[-1], 4000)[:-1]))
    assert shapely.hausdorff_distance(ours, theirs) < 0.01
    # C2 where the pieces meet: curvature from the control points on either side agrees
    pieces = np.array(curve.pieces)
    for before, after in zip(pieces, np.roll(pieces, -1, axis=0), strict=True):
        assert _curvature(before[::-1]) == pytest.approx(-_curvature(after), abs=1e-9)


def _curvature(piece: np.ndarray) -> float:
    """At the start of a cubic piece: 2/3 of the cross of its legs over the first one cubed."""
    first, second = piece[1] - piece[0], piece[2] - piece[1]
    cross = first[0] * second[1] - first[1] * second[0]
    return float(2 / 3 * cross / np.hypot(*first) ** 3)


def test_the_extent_is_exact() -> None:
    handle = 4 / 3 * math.tan(math.pi / 8)
    quarter = np.array([[1, 0], [1, handle], [handle, 1], [0, 1]]) * 70
    turn = np.array([[0.0, 1.0], [-1.0, 0.0]])
    tilt = np.array([[math.cos(0.4), math.sin(0.4)], [-math.sin(0.4), math.cos(0.4)]])
    pieces = [quarter @ np.linalg.matrix_power(turn, n) @ tilt for n in range(4)]
    curve = Curve("circle", tuple(tuple(map(tuple, piece)) for piece in pieces))
    low, high = curve_extent(curve)
    ring = polygon(curve, 1e-6)
    assert low == pytest.approx(ring.min(axis=0), abs=1e-4)
    assert high == pytest.approx(ring.max(axis=0), abs=1e-4)
    (low_x, low_y), (high_x, high_y) = curve_extent(closed_polygon("p", ((0, 0), (9, 2), (3, 7))))
    assert (low_x, low_y, high_x, high_y) == (0, 0, 9, 7)


@pytest.mark.parametrize("kind", ["svg", "dxf"])
def test_what_our_own_writers_write_is_read_back_the_same(kind: str) -> None:
    from carve.export.formats.dxf import dxf
    from carve.export.formats.svg import svg

    ring = np.array(BODY, dtype=float)
    drawing = Drawing(
        "t",
        "n",
        (Line(ring, closed=True, layer="rim"),),
        circles=(Circle(150, 10, 12, layer="bore"),),
    )
    data = dxf(drawing) if kind == "dxf" else svg(drawing, "mm").encode()
    drawn = read_drawing(data)
    assert drawn.unit_mm == 1
    loops = {
        loop.layers[-1].lower(): loop
        for loop in joined_chains(drawn.chains, 0.1).loops
        if loop.layers
    }
    rim = region(Curve("rim", loops["rim"].pieces))
    # an SVG's origin is its page's corner
    moved = shapely.affinity.translate(shapely.Polygon(ring), *_shift(rim, ring))
    assert rim.symmetric_difference(moved).area < 0.5  # three decimals around 1 m of edge
    bore = region(Curve("bore", loops["bore"].pieces))
    assert bore.area == pytest.approx(math.pi * 144, rel=1e-4)
    assert np.array(bore.centroid.coords[0]) - _shift(rim, ring) == pytest.approx(
        (150, 10), abs=2e-3
    )


def _shift(region: shapely.Polygon, ring: np.ndarray) -> np.ndarray:
    return np.array(region.bounds[:2]) - ring.min(axis=0)
