"""Whom the server of `carve lab` lets in, and when it ends: a real one, tried from outside.

Sources: token and settings as Jupyter Server's documentation has them (`ServerApp`,
`IdentityProvider`); what a command line shows to others: proc(5), from memory.
"""

from __future__ import annotations

import html
import json
import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psutil
import pytest
from started_lab import address_of

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name != "posix", reason="signals and processes as Unix has them"),
]

ROOT = Path(__file__).parents[2]
GONE = 10.0
"""Seconds in which all must have ended."""

ALLOW_ROOT = "c.ServerApp.allow_root = True\n"
"""The machines that run these tests often know only one user."""

OPEN_TO_ALL = """
c.{app}.ip = "0.0.0.0"
c.{app}.allow_origin = "*"
c.{app}.allow_credentials = True
c.{app}.allow_remote_access = True
c.{app}.disable_check_xsrf = True
"""


@dataclass(frozen=True)
class Running:
    """A `carve lab` under way.

    home: all that it writes stands in here, but for the notebook.
    """

    process: subprocess.Popen[str]
    home: Path
    address: str

    @property
    def server(self) -> str:
        return "/".join(self.address.split("/")[:3])

    @property
    def port(self) -> int:
        return int(self.server.rpartition(":")[2])

    @property
    def token(self) -> str:
        return self.address.rpartition("token=")[2]

    def ask(self, method: str, path: str, **headers: str) -> tuple[int, Any]:
        """Status and JSON of an answer."""
        body = b'{"name": "python3"}' if method == "POST" else None
        request = urllib.request.Request(self.server + path, body, headers, method=method)
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                return answer.status, json.loads(answer.read())
        except urllib.error.HTTPError as error:
            return error.code, None
        except OSError as error:
            pytest.fail(f"{path}: {error}; carve lab: {self.process.poll()}")

    @property
    def with_token(self) -> dict[str, str]:
        return {"Authorization": f"token {self.token}"}

    def start_kernel(self) -> None:
        status, _ = self.ask("POST", "/api/kernels", **self.with_token)
        assert status == 201

    def family(self) -> list[psutil.Process]:
        """Every process that it started, and those that they started."""
        return psutil.Process(self.process.pid).children(recursive=True)

    def left_behind(self) -> list[str]:
        """Folders of ours in the places for temporary ones and in the user's home."""
        return [path.name for path in self.home.rglob("carve-lab-*")]


