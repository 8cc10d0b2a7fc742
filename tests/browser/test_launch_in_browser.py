"""`carve lab` as a builder meets it: the dials are live before anything is pressed.

The notebooks here make a plain slider instead of carve's own dials, so that these tests speak of
the opening alone. Each also writes a file when it runs, which is how a test knows that it did.
"""

import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from nbformat import write
from nbformat.sign import NotebookNotary
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect
from started_lab import address_of

pytestmark = pytest.mark.browser

ROOT = Path(__file__).parents[2]
LAUNCH = (
    "import sys; from pathlib import Path; from carve.lab.launch import launch; "
    "sys.exit(launch(Path(sys.argv[1]), browser=False))"
)
# ms; the first start of JupyterLab and of a kernel on a slow machine.
PATIENCE = 90_000
# pixels
WIDTH = 1400
# s; ten times what the run takes once the kernel is ready, so a run would have shown by then.
LONG_ENOUGH_TO_HAVE_RUN = 5.0


@dataclass(frozen=True)
class Bench:
    """A running `carve lab`: its folder and the address that it printed."""

    folder: Path
    address: str

    def page_of(self, name: str) -> str:
        return self.address.replace("/wren.lab.ipynb", f"/{name}")

    def has_run(self, name: str) -> bool:
        return (self.folder / f"{name}.ran").exists()


def _write_notebook(path: Path, *, asks_to_run: bool, trusted_in: Path | None) -> None:
    code = (
        "import ipywidgets, pathlib\n"
        f"pathlib.Path({path.name!r} + '.ran').touch()\n"
        "ipywidgets.FloatSlider(value=14.5, min=10, max=20, description='Thickness')"
    )
    kernel = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
    metadata: dict[str, Any] = {"kernelspec": kernel}
    if asks_to_run:
        metadata["carve"] = {"run_on_open": True}
    notebook: Any = new_notebook(  # type: ignore[no-untyped-call]
        metadata=metadata,
        cells=[new_markdown_cell("My notes."), new_code_cell(code)],  # type: ignore[no-untyped-call]
    )
    write(notebook, path)  # type: ignore[no-untyped-call]
    if trusted_in is not None:
        NotebookNotary(data_dir=str(trusted_in)).sign(notebook)  # type: ignore[no-untyped-call]


def _jupyter_of_its_own(home: Path) -> dict[str, str]:
    config = home / "config"
    config.mkdir(parents=True)
    # The machines that run these tests often know only one user.
    (config / "jupyter_server_config.json").write_text('{"ServerApp": {"allow_root": true}}')
    return {
        **os.environ,
        "PYTHONPATH": os.pathsep.join([str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]),
        "JUPYTER_CONFIG_DIR": str(config),
        "JUPYTER_DATA_DIR": str(home / "data"),
        "JUPYTER_RUNTIME_DIR": str(home / "runtime"),
        "IPYTHONDIR": str(home / "ipython"),
    }


def _start(design: Path, environment: Mapping[str, str]) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", LAUNCH, str(design)],
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        # A process group of its own, as a shell gives it: Ctrl-C goes to all in the group.
        start_new_session=True,
    )


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    folder = tmp_path_factory.mktemp("the bench")
    home = tmp_path_factory.mktemp("jupyter")
    (folder / "wren.toml").touch()
    environment = _jupyter_of_its_own(home)
    for name, asks_to_run, trusted in (
        ("wren.lab.ipynb", True, True),
        ("plain.ipynb", False, True),
        ("stranger.ipynb", True, False),
    ):
        data = Path(environment["JUPYTER_DATA_DIR"])
        data.mkdir(exist_ok=True)
        _write_notebook(
            folder / name, asks_to_run=asks_to_run, trusted_in=data if trusted else None
        )
    process = _start(folder / "wren.toml", environment)
    try:
        address = address_of(process)
        assert process.stdout is not None
        # An unread pipe fills up and stops the server.
        Thread(target=process.stdout.read, daemon=True).start()
        yield Bench(folder, address)
    finally:
        process.terminate()
        process.wait(timeout=30)


@pytest.fixture(scope="module")
def window(browser: Browser) -> Iterator[BrowserContext]:
    """One window of one builder; its pages are the tabs in it."""
    context = browser.new_context(viewport={"width": WIDTH, "height": 900})
    yield context
    context.close()


@pytest.fixture(scope="module")
def opened(bench: Bench, window: BrowserContext) -> Iterator[Page]:
    """The page that `carve lab` opens, as soon as there is a slider; nothing has been pressed."""
    page = window.new_page()
    page.goto(bench.address)
    page.locator(".widget-slider").wait_for(timeout=PATIENCE)
    yield page
    page.close()


def _open_idle(window: BrowserContext, address: str) -> Page:
    """A page on a notebook whose kernel is up and has nothing to do."""
    page = window.new_page()
    page.goto(address)
    page.locator(".jp-NotebookPanel:visible").wait_for(timeout=PATIENCE)
    page.get_by_text("Python 3 (ipykernel) | Idle").wait_for(timeout=PATIENCE)
    return page


def test_the_slider_is_there_without_a_click(bench: Bench, opened: Page) -> None:
    assert opened.locator(".widget-readout").inner_text() == "14.50"
    assert bench.has_run("wren.lab.ipynb")


