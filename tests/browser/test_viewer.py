"""The 3D view: what it draws, with no browser at all, and what then shows in JupyterLab."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, get_args

import numpy as np
import numpy.typing as npt
import pytest

from carve.arrays import Array, IntArray
from carve.lab.view3d.camera import MARGIN, Direction, pose
from carve.lab.view3d.layer import Layer, shared_ranges, surface
from carve.lab.view3d.scale_bar import BAR_BAND
from carve.lab.view3d.viewer import Viewer

if TYPE_CHECKING:
    from conftest import Notebook, Picture
    from playwright.sync_api import Locator

ROOT = Path(__file__).resolve().parents[2]

LATENCY_LIMIT = 2.0
"""Seconds from a key on the dial to a new picture; far above the 0.15 s that it takes, since the
machine may be busy, and far below what a builder would call broken."""


def tube(thickness: float = 20.0, around: int = 48, along: int = 80) -> tuple[Array, IntArray]:
    """A closed half-round bar of a neck's size; points (n, 3) mm and triangles (m, 3)."""
    angle = np.linspace(0.0, np.pi, around)
    profile = np.stack([25.0 * np.cos(angle), -thickness * np.sin(angle)], axis=1)
    x = np.repeat(np.linspace(0.0, 450.0, along), around)
    points = np.column_stack([x, np.tile(profile, (along, 1))])
    here = np.arange(along - 1)[:, None] * around + np.arange(around)
    next_ = np.arange(along - 1)[:, None] * around + np.roll(np.arange(around), -1)
    quads = np.stack([here, here + around, next_ + around, next_], axis=-1).reshape(-1, 4)
    fan = np.column_stack([np.zeros(around - 2), np.arange(1, around - 1), np.arange(2, around)])
    far = fan[:, ::-1] + (along - 1) * around
    triangles = np.concatenate([quads[:, [0, 1, 2]], quads[:, [0, 2, 3]], fan, far])
    return points, triangles.astype(np.int64)


@pytest.fixture
def view() -> Iterator[Viewer]:
    made = Viewer()
    yield made
    made.close()


def drawn(picture: npt.NDArray[np.uint8]) -> npt.NDArray[np.bool_]:
    """Where a picture without scale bars shows something."""
    change = np.abs(picture.astype(np.int16) - picture[0, 0].astype(np.int16))
    return np.asarray(change.max(axis=2) > 8)


# --- without a browser ----------------------------------------------------------------------------


@pytest.mark.parametrize("direction", get_args(Direction))
def test_every_direction_fills_the_picture_and_cuts_nothing_off(
    view: Viewer, direction: Direction
) -> None:
    view.show([Layer("neck", *tube())])
    view.look(direction)
    rows, columns = np.nonzero(drawn(view.picture()))
    height, width = view.picture().shape[:2]
    left, right = columns.min() / width, 1 - columns.max() / width
    over, under = rows.min() / height, 1 - rows.max() / height
    margin = MARGIN
    assert min(left, right, over, under) >= margin - 0.01
    assert max(left, right) <= margin + 0.02 or max(over, under) <= margin + 0.02


def test_the_scale_bar_and_the_body_do_not_meet(view: Viewer) -> None:
    points, _ = tube()
    body = pose(points, "end", 2.0, band=BAR_BAND)
    assert body.half_height is not None
    lowest = (points[:, 2].min() - body.focus[2]) / body.half_height
    assert (lowest + 1) / 2 >= BAR_BAND


def test_the_back_is_seen_from_below_and_the_nut_is_on_the_left(view: Viewer) -> None:
    points, triangles = tube()
    view.show(
        [
            Layer("neck", points, triangles),
            Layer("nut", points * [0.02, 1.1, 1.1], triangles, colour="#0000ff"),
            Layer(
                "board", points * [1, 0.5, 0] + np.array([0, 0, 0.5]), triangles, colour="#ff0000"
            ),
        ]
    )
    red, _, blue = np.moveaxis(view.picture().astype(int), 2, 0)
    columns = np.nonzero(blue > red + 60)[1]
    assert columns.size
    assert columns.mean() < view.picture().shape[1] / 4
    assert not np.any(red > 3 * blue + 60), "the fretboard is behind the neck"


