"""Sheets to print, read back with pdfplumber and measured: is a millimetre on them one?"""

import io
import re
from itertools import pairwise

import numpy as np
import pdfplumber
import pytest
from pdfminer.pdftypes import resolve1
from shapely import LineString, Point, Polygon, unary_union
from shapely.affinity import translate

from carve.cli import main
from carve.design import load, with_values
from carve.design.values.units import Place
from carve.export.formats.pdf import pdf
from carve.parts.job import make
from carve.shape.views.kit.drawing import Circle, Drawing, Line, extent
from carve.shape.views.kit.paper import A4, LETTER, OVERLAP

POINT = 72 / 25.4  # an inch is 72 points (ISO 32000-1, 8.3.2.3) and 25.4 mm (1959)
NAMES = ["from-above", "from-the-side", "gauges"]


@pytest.fixture(scope="module")
def job(request):
    return make(load(request.config.rootpath / "examples" / "siskin.toml"), 0.05)


@pytest.fixture(scope="module")
def drawings(job):
    return job.parts[0].type.outlines(job.design, job.parts[0].shape)


def sheets(drawing, paper=A4, unit="mm"):
    return pdfplumber.open(io.BytesIO(pdf(drawing, paper, unit))).pages


def chains(page):
    """All lines as (n, 2) mm from the page's lower left corner, with their colours."""
    found = []
    for item in [*page.lines, *page.curves, *page.rects]:
        points = np.array([(x, page.height - y) for x, y in item["pts"]]) / POINT
        if item["object_type"] == "rect" or _closes(item):
            points = np.vstack([points, points[:1]])
        found.append((points, item["stroking_color"]))
    return found


def _closes(item):
    return any(step[0] == "h" for step in item.get("path") or ())


def black(page, above=32.5):
    """What is drawn in black above the foot."""
    return [p for p, ink in chains(page) if set(ink) == {0.0} and p[:, 1].min() >= above - 1]


def bar_of(page):
    """The longest level line in the foot."""
    level = [
        float(np.ptp(points[:, 0]))
        for points, _ in chains(page)
        if np.ptp(points[:, 1]) < 1e-6 and points[:, 1].max() < 32
    ]
    return max(level)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("paper", "unit", "bar"), [(A4, "mm", 100.0), (LETTER, "in", 101.6)])
def test_every_sheet_has_the_papers_size_a_true_bar_and_the_words(drawings, name, paper, unit, bar):
    # A4 is 210 by 297 mm (ISO 216), Letter 8 1/2 by 11 in (ANSI/ASME Y14.1)
    size = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}[paper.name]
    pages = sheets(drawings[name], paper, unit)
    for number, page in enumerate(pages):
        assert sorted([page.width / POINT, page.height / POINT]) == pytest.approx(size, abs=1e-3)
        assert bar_of(page) == pytest.approx(bar, abs=0.01)
        said = page.extract_text()
        assert "measure this bar before you trust the sheet" in said
        assert "print at 100 %, do not fit to page" in said
        assert f"sheet {number + 1} of {len(pages)}" in said
        assert {"mm": "100 mm", "in": "4 in"}[unit] in said


def test_a_viewer_is_told_not_to_scale(drawings):
    # ISO 32000-1, table 150: PrintScaling None
    document = pdfplumber.open(io.BytesIO(pdf(drawings["gauges"], A4, "mm"))).doc
    assert resolve1(document.catalog["ViewerPreferences"])["PrintScaling"].name == "None"


def test_a_gauge_on_paper_is_the_section(job, drawings):
    (page,) = sheets(drawings["gauges"])
    shape, places = job.parts[0].shape, job.design.neck.gauges
    gauges = [points for points in black(page) if len(points) > 50]
    assert len(gauges) == len(places)
    for points, place in zip(gauges, places, strict=True):
        depth = float(shape.depth(np.array([job.design.place(place)]))[0])
        section = shape.section(job.design.place(place), 801)
        top_left = np.array([points[:, 0].min(), points[:, 1].max()])
        edge = LineString(points - top_left)
        half = [p for p in section if p[0] >= 0]
        assert max(edge.distance(Point(p)) for p in half) < 0.01
        assert float(np.ptp(points[:, 1])) == pytest.approx(depth + 12.0, abs=0.01)


def test_gauges_are_never_split_and_never_overlap(job):
    # as many gauges as need more than one sheet
    many = tuple(Place(fret=n) for n in range(1, 20)) * 2
    design = with_values(job.design, {"neck.gauges": many})
    drawing = job.parts[0].type.outlines(design, job.parts[0].shape)["gauges"]
    pages = sheets(drawing)
    assert len(pages) > 1
    found = 0
    for page in pages:
        outlines = [Polygon(points) for points in black(page) if len(points) > 50]
        found += len(outlines)
        for one in outlines:
            assert one.is_valid
            low_x, low_y, high_x, high_y = one.bounds
            assert low_x >= 10 - 1e-6
            assert high_x <= page.width / POINT - 10 + 1e-6
            assert low_y >= 32 - 1e-6
            assert high_y <= page.height / POINT - 10 + 1e-6
        assert unary_union(outlines).area == pytest.approx(sum(one.area for one in outlines))
    assert found == len(many)


