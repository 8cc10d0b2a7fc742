"""The lab as a builder meets it: a dial moves, and picture, figures and files follow."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import nbformat
import numpy as np
import pytest
import trimesh
from playwright.sync_api import expect

from carve.design import load
from carve.design.io.toml_file import changed_keys

if TYPE_CHECKING:
    from conftest import Lab as Server
    from conftest import Notebook, Picture
    from playwright.sync_api import Locator, Page

pytestmark = pytest.mark.browser

ROOT = Path(__file__).parents[2]

STEPS = 40
"""Presses of an arrow key: 40 steps of 0.05 mm make the neck 2 mm thicker."""


@pytest.fixture
def wren(lab: Server, example: Path) -> Path:
    """A copy of the example in the server's folder, where the test may write."""
    copy = lab.root / "examples" / "wren.toml"
    shutil.rmtree(copy.parent, ignore_errors=True)
    copy.parent.mkdir()
    (lab.root / "notebooks").mkdir(exist_ok=True)
    shutil.copy(example, copy)
    return copy


@pytest.fixture
def heron(wren: Path) -> Path:
    """A copy of the example with strings, bridge and body beside the other."""
    return Path(shutil.copy(ROOT / "examples" / "heron.toml", wren.parent))


@pytest.fixture
def opened(wren: Path, open_notebook: Callable[..., Notebook], page: Page) -> Notebook:
    """The project's own notebook, open on a copy of the example."""
    page.set_viewport_size({"width": 1500, "height": 1400})
    kept = nbformat.read(ROOT / "notebooks" / "neck.ipynb", as_version=4)
    cells = [cell.source for cell in kept.cells if cell.cell_type == "code"]
    notebook = open_notebook("notebooks/neck", cells)
    notebook.run_all()
    return notebook


@pytest.fixture
def view(
    opened: Notebook, look_at: Callable[[Locator], Picture], until: Callable[..., float]
) -> Locator:
    """The 3D view, once it shows something."""
    frame = opened.page.locator("iframe").first
    expect(frame).to_be_visible(timeout=30_000)
    until(lambda: not look_at(frame).is_blank(), "the neck shows")
    return frame


def handle(notebook: Notebook, key: str) -> Locator:
    return notebook.page.locator(f".{key} [role=slider]")


def figure(notebook: Notebook, check: str) -> str:
    """What a finding's row says was found."""
    row = notebook.page.locator(f'.carve-findings tr[data-check="{check}"]')
    return row.locator("td").nth(2).inner_text()


def millimetres(text: str) -> float:
    return float(re.match(r"[\d.]+", text)[0])  # type: ignore[index]


def thickness_at(stl: Path, x: float, board: float) -> float:
    """Neck and board on the centre line, by trimesh's own section of the file."""
    section = trimesh.load_mesh(stl).section((1, 0, 0), (x, 0, 0))
    return board - float(section.vertices[:, 2].min())


def exported_changes(wren: Path) -> list[str]:
    """The keys in which what was exported differs from the file that was opened."""
    return changed_keys(load(wren), load(wren.parent / "cut" / "wren-as-exported.toml"))


def test_moving_the_twelfth_fret_moves_picture_figures_and_file(
    opened: Notebook,
    view: Locator,
    wren: Path,
    look_at: Callable[[Locator], Picture],
    until: Callable[..., float],
    tmp_path: Path,
) -> None:
    page = opened.page
    before, was = look_at(view), figure(opened, "thickness at fret 12")
    assert was == "23 mm"
    under = millimetres(figure(opened, "wood under the truss-rod channel"))

    dial = handle(opened, "carve-neck-stations-2-thickness")
    dial.focus()
    for _ in range(STEPS):
        dial.press("ArrowRight")
    until(lambda: figure(opened, "thickness at fret 12") == "25 mm", "the finding follows")
    until(lambda: look_at(view).differs(before), "the picture follows")
    after = look_at(view)
    after.save(tmp_path / "after.png")
    assert not after.is_blank()
    assert not after.is_black()
    assert not before.is_black()
    assert millimetres(figure(opened, "wood under the truss-rod channel")) != under

    page.locator(".carve-export").click()
    stl = wren.parent / "cut" / "wren-neck.stl"
    until(stl.exists, "the file is there")
    shape = load(wren)
    x = shape.place(shape.neck.stations[2].at)
    assert thickness_at(stl, x, shape.fretboard.thickness) == pytest.approx(25.0, abs=0.001)
    assert trimesh.load_mesh(stl).is_watertight
    manifest = json.loads((wren.parent / "cut" / "wren-manifest.json").read_text("utf-8"))
    assert manifest["parts"][0]["volume"] == pytest.approx(trimesh.load_mesh(stl).volume, rel=1e-6)
    assert exported_changes(wren) == ["neck.stations[2].thickness"]
    # the file on disk is the builder's until the builder saves; the export keeps what was cut
    assert load(wren).neck.stations[2].thickness == 23.0
    exported = load(wren.parent / "cut" / "wren-as-exported.toml")
    assert exported.neck.stations[2].thickness == pytest.approx(25.0)
    assert opened.complaints() == []


