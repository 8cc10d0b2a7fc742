"""The server of `carve lab`: JupyterLab for this user alone, and for as long as `carve lab` lives.

Run by `carve/lab/launch.py` in a process of its own, `python -m carve.lab.serve`. What JupyterLab's
own command does not do is done here:

- The token is made in this process, so that it stands in no command line and no environment.
- The address is said once the port is ours. Were it said as soon as anybody listens there,
  another program that was quicker would be given the token.
- Standard input is a pipe. `carve lab` holds the other end and writes nothing. The operating
  system closes that end however `carve lab` goes, by `kill -9` too, and then all of this ends.
"""

from __future__ import annotations

import os
import platform
import secrets
import shutil
import sys
import tempfile
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from threading import Thread
from typing import Any
from urllib.parse import unquote

GRACE = 5.0
"""Seconds for the server to end its kernels and itself; longer than it waits for a kernel."""

OPENING_SECONDS = 60.0
"""Time for a browser to start and to read the file that leads on to the notebook."""

SCRATCH_PREFIX = "carve-lab-"
TOKEN_BYTES = 24


def main(scratch: Path, options: Sequence[str]) -> None:
    """Serve until the user ends JupyterLab or standard input is closed.

    scratch: a folder that is removed in the end.
    options: JupyterLab's.
    """
    leftovers = [scratch]
    Thread(target=_end_with_standard_input, args=(leftovers,), daemon=True).start()
    from jupyterlab.labapp import LabApp

    token = secrets.token_urlsafe(TOKEN_BYTES)
    try:
        server = LabApp.initialize_server(argv=[*options, f"--IdentityProvider.token={token}"])
        # The first thing that the loop does is to take the port; where it is gone, all ends there.
        server.io_loop.add_callback(_say_where, server, token)
        server.no_browser_open_file = not server.open_browser
        if server.open_browser:
            leftovers += _open_by_file(server)
        server.start()
    finally:
        _remove(leftovers)


def _say_where(server: Any, token: str) -> None:
    page = server.default_url
    print(
        f"{Path(unquote(page)).name} is open at http://localhost:{server.port}{page}?token={token}"
        "\nCtrl-C here closes it.",
        flush=True,
    )


def _open_by_file(server: Any) -> list[Path]:
    """Let the browser open a file that leads on to the notebook, instead of the address itself.

    Every user of the machine can read the command line of a browser, and the address has the
    token. Jupyter has such a file, but in a hidden folder, which browsers in a sandbox cannot
    read. So it lies in the user's home, in a folder that only they can read, for a minute.

    Returns what to remove in the end.
    """
    if "microsoft" in platform.release().lower():
        # Linux inside Windows: the browser is that of Windows and knows no Linux path.
        server.use_redirect_file = False
        return []
    try:
        folder = Path(tempfile.mkdtemp(prefix=SCRATCH_PREFIX, dir=Path.home()))
    except (OSError, RuntimeError):  # no home, or one that takes no files: Jupyter's own place
        return []
    server.browser_open_file = str(folder / "opening.html")
    server.io_loop.call_later(OPENING_SECONDS, _remove, [folder])
    return [folder]


def _end_with_standard_input(leftovers: Sequence[Path]) -> None:
    """Wait until `carve lab` is gone or closes the pipe, then end the server and its kernels."""
    # Past Python's buffer: its lock would be held by this thread when the interpreter ends.
    with suppress(OSError):
        while os.read(sys.stdin.fileno(), 1):
            pass
    from jupyter_server.serverapp import ServerApp

    kernels: list[Any] = []
    server = ServerApp.instance() if ServerApp.initialized() else None
    if server is not None and hasattr(server, "io_loop"):
        # Now, since a manager forgets a kernel that it is about to end.
        kernels = _kernel_processes(server)
        server.io_loop.add_callback(server.stop)
        time.sleep(GRACE)  # in which the process as a rule ends, and this thread with it
    for process in kernels:
        with suppress(OSError):
            process.kill()
    _remove(leftovers)
    os._exit(1)


def _kernel_processes(server: Any) -> list[Any]:
    """The processes of a server's kernels, as `subprocess.Popen` has them."""
    manager = getattr(server, "kernel_manager", None)
    if manager is None:
        return []
    found = []
    for kernel in manager.list_kernel_ids():
        # One that is only being started has no process yet; it ends when it has no server.
        with suppress(AttributeError, KeyError):
            found.append(manager.get_kernel(kernel).provisioner.process)
    return [process for process in found if process is not None]


def _remove(folders: Sequence[Path]) -> None:
    for folder in folders:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
