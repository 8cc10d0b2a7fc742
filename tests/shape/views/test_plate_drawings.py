"""That a plate's map and gauges tell the heights they claim, on surfaces known in closed form."""

import io
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

import ezdxf
import numpy as np
import pdfplumber
import pytest
import shapely
from outlines import WAISTED, ellipse, smooth

from carve.design.values.units import MM_PER_INCH, show_length
from carve.export.formats.dxf import dxf
from carve.export.formats.pdf import pdf
from carve.export.formats.svg import svg
from carve.render.screen_views import fitted_to_screen
from carve.shape.plate.arch import arch_surface
from carve.shape.plate.contour_arch import ContourArch, contour_surface, soft_distance
from carve.shape.plate.foundation import arch_foundation
from carve.shape.plate.relief import heights_over
from carve.shape.plate.request import Arch, StationHeight
from carve.shape.views.kit.paper import A4
from carve.shape.views.plate_contours import Interval, height_drawing, height_plan, interval_for
from carve.shape.views.plate_gauges import cross_gauges, cut_drawing, long_gauge

DISC = ellipse(300.0, 300.0)  # about (150, 0)
EVERY = Interval(1.0, 5)


class Known:
    """A relief from a formula alone."""

    def __call__(self, x, y):
        return np.asarray(self.height(np.asarray(x), np.asarray(y)), dtype=float)

    def grid(self, x, y):
        return self(x[:, None], y[None, :])


@dataclass(frozen=True)
class Cone(Known):
    """Falls evenly from its tip over (150, 0)."""

    tip: float = 15.5
    slope: float = 0.1

    def height(self, x, y):
        return self.tip - self.slope * np.hypot(x - 150, y)


@dataclass(frozen=True)
class Plane(Known):
    """z = 0.05 x + 0.02 y."""

    def height(self, x, y):
        return 0.05 * x + 0.02 * y


@dataclass(frozen=True)
class Plateau(Known):
    """A cone with a terrace half-way up at 5 mm, as level as a hand can make it."""

    def height(self, x, y):
        ripple = 0.001 * np.sin(x) * np.sin(y)
        cone = Cone().height(x, y)
        return np.maximum(np.minimum(cone, 5.0 + ripple), cone - 2.0)


@pytest.fixture(scope="module")
def arch():
    outline = smooth(WAISTED)
    plate = Arch(6, 16, 1.0, (StationHeight(140, 13.0), StationHeight(270, 18.0)))
    return outline, arch_surface(arch_foundation(outline, plate.lines), plate)


def contours(drawing):
    """Height in mm, and line, of every contour line by what its layer is called."""
    for line in drawing.lines:
        found = re.fullmatch(r"height (-?[\d.]+) mm", line.layer)
        if found:
            yield float(found[1]), line


def test_a_cones_contour_lines_are_circles():
    drawing = height_drawing(heights_over(Cone(), DISC), "cone", "mm")
    levels = [level for level, _ in contours(drawing)]
    assert levels == [float(level) for level in range(1, 16)]
    for level, line in contours(drawing):
        circle = shapely.Point(150, 0).buffer((15.5 - level) / 0.1, quad_segs=256).exterior
        ring = shapely.LinearRing(line.points)
        assert line.closed
        assert shapely.hausdorff_distance(ring, circle) < 0.1
        assert line.style == ("main height" if level % 5 == 0 else "height")


def test_a_tilted_planes_contour_lines_are_straight_and_end_at_the_outline():
    drawing = height_drawing(heights_over(Plane(), DISC), "plane", "mm")
    found = list(contours(drawing))
    assert len(found) >= 10
    area = shapely.Polygon(DISC)
    for level, line in found:
        # the line 0.05 x + 0.02 y = level, clipped by shapely
        ends = np.array([[(level - 0.02 * y) / 0.05, y] for y in (-400.0, 400.0)])
        asked = shapely.intersection(shapely.LineString(ends), area)
        drawn = shapely.LineString(line.points)
        assert not line.closed
        assert shapely.hausdorff_distance(drawn, asked) < 0.05


def test_every_label_stands_on_a_line_of_the_height_it_says(arch):
    outline, surface = arch
    for unit, per in (("mm", 1.0), ("in", MM_PER_INCH)):
        drawing = height_drawing(heights_over(surface, outline), "top", unit)
        assert len(drawing.words) >= 10
        for words in drawing.words:
            whole = sum(float(fraction(part)) for part in words.text.split())
            z = surface(np.array([words.x]), np.array([words.y + 0.85]))[0]
            assert z == pytest.approx(whole * per, abs=0.05), words.text


