"""Opens JupyterLab on a design with the dials already live.

`carve lab wren.toml` is for a builder who has never seen a notebook. So the notebook is written
for them, runs itself when it opens (see `labextension/carve-lab`), and no question of JupyterLab's
own lies on top of it. Nothing of this stays behind in the user's Jupyter settings: all of it is
told to the one server that is started here.
"""

from __future__ import annotations

import json
import os
import secrets
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from pathlib import Path
from threading import Event
from types import FrameType
from typing import Any
from urllib.parse import quote

from carve.errors import CarveError, FileTrouble, because

NOTEBOOK_SUFFIX = ".lab.ipynb"
EXTENSIONS = Path(__file__).with_name("labextension")
NEEDED_PACKAGES = ("jupyterlab", "ipywidgets")

# SIGHUP is a closed terminal; Windows has none.
STOP_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")

# s; a laptop with a cold disk needs about ten to import JupyterLab.
START_LIMIT = 60.0
# s between two looks at a starting server; short beside the start, long beside a look.
LOOK_INTERVAL = 0.1

INTRODUCTION = (
    "Drag a dial and the picture follows. Double-click this text to keep notes of your own here."
)


def notebook_for(design_file: Path) -> Path:
    """The notebook beside a design, written first if there is none.

    `wren.toml` has `wren.lab.ipynb`. One that exists is left as it is: the builder's notes may be
    in it. Raises FileTrouble where the notebook cannot be written.
    """
    notebook = design_file.with_name(design_file.stem + NOTEBOOK_SUFFIX)
    if notebook.exists():
        return notebook
    text = json.dumps(_template(design_file.name), indent=1, ensure_ascii=False) + "\n"
    try:
        _write_whole(notebook, text)
    except OSError as error:
        raise FileTrouble(
            f"{notebook.name} cannot be written in the folder {notebook.parent} "
            f"({because(error)}); copy the design to a folder of your own and open it there."
        ) from error
    _trust(text)
    return notebook


def command(notebook: Path, *, browser: bool, port: int | None) -> list[str]:
    """The command line that serves a notebook's folder and opens the notebook.

    Without a port JupyterLab takes the first free one it finds.
    """
    options = [
        f"--ServerApp.root_dir={notebook.parent.resolve()}",
        f"--LabApp.default_url={_page(notebook)}",
        f"--LabServerApp.extra_labextensions_path={EXTENSIONS}",
        f"--ServerApp.open_browser={browser}",
        # The redirect file lies in a hidden folder, which browsers in a sandbox cannot read.
        "--ServerApp.use_redirect_file=False",
        # Without it the kernel prints a warning of eavesdroppers, which is no way to be greeted.
        "--KernelManager.transport_encryption=auto",
        # Ctrl-C is the answer, not the beginning of a conversation.
        "--ServerApp.answer_yes=True",
        # The log is for people who run servers.
        "--Application.log_level=ERROR",
    ]
    if port is not None:
        options += [f"--ServerApp.port={port}", "--ServerApp.port_retries=0"]
    return [sys.executable, "-m", "jupyterlab", *options]


def launch(design_file: Path, *, browser: bool = True, port: int | None = None) -> int:
    """Open a design in JupyterLab and stay until it ends or Ctrl-C; the exit code.

    Raises CarveError where the design is missing, JupyterLab is not installed, the notebook cannot
    be written, or the port is taken.
    """
    _require_jupyterlab()
    if not design_file.is_file():
        raise CarveError(f"There is no design file {design_file.name} in {design_file.parent}.")
    notebook = notebook_for(design_file)
    chosen = _free_port(port)
    token = secrets.token_urlsafe(24)
    address = f"http://localhost:{chosen}{_page(notebook)}?token={token}"
    with tempfile.TemporaryDirectory(prefix="carve-lab-") as scratch:
        return _serve(
            command(notebook, browser=browser, port=chosen),
            environment=_environment(os.environ, token=token, workspaces=Path(scratch)),
            port=chosen,
            welcome=f"{notebook.name} is open at {address}\nCtrl-C here closes it.",
        )