def test_pieces_that_fit_lying_paper_only_are_whole_on_it():
    # 250 mm long, more than A4 is wide: three upright ones a sheet would do, cut in two
    strip = np.array([[0.0, 0.0], [250.0, 0.0], [250.0, 120.0], [0.0, 120.0]])
    pieces = tuple(
        Drawing(str(n), "", (Line(strip + np.array([0, 130.0 * n]), closed=True),))
        for n in range(3)
    )
    row = Drawing("strips", "", tuple(p.lines[0] for p in pieces), pieces=pieces)
    pages = sheets(row)
    assert len(pages) == 3
    for page in pages:
        assert page.width > page.height
        assert "row" not in page.extract_text()


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda paper: paper.name)
@pytest.mark.parametrize("name", ["from-above", "from-the-side"])
def test_sheets_joined_at_their_crosses_give_the_whole_outline(drawings, name, paper):
    # as at the bench: lay each sheet's left crosses on the right ones of the sheet before
    drawing = drawings[name]
    outline = next(line for line in drawing.lines if line.style == "outline")
    joined, shift = [], 0.0
    pages = sheets(drawing, paper)
    for before, page in pairwise([None, *pages]):
        if before is not None:
            shift += crosses(before).max() - crosses(page).min()
        joined += [translate(LineString(p), shift) for p in black(page) if not is_cross(p)]
    whole = unary_union(joined)
    box = np.array(whole.bounds).reshape(2, 2)
    drawn = translate(Polygon(outline.points).exterior, *(box[0] - outline.points.min(axis=0)))
    assert len(pages) > 1
    assert np.ptp(box, axis=0) == pytest.approx(np.ptp(outline.points, axis=0), abs=0.01)
    assert whole.hausdorff_distance(drawn) < 0.01
    assert whole.buffer(0.005).area / 0.01 == pytest.approx(drawn.length, rel=2e-3)


def is_cross(points):
    return len(points) == 2 and np.hypot(*np.diff(points, axis=0)[0]) == pytest.approx(8, abs=0.01)


def crosses(page):
    """x in mm of all alignment crosses."""
    upright = [p for p in black(page) if is_cross(p) and np.ptp(p[:, 0]) < 1e-6]
    assert upright
    return np.array([p[0, 0] for p in upright])


def test_a_large_plate_takes_rows_and_columns_and_no_empty_sheet():
    # 1000 by 800 mm, nothing but its rim and a hole: sheets in its middle would be empty
    ring = 500.0 * np.stack([np.cos(a := np.linspace(0, 6.28, 400)), 0.8 * np.sin(a)], 1)
    drawing = Drawing("plate", "", (Line(ring, closed=True),), circles=(Circle(0, 390, 8),))
    pages = sheets(drawing)
    said = " ".join(page.extract_text() for page in pages)
    area = np.subtract(*extent(drawing)[::-1])
    grids = [
        np.ceil((area - OVERLAP) / (np.array(room) - OVERLAP)).prod()
        for room in ((277.0, 210.0 - 42), (190.0, 297.0 - 42))  # lying and upright
    ]
    assert 4 < len(pages) < min(grids)
    assert len(set(re.findall(r"row (\d+), column", said))) > 2
    assert len(set(re.findall(r"column (\d+)", said))) > 2


def test_the_bytes_do_not_differ_from_run_to_run(drawings):
    assert pdf(drawings["from-above"], A4, "mm") == pdf(drawings["from-above"], A4, "mm")
    assert b"D:2000010100000" in pdf(drawings["gauges"], A4, "mm")  # no date of its own


def test_a_title_in_any_letters_can_be_printed():
    drawing = Drawing("Жук ½ Žluna", "", (Line(np.array([[0.0, 0.0], [50.0, 10.0]])),))
    (page,) = sheets(drawing)
    assert "Жук ½ Žluna, sheet 1 of 1" in page.extract_text()


def test_the_commands_paper_is_the_units_unless_told(tmp_path, request, capsys):
    plover = str(request.config.rootpath / "examples" / "plover.toml")
    for folder, words, size in (("in", [], (612, 792)), ("a4", ["--paper", "A4"], (595.28, 841.9))):
        main(["export", plover, "--to", str(tmp_path / folder), "--even-so", *words])
        capsys.readouterr()
        with pdfplumber.open(tmp_path / folder / "plover-neck-gauges.pdf") as document:
            page = document.pages[0]
            assert sorted([page.width, page.height]) == pytest.approx(size, abs=0.1)
