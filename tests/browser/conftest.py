"""JupyterLab in headless Chromium, for the tests that have to see what a builder sees.

Without a Chromium these tests are skipped, with the reason. On a machine that has promised one
(`CI=true` or `CARVE_REQUIRE_BROWSER=1`) they fail instead, so that nobody takes a skip for a pass.
"""

from __future__ import annotations

import io
import json
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image
from playwright.sync_api import Browser, Locator, Page, expect, sync_playwright

CHROMIUM_FLAGS = (
    "--headless",
    "--no-sandbox",
    # WebGL without a graphics card.
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    # Nothing here needs the network beyond this machine.
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

PATIENCE = 60_000.0
"""Milliseconds for JupyterLab, its page or a kernel to start: a cold start on a busy machine."""

JPEG_NOISE = 16
"""Steps of 256 by which a pixel may change in a picture that has not changed."""


# --- Chromium and JupyterLab ----------------------------------------------------------------------


def find_chromium() -> str | None:
    """Path of a Chromium: what CARVE_CHROMIUM says, or the first one on the PATH."""
    named = os.environ.get("CARVE_CHROMIUM")
    if named:
        return named if Path(named).is_file() else None
    names = ("chromium", "chromium-browser", "google-chrome")
    return next((path for name in names if (path := shutil.which(name))), None)


def browser_is_required() -> bool:
    """Whether this machine has promised a browser."""
    return (
        os.environ.get("CI", "").lower() == "true" or os.environ.get("CARVE_REQUIRE_BROWSER") == "1"
    )


@pytest.fixture(scope="session")
def chromium() -> str:
    path = find_chromium()
    if path is None:
        reason = (
            "no Chromium: set CARVE_CHROMIUM to one, or put chromium, chromium-browser or "
            "google-chrome on the PATH"
        )
        if browser_is_required():
            pytest.fail(reason)
        pytest.skip(reason)
    return path


@dataclass(frozen=True)
class Lab:
    """A running JupyterLab: where it listens and where its notebooks are."""

    url: str
    root: Path

    def write(self, file: str, cells: Sequence[str]) -> str:
        """Puts a notebook of code cells in the root folder; returns its name."""
        kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
        code = [nbformat.v4.new_code_cell(cell) for cell in cells]  # type: ignore[no-untyped-call]
        notebook = nbformat.v4.new_notebook(  # type: ignore[no-untyped-call]
            cells=code, metadata={"kernelspec": kernel}
        )
        nbformat.write(notebook, self.root / file)  # type: ignore[no-untyped-call]
        return file

    def ask(self, method: str, path: str) -> Any:
        """What the server's interface answers, read from JSON; None for an empty answer."""
        request = urllib.request.Request(f"{self.url}/api/{path}", method=method)
        with urllib.request.urlopen(request, timeout=30) as answer:
            text = answer.read()
        return json.loads(text) if text else None


@pytest.fixture(scope="session")
def lab(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    """JupyterLab of this interpreter, with nothing of this machine's own settings in it."""
    home = tmp_path_factory.mktemp("jupyter")
    root = tmp_path_factory.mktemp("notebooks")
    port = _free_port()
    log = home / "server.log"
    with log.open("wb") as out:
        server = subprocess.Popen(
            [*_lab_command(), f"--ServerApp.port={port}", f"--ServerApp.root_dir={root}"],
            env=_isolated(home),
            stdout=out,
            stderr=subprocess.STDOUT,
        )
        try:
            url = f"http://127.0.0.1:{port}"
            _wait_until_answering(f"{url}/api/status", server, log)
            yield Lab(url, root)
        finally:
            server.terminate()
            try:
                server.wait(timeout=15)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait()


def _lab_command() -> list[str]:
    return [
        *(sys.executable, "-m", "jupyter", "lab", "--no-browser", "--allow-root"),
        "--ServerApp.ip=127.0.0.1",
        "--ServerApp.port_retries=0",
        "--IdentityProvider.token=",
        "--ServerApp.password=",
        "--ServerApp.disable_check_xsrf=True",
        "--LabApp.extension_manager=readonly",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    ]


def _isolated(home: Path) -> dict[str, str]:
    """Environment in which Jupyter keeps everything under `home`, and kernels find this carve."""
    places = {
        "JUPYTER_CONFIG_DIR": "config",
        "JUPYTER_DATA_DIR": "data",
        "JUPYTER_RUNTIME_DIR": "runtime",
        "JUPYTERLAB_SETTINGS_DIR": "settings",
        "JUPYTERLAB_WORKSPACES_DIR": "workspaces",
        "IPYTHONDIR": "ipython",
        "MPLCONFIGDIR": "matplotlib",
    }
    for folder in places.values():
        (home / folder).mkdir()
    kernel = home / "data" / "kernels" / "python3"
    kernel.mkdir(parents=True)
    launch = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
    spec = {"argv": launch, "display_name": "Python 3", "language": "python"}
    (kernel / "kernel.json").write_text(json.dumps(spec), encoding="utf-8")

    # JupyterLab asks every new user about its news, in a box on top of the notebook.
    quiet = home / "settings" / "@jupyterlab" / "apputils-extension"
    quiet.mkdir(parents=True)
    (quiet / "notification.jupyterlab-settings").write_text(
        json.dumps({"fetchNews": "false", "checkForUpdates": False, "doNotDisturbMode": True}),
        encoding="utf-8",
    )

    project = str(Path(__file__).resolve().parents[2])
    paths = [project, *filter(None, [os.environ.get("PYTHONPATH")])]
    return {
        **os.environ,
        **{name: str(home / folder) for name, folder in places.items()},
        "JUPYTER_NO_CONFIG": "0",
        "JUPYTER_PREFER_ENV_PATH": "0",
        "PYTHONPATH": os.pathsep.join(paths),
    }


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def _wait_until_answering(url: str, server: subprocess.Popen[bytes], log: Path) -> None:
    end = time.monotonic() + PATIENCE / 1000
    while time.monotonic() < end and server.poll() is None:
        try:
            with urllib.request.urlopen(url, timeout=5):
                return
        except OSError:
            time.sleep(0.1)
    pytest.fail(f"JupyterLab did not start:\n{log.read_text(errors='replace')[-4000:]}")


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Browser]:
    """Chromium, for one file of tests.

    Not for the whole run: while Playwright is in use an event loop counts as running on the main
    thread, and every test that wants one of its own would fail.
    """
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, args=list(CHROMIUM_FLAGS))
        yield running
        running.close()