def test_the_neck_stands_beside_its_dials_and_nothing_overlaps(
    opened: Notebook,
    view: Locator,
    tmp_path: Path,
) -> None:
    page = opened.page
    dial = page.locator(".carve-neck-stations-0-thickness").bounding_box()
    picture, findings = view.bounding_box(), page.locator(".carve-findings").bounding_box()
    sections = page.locator("svg", has_text="1st fret").first.bounding_box()
    export = page.locator(".carve-export").bounding_box()
    assert dial
    assert picture
    assert findings
    assert sections
    assert export
    assert dial["x"] + dial["width"] <= picture["x"]
    assert picture["y"] + picture["height"] <= sections["y"]
    assert sections["y"] + sections["height"] <= findings["y"]
    assert findings["y"] + findings["height"] <= export["y"]
    page.screenshot(path=tmp_path / "lab.png")  # to look at, and for the README


def test_sections_and_wood_curve_follow_the_dial(
    opened: Notebook, until: Callable[..., float]
) -> None:
    page = opened.page
    first = page.locator("svg", has_text="1st fret").first
    expect(first).to_be_visible(timeout=30_000)
    outline, words = first.inner_html(), first.text_content()
    assert "21 mm thick" in words
    dial = handle(opened, "carve-neck-stations-0-thickness")
    dial.focus()
    for _ in range(10):
        dial.press("ArrowRight")
    until(lambda: "21.5 mm thick" in (first.text_content() or ""), "the section follows")
    assert first.inner_html() != outline


def test_a_letter_sets_both_dials_and_a_dial_leaves_the_letter(
    opened: Notebook, until: Callable[..., float]
) -> None:
    station = opened.page.locator(".carve-neck-stations-0-shape")
    letter = station.locator("select").first
    assert letter.input_value() == "C"
    letter.select_option("V")
    readouts = station.locator(".widget-readout")
    until(lambda: readouts.nth(0).inner_text() == "0.25", "the shoulder follows the letter")
    assert readouts.nth(1).inner_text() == "0.85"
    until(lambda: "V, " in opened.page.locator(".carve-findings").inner_text(), "so does the check")
    keel = station.locator("[role=slider]").nth(1)
    keel.focus()
    keel.press("ArrowLeft")
    until(lambda: letter.input_value() == "own", "the letter lets go")


def test_a_contradiction_is_said_and_the_picture_stays(
    opened: Notebook, until: Callable[..., float]
) -> None:
    page = opened.page
    dial = handle(opened, "carve-neck-stations-0-thickness")
    dial.focus()
    dial.press("Home")  # 14 mm: less than board and channel together
    until(
        lambda: "channel would cut through the back" in page.inner_text(".jp-Notebook"),
        "the contradiction is said",
    )
    assert "shows the last one that could be made" in page.inner_text(".jp-Notebook")
    dial.press("End")
    until(
        lambda: "channel would cut through" not in page.inner_text(".jp-Notebook"),
        "and taken back",
    )
    assert opened.complaints() == []


def test_opening_a_design_and_exporting_it_changes_nothing_in_it(
    opened: Notebook, wren: Path, until: Callable[..., float]
) -> None:
    opened.page.get_by_text("neck truss rod", exact=True).click()
    opened.page.get_by_text("scale length", exact=True).first.click()
    opened.page.locator(".carve-export").click()
    until((wren.parent / "cut" / "wren-manifest.json").exists, "the files are there")
    assert exported_changes(wren) == []
    exported = wren.parent / "cut" / "wren-as-exported.toml"
    assert exported.read_bytes() == wren.read_bytes()