def test_nothing_lies_on_top(opened: Page) -> None:
    # Where JupyterLab has something to ask, it asks within this time after its start.
    time.sleep(LONG_ENOUGH_TO_HAVE_RUN)
    assert opened.locator(".jp-Dialog").count() == 0
    assert opened.locator(".jp-toast-message, .Toastify__toast").all_inner_texts() == []


def _width(element: Locator) -> float:
    box = element.bounding_box()
    assert box is not None
    return box["width"]


def test_the_picture_has_the_width_of_the_window(opened: Page) -> None:
    assert not opened.locator(".jp-FileBrowser").is_visible()
    assert _width(opened.locator(".jp-NotebookPanel")) > 0.9 * WIDTH


def test_nothing_is_left_to_be_saved(opened: Page) -> None:
    """Else closing the browser tab would ask about changes the builder never made."""
    expect(opened.locator(".lm-TabBar-tab", has_text="wren.lab.ipynb")).to_have_count(1)
    expect(opened.locator(".lm-TabBar-tab.jp-mod-dirty")).to_have_count(0)


def test_a_reloaded_page_keeps_what_was_dialled(opened: Page) -> None:
    readout = opened.locator(".widget-readout")
    readout.fill("17")
    readout.press("Enter")
    opened.reload()
    opened.locator(".widget-slider").wait_for(timeout=PATIENCE)
    time.sleep(LONG_ENOUGH_TO_HAVE_RUN)
    assert opened.locator(".widget-readout").all_inner_texts() == ["17.00"]


def test_a_second_tab_shows_the_same_dials(
    bench: Bench, window: BrowserContext, opened: Page
) -> None:
    opened.locator(".widget-readout").fill("18")
    opened.locator(".widget-readout").press("Enter")
    second = _open_idle(window, bench.address)
    time.sleep(LONG_ENOUGH_TO_HAVE_RUN)
    assert second.locator(".widget-readout").all_inner_texts() == ["18.00"]
    second.close()


def test_a_notebook_that_does_not_ask_is_not_run(bench: Bench, window: BrowserContext) -> None:
    page = _open_idle(window, bench.page_of("plain.ipynb"))
    time.sleep(LONG_ENOUGH_TO_HAVE_RUN)
    assert not bench.has_run("plain.ipynb")
    assert page.locator(".jp-Dialog, .jp-toast-message").count() == 0
    page.close()


def test_a_strangers_notebook_runs_only_when_told_to(bench: Bench, window: BrowserContext) -> None:
    page = _open_idle(window, bench.page_of("stranger.ipynb"))
    agree = page.get_by_role("button", name="Run it")
    agree.wait_for(timeout=PATIENCE)
    time.sleep(LONG_ENOUGH_TO_HAVE_RUN)
    assert not bench.has_run("stranger.ipynb")
    agree.click()
    page.locator(".widget-slider:visible").wait_for(timeout=PATIENCE)
    assert bench.has_run("stranger.ipynb")
    page.close()


@pytest.mark.skipif(os.name != "posix", reason="Ctrl-C is sent to a process group")
def test_one_ctrl_c_ends_it_without_a_word_of_python(tmp_path: Path) -> None:
    (tmp_path / "wren.toml").touch()
    process = _start(tmp_path / "wren.toml", _jupyter_of_its_own(tmp_path / "jupyter"))
    try:
        port = int(re.findall(r":(\d+)/", address_of(process))[0])
        os.killpg(process.pid, signal.SIGINT)
        said, _ = process.communicate(timeout=30)
    finally:
        process.kill()
    assert process.returncode == 0
    assert "Traceback" not in said
    assert "[y" not in said
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("localhost", port), timeout=1).close()


@pytest.mark.parametrize(
    ("settings", "where_the_view_is"),
    [
        ({}, r"http://127\.0\.0\.1:\d+/index\.html"),
        # Through jupyter-server-proxy, as where the browser is on another machine.
        ({"PYVISTA_TRAME_SERVER_PROXY_PREFIX": "/proxy/"}, r"/proxy/\d+/index\.html"),
    ],
    ids=["straight", "proxied"],
)
def test_carve_lab_shows_the_neck_and_its_dials_without_a_click(
    tmp_path: Path,
    example: Path,
    browser: Browser,
    settings: dict[str, str],
    where_the_view_is: str,
) -> None:
    """The whole way, from the command line to the picture, with nothing in place of anything."""
    design = tmp_path / "my neck" / "wren.toml"
    design.parent.mkdir()
    shutil.copy(example, design)
    process = subprocess.Popen(
        [sys.executable, "-m", "carve.cli", "lab", str(design), "--no-browser"],
        env={**_jupyter_of_its_own(tmp_path / "jupyter"), **settings},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    try:
        address = address_of(process)
        with browser.new_context(viewport={"width": WIDTH, "height": 1500}) as context:
            page = context.new_page()
            page.goto(address, timeout=PATIENCE)
            expect(page.locator(".carve-findings")).to_contain_text(
                "wood under the truss-rod channel", timeout=PATIENCE
            )
            expect(page.locator(".carve-neck-stations-2-thickness")).to_be_visible()
            view = page.locator("iframe.carve-view")
            expect(view).to_be_visible(timeout=PATIENCE)
            assert re.match(where_the_view_is, view.get_attribute("src") or "")
            expect(view.content_frame.locator("img")).to_be_visible(timeout=PATIENCE)
            page.screenshot(path=tmp_path / "carve-lab.png")
    finally:
        process.terminate()
        process.wait(timeout=30)
    assert process.returncode == 0
