"""Opens JupyterLab on a design with the dials already live.

`carve lab wren.toml` is for a builder who has never seen a notebook. So the notebook is written
for them, runs itself when it opens (see `labextension/carve-lab`), and no question of JupyterLab's
own lies on top of it. Nothing of this stays behind in the user's Jupyter settings: all of it is
told to the one server that is started here.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from pathlib import Path
from threading import Event
from types import FrameType
from typing import Any
from urllib.parse import quote

from carve.errors import CarveError, FileTrouble, because
from carve.lab.serve import SCRATCH_PREFIX

NOTEBOOK_SUFFIX = ".lab.ipynb"
EXTENSIONS = Path(__file__).with_name("labextension")
NEEDED_PACKAGES = ("jupyterlab", "ipywidgets")

# SIGHUP is a closed terminal; Windows has none.
STOP_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP")

HIGHEST_PORT = 65535

# What of the user's own Jupyter settings would let others in. A setting made for a server that
# many are to reach is none that was made for this one.
FOR_THIS_USER_ALONE = (
    "--ServerApp.ip=localhost",
    "--ServerApp.sock=",
    "--ServerApp.allow_remote_access=False",
    "--ServerApp.allow_origin=",
    "--ServerApp.allow_origin_pat=",
    "--ServerApp.allow_credentials=False",
    "--ServerApp.disable_check_xsrf=False",
)

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


def command(notebook: Path, *, browser: bool, port: int, scratch: Path) -> list[str]:
    """The command line that serves a notebook's folder and opens the notebook.

    scratch: an empty folder that the server may fill, and removes. In it are the workspaces,
        because the user's own would bring back tabs that were open in other folders, and an error
        dialog for each that is not in this one.
    """
    options = [
        *FOR_THIS_USER_ALONE,
        f"--ServerApp.root_dir={notebook.parent.resolve()}",
        f"--LabApp.default_url={_page(notebook)}",
        f"--LabServerApp.extra_labextensions_path={EXTENSIONS}",
        f"--LabApp.workspaces_dir={scratch}",
        f"--ServerApp.open_browser={browser}",
        # The browser is given a file that leads on to the notebook: see `serve.py`.
        "--ServerApp.use_redirect_file=True",
        # The address that is printed has neither.
        "--ServerApp.base_url=/",
        "--ServerApp.certfile=",
        f"--ServerApp.port={port}",
        "--ServerApp.port_retries=0",
        # Without it the kernel prints a warning of eavesdroppers, which is no way to be greeted.
        "--KernelManager.transport_encryption=auto",
        # s; an idle kernel ends at once, and one that is deep in a calculation has nothing to save.
        "--KernelManager.shutdown_wait_time=3",
        # It would look for servers of programming languages, by npm, which can outlive the server.
        "--LanguageServerManager.autodetect=False",
        # Ctrl-C is the answer, not the beginning of a conversation.
        "--ServerApp.answer_yes=True",
        # The log is for people who run servers.
        "--Application.log_level=ERROR",
    ]
    return [sys.executable, "-m", "carve.lab.serve", str(scratch), *options]


def launch(design_file: Path, *, browser: bool = True, port: int | None = None) -> int:
    """Open a design in JupyterLab and stay until it ends or Ctrl-C; the exit code.

    Raises CarveError where the design is missing, JupyterLab is not installed or refuses this user,
    the notebook cannot be written, the port is taken, or the server ends otherwise than it should.
    """
    _require_jupyterlab()
    _require_ordinary_user()
    if not design_file.is_file():
        raise CarveError(f"There is no design file {design_file.name} in {design_file.parent}.")
    notebook = notebook_for(design_file)
    chosen = _free_port(port)
    with tempfile.TemporaryDirectory(prefix=SCRATCH_PREFIX) as scratch:
        return _serve(
            command(notebook, browser=browser, port=chosen, scratch=Path(scratch)),
            environment=_environment(os.environ),
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


def _environment(inherited: Mapping[str, str]) -> dict[str, str]:
    """The environment of the server and its kernels."""
    return {
        **inherited,
        # "python3" is to mean the Python that has carve, whatever else is registered by that name.
        "JUPYTER_PREFER_ENV_PATH": "1",
        # A design can come from a stranger, and a file carve.py beside it. Without this Python
        # would take that for carve, as it looks in the folder where it is started.
        "PYTHONSAFEPATH": "1",
    }


def _require_jupyterlab() -> None:
    missing = [name for name in NEEDED_PACKAGES if find_spec(name) is None]
    if missing:
        raise CarveError(
            f"`carve lab` needs {' and '.join(missing)}, which this Python does not have; "
            f"install with: {sys.executable} -m pip install {' '.join(missing)}"
        )


def _require_ordinary_user() -> None:
    """Say what to do about root before JupyterLab does, in words for people who run servers."""
    if os.name != "posix" or os.geteuid() != 0 or _root_is_allowed():
        return
    from jupyter_core.paths import jupyter_config_dir

    config = Path(jupyter_config_dir(), "jupyter_server_config.json")
    raise CarveError(
        "`carve lab` was started as root, whom JupyterLab does not serve; start it as an ordinary "
        "user or, in a container where root is meant, "
        f'put {{"ServerApp": {{"allow_root": true}}}} into {config}.'
    )


def _root_is_allowed() -> bool:
    """Whether the user's own Jupyter settings allow root."""
    from jupyter_server.serverapp import ServerApp

    allowed = False
    # JupyterLab reads these two, and lets the second win over the first.
    for file in ("jupyter_lab_config", "jupyter_server_config"):
        application = ServerApp(config_file_name=file)
        application.load_config_file()
        allowed = bool(application.config.ServerApp.get("allow_root", allowed))
    return allowed


