"""The 3D view lets in the page of its own notebook, and nobody else: tried from outside.

Sources: Origin of a websocket's handshake: OWASP ASVS 5, requirement 4.4.2, and RFC 6455 10.2 (from
memory), which also has the answer 403. Host against DNS rebinding: common practice. The secret
"wslink-secret": what trame and its client take where nobody says otherwise
(`trame_server.protocol.CoreServer`).
"""

from __future__ import annotations

import asyncio
import html
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qs, urlsplit

import aiohttp
import msgpack
import pytest
from wslink.chunking import UnChunker, generate_chunks

SHOW_A_VIEW = """
import asyncio, os, sys
import pyvista
from carve.lab.view3d.viewer import Viewer

async def main():
    pyvista.global_theme.trame.server_proxy_enabled = "proxied" in sys.argv
    first, second = Viewer(), Viewer()
    widgets = [first.widget, second.widget]
    while not all("iframe" in widget.value for widget in widgets):
        await asyncio.sleep(0.05)
    from trame.app import get_server
    print(get_server("carve").port, *(widget.value for widget in widgets), sep="\\n", flush=True)
    await asyncio.get_running_loop().run_in_executor(None, sys.stdin.read)

asyncio.run(main())
"""

HEARD = 5.0
"""Seconds for an answer from this machine."""