def test_a_changed_body_keeps_its_actor_and_the_camera(view: Viewer) -> None:
    view.show([Layer("neck", *tube())])
    before = view.picture()
    actor, camera = view._actors["neck"], view._plotter.camera_position
    view.show([Layer("neck", *tube(thickness=35.0, around=20))])
    after = view.picture()
    assert view._actors["neck"] is actor
    assert view._plotter.camera_position == camera
    assert drawn(after).sum() > 1.1 * drawn(before).sum()


def test_a_layer_that_is_no_longer_named_is_gone(view: Viewer) -> None:
    points, triangles = tube()
    neck = Layer("neck", points, triangles)
    view.show([neck])
    alone = view.picture()
    view.show([neck, Layer("rod", points + np.array([0, 0, 60]), triangles, colour="#0000ff")])
    assert np.any(view.picture() != alone)
    view.show([neck])
    assert np.array_equal(view.picture(), alone)


def test_a_see_through_layer_shows_what_is_inside_it(view: Viewer) -> None:
    points, triangles = tube()
    rod = Layer(
        "rod", points * [0.8, 0.2, 0.5] + np.array([40, 0, -2]), triangles, colour="#0000ff"
    )

    def bluish() -> float:
        red, _, blue = np.moveaxis(view.picture().astype(int), 2, 0)
        return float(np.mean(blue > red + 20))

    view.show([Layer("neck", points, triangles), rod])
    assert bluish() == 0.0
    view.show([Layer("neck", points, triangles, opacity=0.3), rod])
    assert bluish() > 0.01
    assert drawn(view.picture()).mean() > 0.08, "and the layer itself is still there"


def test_thin_is_red_thick_is_blue_and_unmeasured_is_wood(view: Viewer) -> None:
    points, triangles = tube()

    def colour_of(value: float | None) -> npt.NDArray[np.float64]:
        """The body's median colour, where no scale bar is in the way."""
        values = None
        if value is not None:
            values = np.full(len(points), value)
            # One finite value keeps the scale bar, and with it the colours, alive.
            values[0] = 5.0
        view.show([Layer("neck", points, triangles, values, "wood left, mm", (2.0, 8.0))])
        upper = view.picture()[:300]
        return np.asarray(np.median(upper[drawn(upper)], axis=0), dtype=np.float64)

    thin, thick = colour_of(2.0), colour_of(8.0)
    assert thin[0] > 2.5 * thin[2]
    assert thick[2] > 1.2 * thick[0]
    assert np.abs(colour_of(np.nan) - colour_of(None)).max() < 12


def test_layers_of_one_label_share_a_range_and_a_fixed_one_wins() -> None:
    points, triangles = tube()

    def layer(name: str, values: Sequence[float], **more: object) -> Layer:
        return Layer(name, points, triangles, np.resize(np.array(values), len(points)), **more)  # type: ignore[arg-type]

    shared = [layer("a", [1.0, np.nan, 3.0], label="mm"), layer("b", [2.0, 7.0], label="mm")]
    assert shared_ranges(shared) == {"mm": (1.0, 7.0)}
    fixed = [*shared, layer("c", [4.0], label="mm", range=(0.0, 5.0))]
    assert shared_ranges(fixed) == {"mm": (0.0, 5.0)}
    assert shared_ranges([layer("d", [np.nan], label="mm")]) == {}
    low, high = shared_ranges([layer("e", [4.0])])[""]
    assert low < 4.0 < high


def test_a_sharp_edge_stays_sharp_and_a_curved_face_is_smooth() -> None:
    points, triangles = tube(around=48)
    mesh = surface(Layer("neck", points, triangles))
    normals = np.asarray(mesh.point_data["Normals"])
    where = np.asarray(mesh.points)
    middle = np.abs(where[:, 0] - 227.8) < 1.0
    # The edge between the flat top and the curved flank: once with each side's normal.
    edge = middle & (where[:, 1] > 24.99)
    assert np.sort(normals[edge, 2]) == pytest.approx([0.0, 1.0], abs=0.1)
    # The keel, a point of the curve: once, and looking down.
    keel = middle & (np.abs(where[:, 1]) < 1.0) & (where[:, 2] < -19.0)
    assert np.all(normals[keel, 2] < -0.99)
    assert len(normals[keel]) == len(np.unique(where[keel], axis=0))


