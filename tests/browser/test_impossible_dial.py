"""An impossible dial, as the builder meets it: nothing leaves the lab until it is put right."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import trimesh
from playwright.sync_api import expect

from carve.design import load

if TYPE_CHECKING:
    from conftest import Lab as Server
    from conftest import Notebook
    from playwright.sync_api import Locator, Page

pytestmark = pytest.mark.browser

FIRST, MIDDLE, LAST = (f"carve-neck-stations-{n}-thickness" for n in range(3))
TURN_AND_PRESS = """(handle, [button, turns]) => {
    const key = () => new KeyboardEvent("keydown", {key: "ArrowRight", bubbles: true});
    for (let turn = 0; turn < turns; turn++) handle.dispatchEvent(key());
    button.click();
}"""
NOTICE = "Not the design on the dials"


@pytest.fixture
def file(lab: Server, example: Path) -> Path:
    """A copy of the example in a folder of the server's, where the test may write."""
    folder = lab.root / "impossible"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    return Path(shutil.copy(example, folder))


@pytest.fixture
def looked_at(tmp_path: Path) -> Path:
    """Where pictures of the page go: to the folder that CARVE_LOOK names, or with the test."""
    return Path(os.environ.get("CARVE_LOOK", tmp_path))


@pytest.fixture
def opened(file: Path, open_notebook: Callable[..., Notebook], page: Page) -> Notebook:
    page.set_viewport_size({"width": 1500, "height": 2600})
    cell = f"from carve.lab import Lab\nLab('{file.parent.name}/{file.name}')"
    notebook = open_notebook("impossible", [cell])
    notebook.run_all()
    expect(page.locator(".carve-findings")).to_be_visible(timeout=30_000)
    return notebook


def handle(notebook: Notebook, dial: str) -> Locator:
    return notebook.page.locator(f".{dial} [role=slider]")


def thickness_at(stl: Path, x: float, board: float) -> float:
    """Neck and board on the centre line, by trimesh's own section of the file."""
    section = trimesh.load_mesh(stl).section((1, 0, 0), (x, 0, 0))
    return board - float(section.vertices[:, 2].min())


def figure(notebook: Notebook, check: str) -> str:
    """What a finding's row says was found."""
    row = notebook.page.locator(f'.carve-findings tr[data-check="{check}"]')
    return row.locator("td").nth(2).inner_text()


def near(button: Locator, words: Locator) -> bool:
    """Whether words stand on the button's row, or directly below it."""
    one, other = button.bounding_box(), words.bounding_box()
    assert one
    assert other
    return -5 <= other["y"] - one["y"] <= 60


def test_nothing_leaves_the_lab_until_the_impossible_dial_is_put_right(
    opened: Notebook, file: Path, until: Callable[..., float], looked_at: Path
) -> None:
    page, before = opened.page, file.read_bytes()
    notices = page.locator(".carve-notice")
    assert not any(notice.is_visible() for notice in notices.all())

    # 14 mm: less than board and channel together
    handle(opened, FIRST).press("Home")
    at_dial = page.locator(".carve-at-dial")
    expect(at_dial).to_contain_text("neck.stations[0].thickness: 14 mm is no more than")
    expect(page.locator(f".carve-marked.{FIRST}")).to_have_count(1)
    expect(page.locator(".carve-marked")).to_have_count(1)
    expect(page.locator(f".{FIRST} .carve-at-dial")).to_be_visible()
    page.keyboard.press("ArrowRight")  # the builder still has the slider in hand
    expect(at_dial).to_contain_text("neck.stations[0].thickness: 14.05 mm is no more than")
    page.keyboard.press("ArrowLeft")
    expect(at_dial).to_contain_text("neck.stations[0].thickness: 14 mm is no more than")

    # picture, sections, drawings, chart, tables and findings say that they are not current
    assert notices.count() == 6
    for notice in notices.all():
        expect(notice).to_contain_text(f"{NOTICE}: shows the last one that could be made")
    for shown in (page.locator("iframe").first, page.locator(".carve-findings")):
        faded = shown.locator("xpath=ancestor::*[contains(@class, 'carve-stale')]").first
        assert float(faded.evaluate("box => getComputedStyle(box).opacity")) < 0.7

    handle(opened, FIRST).scroll_into_view_if_needed()
    page.screenshot(path=looked_at / "dial.png")

    # both buttons refuse, beside themselves
    for press, done in ((".carve-export", "exported"), (".carve-save", "saved")):
        page.locator(press).click()
        words = page.get_by_text(re.compile(rf"Nothing was {done}: neck\.stations\[0\]\.thickness"))
        expect(words).to_be_visible()
        assert near(page.locator(press), words)
    page.screenshot(path=looked_at / "buttons.png")
    assert not (file.parent / "cut").exists()
    assert file.read_bytes() == before

    # another dial still works, in the findings as well
    last = handle(opened, LAST)
    last.focus()
    for _ in range(20):
        last.press("ArrowRight")
    until(lambda: figure(opened, "thickness at fret 12") == "24 mm", "the other is followed")
    expect(at_dial).to_contain_text("14 mm is no more than")

    # put right: all marks go, and what is exported is what the dials say
    field = page.locator(f".{FIRST} input")
    field.fill("21.37")  # on none of the slider's steps
    field.press("Enter")
    until(lambda: not any(notice.is_visible() for notice in notices.all()), "the marks go")
    expect(page.locator(".carve-marked, .carve-at-dial, .carve-stale")).to_have_count(0)
    expect(page.get_by_text("Nothing was")).to_have_count(0)
    until(lambda: figure(opened, "thickness at fret 1") == "21.37 mm", "the typed value shows")
    # many turns and a press at once: the page holds back all turns but the first, not the press
    last.evaluate(TURN_AND_PRESS, [page.locator(".carve-export").element_handle(), 12])
    stl = file.parent / "cut" / "wren-neck.stl"
    until(stl.exists, "the file is there", seconds=60)
    exported = load(file.parent / "cut" / "wren-as-exported.toml")
    said = [station.thickness for station in exported.neck.stations]
    shown = [page.locator(f".{dial} input").input_value() for dial in (FIRST, MIDDLE, LAST)]
    assert said == [float(value) for value in shown] == [21.37, 22.2, 24.6]
    for station in (exported.neck.stations[0], exported.neck.stations[2]):
        x = exported.place(station.at)
        measured = thickness_at(stl, x, exported.fretboard.thickness)
        assert measured == pytest.approx(station.thickness, abs=1e-4)
    assert file.read_bytes() == before
    assert opened.complaints() == []