def fraction(text):
    above, _, below = text.partition("/")
    return float(above) / float(below or 1)


def test_labels_stand_clear_of_one_another_and_name_every_level(arch):
    outline, surface = arch
    drawing = height_drawing(heights_over(surface, outline), "top", "mm")
    named = {words.text for words in drawing.words}
    assert named == {show_length(level, "mm")[:-3] for level, _ in contours(drawing)}
    boxes = [
        shapely.box(w.x - 0.6 * len(w.text), w.y, w.x + 0.6 * len(w.text), w.y + 1.7)
        for w in drawing.words
    ]
    for i, box in enumerate(boxes):
        assert not any(box.intersects(other) for other in boxes[:i])
    # in columns, so that the eye finds them
    assert len({round(words.x, 3) for words in drawing.words}) <= 3


def test_an_inch_plate_gets_lines_at_fractions_of_an_inch():
    assert interval_for(19.0, "in").step == pytest.approx(MM_PER_INCH / 16)
    assert interval_for(12.0, "in").step == pytest.approx(MM_PER_INCH / 32)
    for rise in (5.0, 8.0, 15.0, 22.0, 40.0):
        for unit in ("mm", "in"):
            count = len(interval_for(rise, unit).levels(-0.3, rise - 0.3))
            assert 9 <= count <= 26
    layers = {line.layer for line in height_drawing(heights_over(Cone(), DISC), "c", "in").lines}
    assert "height 1/2 in" in layers


def test_no_line_is_drawn_on_level_ground():
    found = list(contours(height_drawing(heights_over(Plateau(), DISC), "p", "mm", EVERY)))
    assert sorted(level for level, _ in found) == [n for n in range(1, 14) if n != 5]


def test_no_line_is_drawn_of_a_level_ledge():
    outline = smooth(WAISTED)
    profile = ContourArch(8.0, ((20.0, 2.0), (60.0, 9.0), (120.0, 12.5)))
    surface = contour_surface(soft_distance(outline, 12.0), profile)
    heights = heights_over(surface, outline)
    assert 0.0 in interval_for(12.5, "mm").levels(-0.5, 12.5)
    found = list(contours(height_drawing(heights, "terrace", "mm")))
    assert min(level for level, _ in found) == 1.0
    # and with a recurve below the ledge its level is a line where the arch rises through it
    plate = Arch(6, 16, 1.0, (StationHeight(140, 13.0), StationHeight(270, 18.0)))
    arched = heights_over(arch_surface(arch_foundation(outline, plate.lines), plate), outline)
    lines = [line for level, line in contours(height_drawing(arched, "a", "mm")) if level == 0]
    edge = shapely.Polygon(outline).exterior
    assert lines
    assert all(shapely.LineString(line.points).distance(edge) > 16 for line in lines)


def test_the_map_says_the_height_over_every_place(arch):
    outline, surface = arch
    plan = height_plan(heights_over(surface, outline), "top", "mm")
    rows, columns = np.nonzero(np.isfinite(plan.values))
    picked = slice(None, None, 997)
    x, y = plan.x + plan.step * columns[picked], plan.y + plan.step * rows[picked]
    assert plan.values[rows[picked], columns[picked]] == pytest.approx(surface(x, y))
    area = shapely.Polygon(outline)
    assert np.isfinite(plan.values).sum() * plan.step**2 == pytest.approx(area.area, rel=1e-3)
    assert plan.highest == pytest.approx(18.0, abs=0.01)
    beside = shapely.contains_xy(area.buffer(1), x, y)
    assert beside.all()


def test_files_hold_the_lines_whole_in_layers_named_by_height(arch):
    outline, surface = arch
    drawing = height_drawing(heights_over(surface, outline), "top", "mm")
    read = ezdxf.read(io.StringIO(dxf(drawing).decode()))
    found = {
        entity.dxf.layer: np.array(list(entity.vertices()))
        for entity in read.modelspace().query("LWPOLYLINE")
        if entity.dxf.layer.startswith("HEIGHT") and entity.closed
    }
    assert len(found) >= 15
    for layer, points in found.items():
        z = surface(*points.T)
        assert z == pytest.approx(float(layer.split()[1]), abs=0.02)
    assert read.layers.get("HEIGHT 5 MM").dxf.lineweight > 0
    space = "{http://www.w3.org/2000/svg}"
    groups = {g.get("id"): g for g in ET.fromstring(svg(drawing, "mm")).iter(f"{space}g")}
    (line,) = groups["height-5-mm"].iter(f"{space}polygon")
    points = np.array([pair.split(",") for pair in line.get("points").split()], dtype=float)
    assert shapely.Polygon(points).area == pytest.approx(
        shapely.Polygon(found["HEIGHT 5 MM"]).area, rel=1e-4
    )
    assert float(line.get("stroke-width")) > 0.1
    assert "paint-order" in fitted_to_screen(drawing)