@dataclass(frozen=True)
class View:
    """A 3D view of a running process.

    addresses: of the frames of two views.
    """

    port: int
    addresses: tuple[str, ...]

    @property
    def secret(self) -> str:
        return parse_qs(urlsplit(self.addresses[0]).query).get("secret", ["wslink-secret"])[0]

    @property
    def origin(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def join(self, hello: dict[str, Any], **headers: str | None) -> str:
        """What a websocket is answered: "in", "authentication failed", or "403"."""
        return asyncio.run(_join(self, hello, headers))

    def status(self, path: str, **headers: str) -> int:
        """HTTP status of a path of the view's server."""
        return asyncio.run(_status(f"{self.origin}{path}", headers))

    @property
    def page(self) -> str:
        """Path and query of the first view's page."""
        parts = urlsplit(self.addresses[0])
        return f"/{parts.path.rpartition('/')[2]}?{parts.query}"


async def _join(view: View, hello: dict[str, Any], headers: dict[str, str | None]) -> str:
    sent = {"Origin": view.origin, **headers}
    given = {name: value for name, value in sent.items() if value is not None}
    message = {"wslink": "1.0", "id": "system:c0:0", "method": "wslink.hello", "args": [hello]}
    async with aiohttp.ClientSession() as session:
        try:
            socket = await session.ws_connect(f"ws://127.0.0.1:{view.port}/ws", headers=given)
        except aiohttp.WSServerHandshakeError as error:
            return str(error.status)
        for chunk in generate_chunks(msgpack.packb(message), 4_000_000):
            await socket.send_bytes(chunk)
        answer = UnChunker().process_chunk((await socket.receive(HEARD)).data)
        return "in" if "result" in answer else str(answer["error"]["message"]).lower()


async def _status(url: str, headers: dict[str, str]) -> int:
    async with aiohttp.ClientSession() as session, session.get(url, headers=headers) as answer:
        return answer.status


def _shown(*arguments: str) -> Iterator[View]:
    process = subprocess.Popen(
        [sys.executable, "-c", SHOW_A_VIEW, *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    try:
        port = int(process.stdout.readline())
        frames = [process.stdout.readline() for _ in range(2)]
        found = [re.search('src="([^"]+)"', frame) for frame in frames]
        yield View(port, tuple(html.unescape(each[1]) for each in found if each))
    finally:
        process.kill()
        process.communicate()


@pytest.fixture(scope="module")
def view() -> Iterator[View]:
    yield from _shown()


@pytest.fixture(scope="module")
def proxied() -> Iterator[View]:
    """A view that takes itself to be behind jupyter-server-proxy."""
    yield from _shown("proxied")


def test_the_notebooks_own_frames_are_let_in(view: View) -> None:
    assert len(view.addresses) == 2
    for address in view.addresses:
        assert urlsplit(address).netloc == f"127.0.0.1:{view.port}"
        assert parse_qs(urlsplit(address).query)["secret"] == [view.secret]
    assert view.status(view.page) == 200
    assert view.status("/vue.global.js") == 200
    assert view.join({"secret": view.secret}) == "in"
    by_name = f"localhost:{view.port}"
    assert view.join({"secret": view.secret}, Host=by_name, Origin=f"http://{by_name}") == "in"


@pytest.mark.parametrize(
    "hello",
    [{"secret": "wslink-secret"}, {}, {"secret": ""}, {"secret": None}, {"secret": "x" * 43}],
    ids=str,
)
def test_a_wrong_secret_or_none_is_refused(view: View, hello: dict[str, Any]) -> None:
    assert view.join(hello) == "authentication failed"


@pytest.mark.parametrize(
    "origin",
    [
        None,
        "null",
        "http://stranger.example",
        "http://localhost:8888",
        "http://127.0.0.1",
        "http://localhost:{port}",  # a name of ours, but not the one that was called
        "https://127.0.0.1:{port}",
        "http://127.0.0.1:{port}.stranger.example",
    ],
)
def test_a_page_of_another_origin_is_refused_even_with_the_secret(
    view: View, origin: str | None
) -> None:
    sent = origin and origin.format(port=view.port)
    assert view.join({"secret": view.secret}, Origin=sent) == "403"


@pytest.mark.parametrize("host", ["stranger.example:{port}", "localhost", "127.0.0.1:80", ""])
def test_a_strangers_name_for_this_machine_is_refused_even_with_the_secret(
    view: View, host: str
) -> None:
    """What DNS rebinding looks like: Host and Origin agree, and neither is ours."""
    name = host.format(port=view.port)
    assert view.join({"secret": view.secret}, Host=name, Origin=f"http://{name}") == "403"
    assert view.status(view.page, Host=name) == 403
    assert view.status("/vue.global.js", Host=name) == 403


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/index.html",
        "/index.html?secret=",
        "/index.html?secret=wslink-secret",
        "/index%2Ehtml",
        "//index.html",
        "/assets/../index.html",
    ],
)
def test_the_page_is_given_to_nobody_without_the_secret(view: View, path: str) -> None:
    """With it a stranger's page could frame ours, and tell it to talk to a server of theirs."""
    assert view.status(path) in (403, 404)


def test_each_kernel_has_a_secret_of_its_own(view: View, proxied: View) -> None:
    assert view.secret != proxied.secret
    assert min(len(view.secret), len(proxied.secret)) >= 43  # 256 bits in letters of 6 bits


def test_behind_a_proxy_the_page_of_the_same_host_is_let_in(proxied: View) -> None:
    for scheme in ("http", "https"):
        origin = f"{scheme}://shop.example"
        assert proxied.join({"secret": proxied.secret}, Host="shop.example", Origin=origin) == "in"
    assert proxied.status(proxied.page, Host="shop.example") == 200


def test_behind_a_proxy_too_strangers_are_refused(proxied: View) -> None:
    shop = {"Host": "shop.example", "Origin": "https://shop.example"}
    assert proxied.join({"secret": "wslink-secret"}, **shop) == "authentication failed"
    assert proxied.join({}, **shop) == "authentication failed"
    for origin in ("https://stranger.example", None):
        elsewhere = {**shop, "Origin": origin}
        assert proxied.join({"secret": proxied.secret}, **elsewhere) == "403"
    assert proxied.status("/index.html", Host="shop.example") == 403


def test_it_listens_on_this_machine_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Seen from the outside: on another of this machine's addresses nobody answers."""
    monkeypatch.setenv("TRAME_DEFAULT_HOST", "0.0.0.0")
    for view in _shown():
        with pytest.raises(OSError, match="Cannot connect"):
            asyncio.run(_status(f"http://127.0.0.2:{view.port}/", {}))
        assert view.status(view.page) == 200