@pytest.fixture
def page(browser: Browser, lab: Lab) -> Iterator[Page]:
    """An empty page; the kernels that it started are shut down afterwards."""
    with browser.new_context(viewport={"width": 1280, "height": 1000}) as context:
        yield context.new_page()
    for session in lab.ask("GET", "sessions"):
        lab.ask("DELETE", f"sessions/{session['id']}")


@pytest.fixture
def open_notebook(page: Page, lab: Lab) -> Callable[..., Notebook]:
    """Writes code cells to a notebook and opens it: `open_notebook("tube", [cell, cell])`.

    The first notebook takes the test's page, each further one a page of its own.
    """
    pages = [page]

    def opened(name: str, cells: Sequence[str]) -> Notebook:
        tab = pages.pop() if pages else page.context.new_page()
        file = lab.write(f"{name}.ipynb", cells)
        tab.goto(f"{lab.url}/doc/tree/{file}?reset", timeout=PATIENCE)
        notebook = Notebook(tab, lab, file)
        notebook.wait_until_idle()
        return notebook

    return opened


# --- what a test does in a notebook ---------------------------------------------------------------


@dataclass(frozen=True)
class Notebook:
    """A notebook on a page, with a kernel."""

    page: Page
    lab: Lab
    file: str

    def run_all(self) -> None:
        """Runs every cell and waits until the kernel has nothing left to do."""
        self.start_all()
        prompts = self.page.locator(".jp-CodeCell .jp-InputPrompt")
        expect(prompts.first).to_be_attached()
        for prompt in prompts.all():
            expect(prompt).to_have_text(re.compile(r"\[\d+\]:"), timeout=PATIENCE)
        self.wait_until_idle()

    def start_all(self) -> None:
        """Sets every cell running, and does not wait."""
        self.page.get_by_role("menuitem", name="Run", exact=True).click()
        self.page.get_by_role("menuitem", name="Run All Cells", exact=True).click()

    def wait_until_idle(self) -> None:
        """Waits until the kernel is up and idle.

        By the status bar's word: the circle above the notebook is idle before there is a kernel.
        """
        status = self.page.locator("#jp-main-statusbar").get_by_text(re.compile(r"\| Idle$"))
        expect(status).to_be_visible(timeout=PATIENCE)

    def interrupt(self) -> None:
        """Presses the stop button."""
        kernels = [
            session["kernel"]["id"]
            for session in self.lab.ask("GET", "sessions")
            if session["path"] == self.file
        ]
        for kernel in kernels:
            self.lab.ask("POST", f"kernels/{kernel}/interrupt")

    def output(self) -> str:
        """All that the cells have printed, as one text."""
        return "\n".join(self.page.locator(".jp-OutputArea-output").all_inner_texts())

    def complaints(self) -> list[str]:
        """What the cells have printed to stderr, or raised."""
        kinds = ("stderr", "error")
        return self.page.locator(
            ",".join(f'[data-mime-type="application/vnd.jupyter.{kind}"]' for kind in kinds)
        ).all_inner_texts()


# --- what a test sees -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Picture:
    """Pixels, and what can be said of them.

    pixels: (height, width, 3) red, green, blue.
    """

    pixels: npt.NDArray[np.uint8]

    def differs(self, other: Picture, share: float = 0.002) -> bool:
        """Whether more than a share of the pixels has changed by more than a JPEG's noise."""
        if self.pixels.shape != other.pixels.shape:
            return True
        change = np.abs(self.pixels.astype(np.int16) - other.pixels.astype(np.int16))
        return bool(np.mean(change.max(axis=2) > JPEG_NOISE) > share)

    def is_blank(self, share: float = 0.01) -> bool:
        """Whether all but a share of the pixels have one and the same colour."""
        common = np.median(self.pixels.reshape(-1, 3), axis=0)
        return bool(np.mean(np.abs(self.pixels - common).max(axis=2) > JPEG_NOISE) < share)

    def is_black(self, share: float = 0.5) -> bool:
        """Whether more than a share of the pixels is black: a window VTK could not draw in."""
        return bool(np.mean(self.pixels.max(axis=2) < 8) > share)

    def save(self, path: Path) -> None:
        """Writes the picture to a file, for somebody to look at."""
        Image.fromarray(self.pixels).save(path)


@pytest.fixture
def look_at() -> Callable[[Locator], Picture]:
    """Takes the picture of an element as it is on the screen now."""

    def taken(element: Locator) -> Picture:
        with Image.open(io.BytesIO(element.screenshot())) as image:
            return Picture(np.asarray(image.convert("RGB")))

    return taken


@pytest.fixture
def until() -> Callable[..., float]:
    """Waits for a condition and returns the seconds it took; fails where it never comes."""

    def waited(condition: Callable[[], bool], what: str, seconds: float = 20.0) -> float:
        start = time.monotonic()
        while not condition():
            if time.monotonic() - start > seconds:
                pytest.fail(f"waited {seconds:g} s in vain until {what}")
            time.sleep(0.02)
        return time.monotonic() - start

    return waited