def test_labels_can_be_read_on_the_printed_sheets(arch):
    outline, surface = arch
    drawing = height_drawing(heights_over(surface, outline), "top", "mm")
    with pdfplumber.open(io.BytesIO(pdf(drawing, A4, "mm"))) as read:
        words = [word["text"] for page in read.pages for word in page.extract_words()]
    for label in drawing.words:
        assert label.text in words


@dataclass(frozen=True)
class Bowl(Known):
    """A paraboloid over the disc, 15 mm high in the middle and 0 at its edge; treble fuller."""

    lopsided: float = 0.0

    def height(self, x, y):
        r2 = (x - 150) ** 2 + y**2
        return 15 * (1 - r2 / 150**2) * (1 + self.lopsided * y / 150)


def edge_of(piece):
    """The carved edge of a gauge, all but its two upper corners, from its own edge plane."""
    points = piece.lines[0].points
    name = piece.words[0].text
    highest = float(re.search(r"; ([\d.]+) mm at its highest", name)[1])
    edge = points[:-2]
    return edge + np.array([0.0, highest - edge[:, 1].max()])


def test_the_long_gauge_is_the_arch_on_the_centre_line():
    gauge = long_gauge(Bowl(), DISC, [100.0, 200.0], "long", "mm")
    (piece,) = gauge.pieces
    edge = edge_of(piece)
    assert np.ptp(edge[:, 0]) == pytest.approx(300.0, abs=0.01)
    place = edge[:, 0] - edge[0, 0]
    assert edge[:, 1] == pytest.approx(15 * (1 - (place - 150) ** 2 / 150**2), abs=0.006)
    ticks = [line for line in piece.lines if line.layer == "cross gauges"]
    assert [float(tick.points[0, 0] - edge[0, 0]) for tick in ticks] == pytest.approx([100, 200])


def test_cross_gauges_reach_from_the_centre_line_to_the_edge_and_print_whole():
    gauges = cross_gauges(Bowl(), DISC, [60.0, 150.0], "cross", "mm")
    assert len(gauges.pieces) == 2  # alike on both sides
    for piece, x in zip(gauges.pieces, (60.0, 150.0), strict=True):
        edge = edge_of(piece)
        half = np.sqrt(150**2 - (x - 150) ** 2)
        assert np.ptp(edge[:, 0]) == pytest.approx(half, abs=0.02)
        y = edge[:, 0] - edge[0, 0]
        assert edge[:, 1] == pytest.approx(Bowl()(np.full_like(y, x), y), abs=0.006)
        assert f"{x:g} mm from the edge" in piece.words[0].text
    lopsided = cross_gauges(Bowl(0.2), DISC, [150.0], "cross", "mm")
    treble, bass = sorted(lopsided.pieces, key=lambda piece: "bass" in piece.title)
    assert "treble" in treble.title
    assert edge_of(treble)[40, 1] > edge_of(bass)[40, 1] + 0.1
    with pdfplumber.open(io.BytesIO(pdf(gauges, A4, "mm"))) as read:
        assert len(read.pages) == 1


def test_a_cut_along_any_line_shows_the_wood_between_both_faces():
    line = ((30.0, -100.0), (270.0, 80.0))  # 300 mm, slanted
    drawing = cut_drawing(Bowl(), lambda x, y: Bowl()(x, y) - 4.0, DISC, line, [150.0], "cut", "mm")
    wood = shapely.union_all(
        [shapely.Polygon(one.points) for one in drawing.lines if one.layer == "wood"]
    )
    inside = shapely.intersection(shapely.LineString(line), shapely.Polygon(DISC)).length
    assert wood.area == pytest.approx(4.0 * inside, rel=1e-6)
    assert [words.text for words in drawing.words] == ["4 mm"]
    assert drawing.note == "thinnest 4 mm"
    s = 150.0
    x, y = 30 + 0.8 * s, -100 + 0.6 * s
    upright = shapely.intersection(wood, shapely.LineString([(s, -50), (s, 50)]))
    assert upright.bounds[3] == pytest.approx(float(Bowl()(x, y)), abs=1e-3)


def test_a_line_beside_the_plate_is_said_to_hold_no_wood():
    line = ((0.0, 400.0), (100.0, 400.0))
    drawing = cut_drawing(Bowl(), lambda x, y: 0 * x, DISC, line, [], "cut", "mm")
    assert drawing.note == "no wood under this line"