@contextmanager
def carve_lab(
    home: Path, *options: str, settings: Mapping[str, str] | None = None, **environment: str
) -> Iterator[Running]:
    """A `carve lab` on an example, with a Jupyter of its own.

    settings: Jupyter's, by the name of the file.
    """
    for folder in ("config", "tmp", "bench"):
        (home / folder).mkdir(exist_ok=True)
    for file, text in {**(settings or {}), "jupyter_config": ALLOW_ROOT}.items():
        (home / "config" / f"{file}.py").write_text(text, encoding="utf-8")
    design = home / "bench" / "wren.toml"
    design.write_bytes((ROOT / "examples" / "wren.toml").read_bytes())
    process = subprocess.Popen(
        [sys.executable, "-P", "-m", "carve.cli", "lab", str(design), *options],
        env={
            **os.environ,
            # an empty entry would mean the folder that it runs in
            "PYTHONPATH": os.pathsep.join(
                filter(None, [str(ROOT), os.environ.get("PYTHONPATH", "")])
            ),
            "HOME": str(home),
            "TMPDIR": str(home / "tmp"),
            "JUPYTER_CONFIG_DIR": str(home / "config"),
            "JUPYTER_DATA_DIR": str(home / "data"),
            "JUPYTER_RUNTIME_DIR": str(home / "runtime"),
            "IPYTHONDIR": str(home / "ipython"),
            **environment,
        },
        cwd=design.parent,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    try:
        yield Running(process, home, address_of(process))
    finally:
        process.terminate()
        try:
            process.wait(timeout=2 * GONE)
        except subprocess.TimeoutExpired:
            process.kill()
        process.communicate()


def _wait_until_ended(processes: list[psutil.Process]) -> float:
    """Fails where one does not end by itself, and ends it; else the seconds that all took."""
    begun = time.monotonic()
    alive = processes
    while alive and time.monotonic() - begun < GONE:
        time.sleep(0.05)
        alive = [process for process in alive if _runs(process)]
    took = time.monotonic() - begun
    for process in alive:
        with suppress(psutil.NoSuchProcess):
            process.kill()
    assert not alive, f"after {GONE:g} s there still is: {alive}"
    return took


def _runs(process: psutil.Process) -> bool:
    # In a container nobody may clear away what is left of an orphan.
    try:
        return bool(process.is_running() and process.status() != psutil.STATUS_ZOMBIE)
    except psutil.NoSuchProcess:
        return False


# --- when it ends ---------------------------------------------------------------------------------


def test_kill_9_of_carve_lab_ends_server_and_kernels(
    tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    with carve_lab(tmp_path, "--no-browser") as lab:
        lab.start_kernel()
        lab.start_kernel()
        family = lab.family()
        _, *kernels = family
        assert [each for each in kernels if "ipykernel_launcher" in " ".join(each.cmdline())]
        kernels[0].suspend()  # one that cannot even hear that it is to end
        lab.process.kill()
        took = _wait_until_ended(family)
        print(f"all gone after {took:.1f} s")
        record_property("seconds_until_gone", took)
        assert lab.left_behind() == []
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.1", lab.port), timeout=1).close()


HANG = """
import time
from pathlib import Path
from tornado.ioloop import IOLoop, PeriodicCallback

def hang():
    if Path({sign!r}).exists():
        Path({sign!r}).unlink()
        time.sleep(600)

IOLoop.current().add_callback(lambda: PeriodicCallback(hang, 100).start())
"""


def test_a_server_that_hangs_ends_all_the_same(tmp_path: Path) -> None:
    sign = tmp_path / "hang"
    settings = {"jupyter_server_config": HANG.format(sign=str(sign))}
    with carve_lab(tmp_path, "--no-browser", settings=settings) as lab:
        lab.start_kernel()
        family = lab.family()
        sign.touch()
        while sign.exists():
            time.sleep(0.05)
        lab.process.kill()
        _wait_until_ended(family)
        assert lab.left_behind() == []


def test_kill_9_of_the_server_ends_kernel_and_carve_lab_with_a_sentence(tmp_path: Path) -> None:
    with carve_lab(tmp_path, "--no-browser") as lab:
        lab.start_kernel()
        server, *others = lab.family()
        server.kill()
        _wait_until_ended([server, *others])
        said, _ = lab.process.communicate(timeout=GONE)
        assert lab.process.returncode == 2
        assert "JupyterLab was ended by SIGKILL, and the lab with it" in said
        assert "Traceback" not in said
        assert lab.left_behind() == []


def test_the_browsers_command_line_has_no_token_and_yet_leads_to_the_notebook(
    tmp_path: Path,
) -> None:
    seen = tmp_path / "seen"
    browser = tmp_path / "browser"
    browser.write_text(f'#!/bin/sh\necho "$@" > "{seen}.part"; mv "{seen}.part" "{seen}"\n')
    browser.chmod(0o700)
    with carve_lab(tmp_path, BROWSER=f"{browser} %s") as lab:
        end = time.monotonic() + GONE
        while not seen.exists() and time.monotonic() < end:
            time.sleep(0.05)
        opened = seen.read_text(encoding="utf-8").strip()
        assert lab.token not in opened
        assert opened.startswith("file://")
        page = Path(opened.removeprefix("file://"))
        assert lab.address in html.unescape(page.read_text(encoding="utf-8"))
        # Readable for a browser in a sandbox, which sees no hidden folder, and for no other user.
        assert not [part for part in page.relative_to(tmp_path).parts if part.startswith(".")]
        assert page.parent.stat().st_mode & 0o077 == 0
        family = lab.family()
        lab.process.terminate()
        assert lab.process.wait(timeout=GONE) == 0
        _wait_until_ended(family)
        assert lab.left_behind() == []


# --- whom it lets in ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def opposed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A lab whose user has opened Jupyter to all, on a design that came with a stranger's code."""
    home = tmp_path_factory.mktemp("home")
    (home / "bench").mkdir()
    trap = f"import pathlib; pathlib.Path({str(home / 'sprung')!r}).touch()\n"
    for module in ("carve", "jupyterlab", "ipykernel", "ipywidgets", "json"):
        (home / "bench" / f"{module}.py").write_text(trap, encoding="utf-8")
    settings = {
        "jupyter_server_config": OPEN_TO_ALL.format(app="ServerApp")
        + "c.ServerApp.token = ''\nc.ServerApp.base_url = '/shop/'\nc.ServerApp.port = 1\n"
        + "c.ServerApp.certfile = '/nowhere.pem'\nc.ServerApp.sock = '/nowhere/socket'\n",
        "jupyter_lab_config": OPEN_TO_ALL.format(app="ServerApp")
        + "c.IdentityProvider.token = ''\n",
        "jupyter_notebook_config": OPEN_TO_ALL.format(app="NotebookApp")
        + "c.NotebookApp.token = ''\n",
    }
    with carve_lab(home, "--no-browser", settings=settings) as lab:
        yield lab


def test_it_listens_on_this_machine_alone_whatever_the_settings(opposed: Running) -> None:
    listening = {
        each.laddr.ip
        for process in opposed.family()
        for each in process.net_connections()
        if each.status == psutil.CONN_LISTEN and each.laddr.port == opposed.port
    }
    assert listening
    assert listening <= {"127.0.0.1", "::1"}


def test_the_address_that_it_prints_is_right_whatever_the_settings(opposed: Running) -> None:
    with urllib.request.urlopen(opposed.address, timeout=30) as answer:
        assert answer.status == 200


def test_without_the_token_nobody_reads_a_file_or_starts_a_kernel(opposed: Running) -> None:
    assert opposed.ask("GET", "/api/contents")[0] == 403
    assert opposed.ask("POST", "/api/kernels")[0] == 403
    assert opposed.ask("GET", "/api/contents", **opposed.with_token)[0] == 200


def test_a_strangers_name_for_this_machine_is_refused(opposed: Running) -> None:
    """What DNS rebinding looks like, with the token or without it."""
    stranger = {"Host": "stranger.example"}
    assert opposed.ask("GET", "/api/contents", **stranger)[0] == 403
    assert opposed.ask("GET", "/api/contents", **stranger, **opposed.with_token)[0] == 403


def test_a_strangers_page_gets_nothing_by_the_browsers_cookie(opposed: Running) -> None:
    with urllib.request.urlopen(opposed.address, timeout=30) as answer:
        cookies = answer.headers.get_all("Set-Cookie", [])
    cookie = {"Cookie": "; ".join(each.partition(";")[0] for each in cookies)}
    stranger = {"Origin": "http://stranger.example"}
    assert opposed.ask("GET", "/api/contents", **cookie)[0] == 200
    # Jupyter answers 404 to a page of another origin.
    assert opposed.ask("GET", "/api/contents", **cookie, **stranger)[0] == 404
    assert opposed.ask("POST", "/api/kernels", **cookie, **stranger)[0] == 404
    # Neither a page of its own origin without the token that only such a page can read.
    assert opposed.ask("POST", "/api/kernels", **cookie)[0] == 403


def test_the_token_stands_in_no_command_line_and_no_environment(opposed: Running) -> None:
    opposed.start_kernel()
    for process in [psutil.Process(opposed.process.pid), *opposed.family()]:
        assert opposed.token not in " ".join(process.cmdline())
        assert opposed.token not in str(process.environ())


def test_a_strangers_code_beside_the_design_is_not_taken_for_ours(opposed: Running) -> None:
    """The notebook imports carve, and a stranger's folder can have a carve.py of its own."""
    code = "import carve.lab.launch, ipywidgets; print('ours')"
    run = subprocess.run(
        [sys.executable, "-c", RUN_IN_KERNEL, opposed.server, opposed.token, code],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert run.stdout.strip() == "ours", run.stderr
    assert not (opposed.home / "sprung").exists()


RUN_IN_KERNEL = """
import asyncio, json, sys
import aiohttp

server, token, code = sys.argv[1:]
header = {"msg_id": "1", "msg_type": "execute_request", "username": "", "session": "1",
          "version": "5.3"}
content = {"code": code, "silent": False, "store_history": False, "user_expressions": {},
           "allow_stdin": False}
message = {"header": header, "parent_header": {}, "metadata": {}, "content": content,
           "channel": "shell", "buffers": []}

async def main():
    async with aiohttp.ClientSession(headers={"Authorization": f"token {token}"}) as session:
        async with session.post(f"{server}/api/kernels", json={"name": "python3"}) as answer:
            kernel = (await answer.json())["id"]
        async with session.ws_connect(f"{server}/api/kernels/{kernel}/channels") as socket:
            await socket.send_str(json.dumps(message))
            async for each in socket:
                said = json.loads(each.data)
                if said["parent_header"].get("msg_id") != "1":
                    continue
                if said["msg_type"] == "stream":
                    print(said["content"]["text"])
                if said["msg_type"] == "error":
                    print("\\n".join(said["content"]["traceback"]), file=sys.stderr)
                if said["msg_type"] == "execute_reply":
                    return

asyncio.run(main())
"""