def test_exporting_twice_refuses_until_told_to_replace(
    opened: Notebook, wren: Path, until: Callable[..., float]
) -> None:
    page = opened.page
    page.locator(".carve-export").click()
    stl = wren.parent / "cut" / "wren-neck.stl"
    until(stl.exists, "the file is there")
    stamp = stl.stat().st_mtime_ns
    page.locator(".carve-export").click()
    until(lambda: "already there" in page.inner_text(".jp-Notebook"), "the refusal is said")
    assert stl.stat().st_mtime_ns == stamp
    page.get_by_label("replace existing files").check()
    page.locator(".carve-export").click()
    until(lambda: stl.stat().st_mtime_ns != stamp, "the file is replaced")


def test_saving_keeps_comments_and_changes_only_the_dial_that_moved(
    opened: Notebook, wren: Path, until: Callable[..., float]
) -> None:
    before = wren.read_text("utf-8")
    dial = handle(opened, "carve-neck-stations-1-thickness")
    dial.focus()
    dial.press("ArrowRight")
    until(lambda: figure(opened, "thickness at fret 7") == "22.25 mm", "the finding follows")
    opened.page.get_by_role("button", name="Save the dials to wren.toml").click()
    until(lambda: wren.read_text("utf-8") != before, "the file is saved")
    changed = [
        (old, new)
        for old, new in zip(before.splitlines(), wren.read_text("utf-8").splitlines(), strict=True)
        if old != new
    ]
    assert changed == [("thickness = 22.2", "thickness = 22.25")]


def test_a_wrong_file_is_said_in_place_of_the_dials(
    wren: Path, open_notebook: Callable[..., Notebook]
) -> None:
    wren.write_text(wren.read_text("utf-8").replace("nut_width", "nut_widht"), "utf-8")
    notebook = open_notebook("wrong", ["from carve.lab import Lab\nLab('examples/wren.toml')"])
    notebook.run_all()
    said = notebook.page.inner_text(".jp-Notebook")
    assert "neck.nut_widht: unknown key" in said
    assert "Traceback" not in said


def test_the_picture_differs_where_the_wood_is_thin(
    opened: Notebook,
    view: Locator,
    look_at: Callable[[Locator], Picture],
    until: Callable[..., float],
) -> None:
    thick = look_at(view).pixels.astype(int)
    opened.page.get_by_text("neck truss rod", exact=True).click()
    dial = handle(opened, "carve-neck-truss-rod-depth")
    dial.focus()
    for _ in range(25):
        dial.press("ArrowRight")
    until(
        lambda: "failed" in opened.page.locator(".carve-findings > b").inner_text(),
        "the finding fails",
    )
    until(lambda: look_at(view).pixels.shape == thick.shape, "the view keeps its size")

    def dark_red(pixels: np.ndarray) -> float:
        red, green, blue = np.moveaxis(pixels.astype(int), 2, 0)
        return float(np.mean((red > green + 60) & (red > blue + 60) & (green < 90)))

    until(lambda: dark_red(look_at(view).pixels) > dark_red(thick) + 0.01, "thin wood turns red")


def test_a_zebra_shows_when_asked_for_and_stays_while_a_dial_turns(
    opened: Notebook,
    view: Locator,
    look_at: Callable[[Locator], Picture],
    until: Callable[..., float],
) -> None:
    before = look_at(view)
    choice = opened.page.locator(".carve-shade select")
    assert choice.input_value() == "wood left"
    choice.select_option("zebra, lights along")
    until(lambda: look_at(view).differs(before), "the stripes show")
    striped = look_at(view)
    assert not striped.is_blank()
    assert not striped.is_black()
    dial = handle(opened, "carve-neck-stations-0-thickness")
    dial.focus()
    for _ in range(STEPS):
        dial.press("ArrowRight")
    until(lambda: figure(opened, "thickness at fret 1") == "23 mm", "the finding follows")
    until(lambda: look_at(view).differs(striped), "so do the stripes")
    assert choice.input_value() == "zebra, lights along"
    choice.select_option("wood left")
    until(lambda: look_at(view).differs(striped), "and the wood again")
    assert opened.complaints() == []


