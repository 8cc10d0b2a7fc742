"""Who may see the 3D view and turn it: the page that has the secret of this kernel, nobody else.

The view is served on a port of this machine, and a port is open to more than the builder: to every
user of the machine, and to every web page in the builder's own browser. So whoever comes is asked
for three things:

- the secret, drawn anew for each kernel. The notebook has it, in the address of the view's frame.
  Both the page and its websocket want it; the files that the page loads are those of a public
  library.
- Host: the name by which the server was called must be its own. A stranger's page can let a
  name of its own point at this machine (DNS rebinding), but then its browser sends that name.
- Origin: a browser says which page opens a websocket. It must be the view's own page.

Behind a proxy of Jupyter's (jupyter-server-proxy, which lets in only whom Jupyter lets in) Host is
a name that we cannot know. There Origin must name the same host, the rule that Jupyter itself has.
"""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable
from typing import Any

from aiohttp import web

ADDRESS = "127.0.0.1"
"""Where the view listens. Not `localhost`: that can mean `::1` too, and there another user of the
machine may listen on a port of the same number."""

OWN_NAMES = (ADDRESS, "localhost")

SECRET_PARAMETER = "secret"
SECRET_BYTES = 32

PAGES = (".html", ".htm", "/")

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


def guard(server: Any, *, behind_proxy: bool) -> None:
    """Let a trame server refuse strangers; to be called before it starts.

    server: a trame server that serves with aiohttp.
    behind_proxy: whether its pages are reached through a proxy, by names that are not its own.
    """

    @web.middleware
    async def refuse_strangers(request: web.Request, handler: Handler) -> web.StreamResponse:
        refusal = _refusal(request, server.protocol.secret, behind_proxy=behind_proxy)
        if refusal is not None:
            return web.Response(status=403, text=f"{refusal}\n")
        return await handler(request)

    def on_bind(web_server: Any) -> None:
        server.protocol.updateSecret(secrets.token_urlsafe(SECRET_BYTES))
        web_server.app.middlewares.append(refuse_strangers)

    # Called once there is a server and before its port is open.
    server.controller.on_server_bind.add(on_bind)


def with_secret(url: str, server: Any) -> str:
    """The address of a page of a started server, with the secret that lets it in.

    url: with a query already.
    """
    return f"{url}&{SECRET_PARAMETER}={server.protocol.secret}"


def _refusal(request: web.Request, secret: str, *, behind_proxy: bool) -> str | None:
    """Why a request is refused, in a sentence; None where it is let in.

    The websocket's secret is not looked at here: it comes as its first message.
    """
    host = request.headers.get("Host", "").lower()
    called_by_own_name = host in _own_hosts(request)
    if not called_by_own_name and not behind_proxy:
        return "The 3D view does not go by that name."
    origin = request.headers.get("Origin")
    if origin is None and request.headers.get("Upgrade", "").lower() == "websocket":
        return "Whoever opens a websocket of the 3D view must say from which page."
    schemes = ("http",) if called_by_own_name else ("http", "https")
    if origin is not None and origin.lower() not in [f"{scheme}://{host}" for scheme in schemes]:
        return "Pages of another origin do not get at the 3D view."
    if request.path.lower().endswith(PAGES):
        given = request.query.get(SECRET_PARAMETER, "")
        if not secrets.compare_digest(given.encode(), secret.encode()):
            return "The 3D view shows in the notebook that made it, and nowhere else."
    return None


def _own_hosts(request: web.Request) -> list[str]:
    """What Host may be where the server is called by a name of its own."""
    port = request.get_extra_info("sockname")[1]
    return [f"{name}:{port}" for name in OWN_NAMES]