def _free_port(wanted: int | None) -> int:
    """The wanted port if nobody listens on it, or any free one if none is wanted."""
    from tornado.netutil import bind_sockets

    if wanted is not None and not 0 <= wanted <= HIGHEST_PORT:
        raise CarveError(
            f"Port {wanted} cannot be used: a port is a number from 1 to {HIGHEST_PORT}; "
            "leave --port out to take a free one."
        )
    try:
        # As JupyterLab does it: on each address that is called localhost.
        probes = bind_sockets(wanted or 0, "localhost")
    except OSError as error:
        raise CarveError(
            f"Port {wanted} cannot be used ({error}); leave --port out to take a free one."
        ) from error
    port = int(probes[0].getsockname()[1])
    for probe in probes:
        probe.close()
    return port


def _serve(arguments: list[str], *, environment: Mapping[str, str]) -> int:
    """Run the server until it ends or we are asked to stop; the exit code, always 0.

    Raises CarveError where it ends by itself and not well.
    """
    # In a session of its own the server does not see the Ctrl-C of this terminal. It lives as long
    # as we hold this end of the pipe, and so does not outlive us however we end.
    server = subprocess.Popen(
        arguments, env=environment, stdin=subprocess.PIPE, start_new_session=True
    )
    with _stopping_on_request(server) as asked:
        code = server.wait()
    if code != 0 and not asked.is_set():
        raise CarveError(_why(code))
    return 0


def _why(code: int) -> str:
    """A sentence on a server that ended by itself."""
    if code < 0:
        return (
            f"JupyterLab was ended by {signal.Signals(-code).name}, and the lab with it; "
            "start `carve lab` again."
        )
    return f"JupyterLab ended with exit code {code}; what was wrong stands above, where it said so."


@contextmanager
def _stopping_on_request(server: subprocess.Popen[bytes]) -> Iterator[Event]:
    """Pass Ctrl-C, a closed terminal and a polite kill on to the server.

    Yields an event that is set once we were asked to stop.
    """
    asked = Event()

    def stop(_signal: int, _frame: FrameType | None) -> None:
        asked.set()
        if server.stdin is not None:
            server.stdin.close()

    names = [name for name in STOP_SIGNALS if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), stop) for name in names}
    try:
        yield asked
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)