def _template(design_name: str) -> dict[str, Any]:
    """A notebook for a design file in the same folder, in nbformat 4.5."""
    code = f"from carve.lab import Lab\n\nLab({json.dumps(design_name, ensure_ascii=False)})"
    return {
        "cells": [
            {"cell_type": "markdown", "id": "notes", "metadata": {}, "source": INTRODUCTION},
            {
                "cell_type": "code",
                "execution_count": None,
                "id": "dials",
                # The builder works with the dials, not with the line that makes them.
                "metadata": {"jupyter": {"source_hidden": True}},
                "outputs": [],
                "source": code,
            },
        ],
        "metadata": {
            "carve": {"run_on_open": True},
            # Without a kernel by name JupyterLab asks for one before anything else. This is the
            # name ipykernel gives itself; another would count as a change to be saved.
            "kernelspec": {
                "display_name": "Python 3 (ipykernel)",
                "language": "python",
                "name": "python3",
            },
            "language_info": {"name": "python"},
        },
        "nbformat": 4,
        "nbformat_minor": 5,
    }


def _write_whole(path: Path, text: str) -> None:
    """Write a file that is either there in full or not at all."""
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        part.write_text(text, encoding="utf-8")
        part.replace(path)
    except OSError:
        part.unlink(missing_ok=True)
        raise


def _trust(notebook_text: str) -> None:
    """Sign a notebook as this user's own, so that it may run itself when opened.

    A notebook without the signature still opens; it asks before it runs.
    """
    # Only here, so that where Jupyter is missing we are still there to say so.
    from nbformat import reads
    from nbformat.sign import NotebookNotary

    # A home that takes no files costs the signature, and that costs one question; not the start.
    with suppress(OSError):
        NotebookNotary().sign(reads(notebook_text, as_version=4))  # type: ignore[no-untyped-call]


def _page(notebook: Path) -> str:
    return f"/lab/tree/{quote(notebook.name)}"


def _environment(inherited: Mapping[str, str], *, token: str, workspaces: Path) -> dict[str, str]:
    """The environment of the server.

    token: here and not among the server's arguments, which everyone on the machine can read.
    workspaces: an empty folder, because the user's own workspace would bring back tabs that were
        open in other folders, and an error dialog for each that is not in this one.
    """
    return {
        **inherited,
        "JUPYTER_TOKEN": token,
        "JUPYTERLAB_WORKSPACES_DIR": str(workspaces),
        # "python3" is to mean the Python that has carve, whatever else is registered by that name.
        "JUPYTER_PREFER_ENV_PATH": "1",
    }


def _require_jupyterlab() -> None:
    missing = [name for name in NEEDED_PACKAGES if find_spec(name) is None]
    if missing:
        raise CarveError(
            f"`carve lab` needs {' and '.join(missing)}, which this Python does not have; "
            f"install with: {sys.executable} -m pip install {' '.join(missing)}"
        )


def _free_port(wanted: int | None) -> int:
    """The wanted port if nobody listens on it, or any free one if none is wanted."""
    try:
        with socket.create_server(("localhost", wanted or 0)) as probe:
            return int(probe.getsockname()[1])
    except (OSError, OverflowError) as error:
        raise CarveError(
            f"Port {wanted} cannot be used ({error}); leave --port out to take a free one."
        ) from error


def _serve(arguments: list[str], *, environment: Mapping[str, str], port: int, welcome: str) -> int:
    """Run the server until it ends or we are asked to stop; the exit code, 0 if asked."""
    # In a session of its own the server does not see the Ctrl-C of this terminal. It hears of it
    # from us, once, as a plain request to stop that it does not answer with a question.
    server = subprocess.Popen(arguments, env=environment, start_new_session=True)
    with _stopping_on_request(server) as asked:
        if _wait_until_listening(server, port):
            print(welcome, flush=True)
        code = server.wait()
    return 0 if asked.is_set() else code


@contextmanager
def _stopping_on_request(server: subprocess.Popen[bytes]) -> Iterator[Event]:
    """Pass Ctrl-C, a closed terminal and a polite kill on to the server.

    Yields an event that is set once we were asked to stop.
    """
    asked = Event()

    def stop(_signal: int, _frame: FrameType | None) -> None:
        asked.set()
        # On Windows terminate() would kill the server and leave its kernels; there the server
        # shares our console and sees Ctrl-C itself.
        if os.name == "posix":
            server.terminate()

    names = [name for name in STOP_SIGNALS if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), stop) for name in names}
    try:
        yield asked
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)


def _wait_until_listening(server: subprocess.Popen[bytes], port: int) -> bool:
    """Whether the server accepts connections before it ends or the start takes too long."""
    deadline = time.monotonic() + START_LIMIT
    while server.poll() is None and time.monotonic() < deadline:
        try:
            with socket.create_connection(("localhost", port), timeout=LOOK_INTERVAL):
                return True
        except OSError:
            time.sleep(LOOK_INTERVAL)
    return False