def test_the_neck_is_cut_open_where_the_slider_stands(
    opened: Notebook, until: Callable[..., float]
) -> None:
    cut = opened.page.locator(".carve-cut-neck")
    drawing = cut.locator("svg")
    expect(drawing).to_be_visible(timeout=30_000)
    before = drawing.text_content() or ""
    place = cut.locator("[role=slider]").first
    place.focus()
    for _ in range(STEPS):
        place.press("ArrowLeft")
    until(lambda: (drawing.text_content() or "") != before, "the section follows")
    assert "from the nut" in (drawing.text_content() or "")
    assert opened.complaints() == []


def test_the_fretboards_dials_move_picture_and_findings(
    opened: Notebook, look_at: Callable[[Locator], Picture], until: Callable[..., float]
) -> None:
    page = opened.page
    frame = page.locator("iframe").first
    until(lambda: not look_at(frame).is_blank(), "neck and board show")
    before = look_at(frame)
    assert figure(opened, "thickness at the edges") == "5.01 mm"
    page.get_by_text("fretboard", exact=True).click()
    dial = handle(opened, "carve-fretboard-thickness")
    dial.focus()
    for _ in range(STEPS):
        dial.press("ArrowRight")
    # 2 mm thicker on the crown, and so at the edges: the radius stays
    until(lambda: figure(opened, "thickness at the edges") == "7.01 mm", "the finding follows")
    until(lambda: look_at(frame).differs(before), "the picture follows")

    page.get_by_text("fretboard radius", exact=True).click()
    assert figure(opened, "radius at the nut").startswith("253.")
    dial = handle(opened, "carve-fretboard-radius-nut")
    dial.focus()
    for _ in range(STEPS):
        dial.press("ArrowRight")  # 1 mm each
    until(lambda: figure(opened, "radius at the nut").startswith("293."), "the finding follows")
    assert opened.complaints() == []


def test_the_side_view_follows_the_action(
    heron: Path, open_notebook: Callable[..., Notebook], page: Page, until: Callable[..., float]
) -> None:
    page.set_viewport_size({"width": 1400, "height": 2400})
    cell = f"from carve.lab import Lab\nLab('examples/{heron.name}')"
    notebook = open_notebook("side", [cell])
    notebook.run_all()
    side = page.locator("svg", has_text="Heron, side view")
    expect(side).to_be_visible(timeout=30_000)
    outline, words = side.inner_html(), side.text_content() or ""
    assert "action 1.95 mm at the 12th fret" in words  # half of 2.2 and 1.7 mm
    angle = figure(notebook, "neck angle")
    page.get_by_text("action", exact=True).click()
    dial = handle(notebook, "carve-action-bass")
    dial.focus()
    for _ in range(10):
        dial.press("ArrowRight")  # 0.05 mm each
    until(
        lambda: "action 2.2 mm at the 12th fret" in (side.text_content() or ""),
        "the side view follows",
    )
    assert side.inner_html() != outline
    # the bridge keeps its height, so the neck leans back less
    assert degrees(figure(notebook, "neck angle")) < degrees(angle)
    assert notebook.complaints() == []


def test_no_dial_is_squeezed_and_no_drawing_runs_out_of_the_page(
    heron: Path, open_notebook: Callable[..., Notebook], page: Page
) -> None:
    page.set_viewport_size({"width": 1400, "height": 2400})
    shutil.copy(ROOT / "examples" / "plover.toml", heron.parent)  # the one with most dials
    notebook = open_notebook("most", ["from carve.lab import Lab\nLab('examples/plover.toml')"])
    notebook.run_all()
    expect(page.locator("svg", has_text="Plover, side view")).to_be_visible(timeout=30_000)
    for number in (0, 1):
        station = page.locator(f".carve-neck-stations-{number}-shape")
        for slider in station.locator("[role=slider]").all()[:2]:  # shoulder and keel
            expect(slider).to_be_in_viewport(ratio=0.9)  # seen, and not cut off by a box around it
    page_box = page.locator(".jp-OutputArea").first.bounding_box()
    assert page_box
    drawings = page.locator(".jp-OutputArea svg", has_text="mm").all()
    assert len(drawings) > 8
    for drawing in drawings:
        box = drawing.bounding_box()
        assert box
        assert box["x"] + box["width"] <= page_box["x"] + page_box["width"]


def degrees(text: str) -> float:
    return float(text.removesuffix("°"))