def test_it_refuses_to_draw_off_the_main_thread(view: Viewer) -> None:
    said: list[str] = []

    def draw() -> None:
        try:
            view.show([Layer("neck", *tube())])
        except RuntimeError as error:
            said.append(str(error))

    thread = threading.Thread(target=draw)
    thread.start()
    thread.join()
    assert len(said) == 1
    assert "main thread" in said[0]


def test_light_runs_smoothly_over_a_curved_face(view: Viewer) -> None:
    # 16 facets across a half round: drawn flat, the light would jump from one to the next
    view.show([Layer("neck", *tube(around=17))])
    view.look("bottom")
    picture = view.picture().astype(int).sum(axis=2)
    across = picture[:, picture.shape[1] // 2]
    inside = np.flatnonzero(drawn(view.picture())[:, picture.shape[1] // 2])[6:-6]
    assert inside.size > 40
    assert np.abs(np.diff(across[inside])).max() < 30


def test_an_unknown_direction_is_answered_with_the_known_ones(view: Viewer) -> None:
    with pytest.raises(ValueError, match="back, front, top"):
        view.look("inside")  # type: ignore[arg-type]


WITHOUT_DISPLAY = """
from vtkmodules.vtkIOGeometry import vtkSTLReader
from carve.arrays import Array, IntArray
from carve.lab.view3d.quiet_vtk import without_the_display_warning
from carve.lab.view3d.viewer import Viewer

with without_the_display_warning():
    pass
made = Viewer()
made.picture()
with without_the_display_warning():
    # VTK's own way of saying that a file is missing, and a warning of its own.
    reader = vtkSTLReader()
    reader.SetFileName("no such file.stl")
    reader.Update()
    from vtkmodules.vtkCommonCore import vtkOutputWindow
    vtkOutputWindow.GetInstance().DisplayText("Warning: the wood is wet\\n\\n")
made.close()
"""


def test_without_a_display_nothing_is_said_but_real_errors_are() -> None:
    """In a process of its own, since VTK writes past Python."""
    environment = {key: value for key, value in os.environ.items() if key != "DISPLAY"}
    environment["PYTHONPATH"] = str(ROOT)
    run = subprocess.run(
        [sys.executable, "-c", WITHOUT_DISPLAY],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert run.returncode == 0, run.stderr
    assert "X server" not in run.stderr + run.stdout
    assert "no such file.stl" in run.stderr
    assert "the wood is wet" in run.stderr


# --- in JupyterLab --------------------------------------------------------------------------------

SETUP = f"""
import sys
sys.path.insert(0, {str(Path(__file__).parent)!r})
import traceback
import ipywidgets
from carve.lab.mainloop import Latest
from carve.lab.view3d.layer import Layer
from carve.lab.view3d.viewer import Viewer
from test_viewer import tube

view = Viewer()
report = ipywidgets.HTML("quiet")
report.add_class("report")

def draw(thickness):
    points, triangles = tube(thickness)
    view.show([Layer("neck", points, triangles, -points[:, 2], "wood left, mm", (0.0, 40.0))])

def oops(error):
    report.value = "".join(traceback.format_exception(error))

latest = Latest(draw, on_error=oops)
dial = ipywidgets.FloatSlider(value=15.0, min=10.0, max=60.0, step=5.0, description="thickness")
dial.observe(lambda change: latest.submit(change["new"]), "value")
draw(dial.value)
ipywidgets.VBox([dial, view.widget, report])
"""


WATCH = """
window.pictures = [];
document.addEventListener("load", event => {
    if (event.target.tagName === "IMG") window.pictures.push(Date.now());
}, true);
"""
"""Notes, inside the view's page, when a new picture has arrived."""


@pytest.fixture
def settled(
    look_at: Callable[[Locator], Picture], until: Callable[..., float]
) -> Callable[[Locator], Picture]:
    """The picture of an element once two in a row are the same: one may have been underway."""

    def at_rest(element: Locator) -> Picture:
        seen = [look_at(element)]

        def same() -> bool:
            seen.append(look_at(element))
            return not seen[-1].is_blank() and not seen[-1].differs(seen[-2])

        until(same, "the view shows a picture that is at rest")
        return seen[-1]

    return at_rest


@pytest.mark.browser
def test_turning_a_dial_changes_the_picture(
    open_notebook: Callable[..., Notebook],
    look_at: Callable[[Locator], Picture],
    settled: Callable[[Locator], Picture],
    until: Callable[..., float],
    record_property: Callable[[str, object], None],
    tmp_path: Path,
) -> None:
    notebook = open_notebook("dial", [SETUP])
    notebook.run_all()
    view = notebook.page.locator("iframe.carve-view")
    before = settled(view)
    before.save(tmp_path / "before.png")
    assert not before.is_black()
    assert notebook.complaints() == []

    dial = notebook.page.locator(".noUi-handle")
    notebook.page.evaluate("addEventListener('keydown', () => { window.turned = Date.now(); })")
    inside = notebook.page.frames[-1]
    inside.evaluate(WATCH)
    delays = []
    for _ in range(4):
        inside.evaluate("window.pictures = []")
        dial.press("ArrowRight")
        until(lambda: inside.evaluate("window.pictures.length") > 0, "the view follows the dial")
        turned = notebook.page.evaluate("window.turned")
        delays.append((inside.evaluate("window.pictures[0]") - turned) / 1000.0)
    after = settled(view)
    after.save(tmp_path / "after.png")
    print(f"dial to picture, s: {delays}; pictures are in {tmp_path}")
    record_property("dial_to_picture_seconds", delays)
    assert after.differs(before, share=0.02)
    assert not after.is_black()
    assert min(delays) < LATENCY_LIMIT
    assert notebook.page.locator(".report").inner_text().strip() == "quiet"

    # The mouse turns the view, and neither keys nor the dial turn it back.
    box = view.bounding_box()
    assert box is not None
    mouse = notebook.page.mouse
    mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 3)
    mouse.down()
    mouse.move(box["x"] + box["width"] / 2 + 40, box["y"] + box["height"] / 3 + 60, steps=4)
    mouse.up()
    until(lambda: look_at(view).differs(after, share=0.02), "the mouse turns the view")
    by_hand = settled(view)
    for key in "wqe3r":
        notebook.page.keyboard.press(key)
    dial.press("ArrowLeft")
    until(lambda: look_at(view).differs(by_hand), "the view follows the dial")
    dial.press("ArrowRight")
    until(lambda: not look_at(view).differs(by_hand), "the view is as it was")


@pytest.mark.browser
def test_two_notebooks_do_not_meet_and_stopping_a_cell_stops_no_view(
    open_notebook: Callable[..., Notebook],
    settled: Callable[[Locator], Picture],
    until: Callable[..., float],
) -> None:
    one = open_notebook("one", [SETUP])
    # The third cell holds the main thread, so the second one's picture comes after it.
    long = "import time; print('bu' + 'sy'); time.sleep(300)"
    two = open_notebook("two", [SETUP, "latest.submit(60.0)", long])
    one.run_all()
    two.start_all()
    until(lambda: "busy" in two.output(), "the third cell runs")
    two.interrupt()
    until(lambda: "KeyboardInterrupt" in two.output(), "the third cell has stopped")
    views = [notebook.page.locator("iframe.carve-view") for notebook in (one, two)]
    thin, thick = (settled(view) for view in views)
    assert thin.differs(thick, share=0.02)

    two.page.locator(".noUi-handle").press("ArrowRight")
    until(lambda: settled(views[1]).differs(thick), "the view still follows its dial")
    assert not settled(views[0]).differs(thin)
