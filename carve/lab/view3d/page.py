"""The page that a browser shows: a plotter's window inside the kernel, framed in the notebook.

VTK draws in the kernel and pictures are sent to the browser. The other way, to send triangles and
let the browser draw, was measured and is no faster (a dial's turn takes about 0.1 s either way,
36,000 triangles on two busy cores without a graphics card), and the browser's copy of the scene
has the wrong numbers on its scale bar. trame's newer remote view (`trame_rca`) is the one to use:
with the older one (`trame_vtk`'s) a changed scene shows half a second late, since it first sends
the picture before.
"""

from __future__ import annotations

import asyncio
import html
import itertools
from collections.abc import Callable
from typing import Any

import ipywidgets
import pyvista as pv
from trame.app import get_server
from trame.ui.html import DivLayout
from trame.widgets import client as trame_client
from trame.widgets import html as trame_html
from trame.widgets import rca as trame_rca
from trame_pyvista.jupyter import build_url
from trame_pyvista.rca_view import PyVistaRCAView

from carve.lab.view3d.access import ADDRESS, guard, with_secret
from carve.render.colours import BACKGROUND, INK

JPEG_QUALITY = 95
"""Percent; a picture of 1200 by 600 pixels then takes 57 kB, which never leave the machine."""

Plotter = Any
"""A pyvista.Plotter. As that it would not pass: pyvista's annotations of it say that `self` has to
be given, and that a window may be missing."""

_page_numbers = itertools.count(1)


class Page:
    """A plotter's window on a web page inside the kernel, and the widget that frames the page.

    Where no event loop runs the widget says so, and the rest does nothing.

    Args:
        plotter: its window is shown, and takes the mouse.
        height: of the view, as CSS has it.
        resized: called with width and height, in pixels of the screen, and how many of those a
            browser's pixel has on each side.

    """

    def __init__(
        self, plotter: Plotter, height: str, resized: Callable[[float, float, float], None]
    ) -> None:
        self.widget = ipywidgets.HTML(layout=ipywidgets.Layout(width="100%"))
        self._plotter = plotter
        self._height = height
        self._resized = resized
        self._name = f"carve_view_{next(_page_numbers)}"
        self._area: Any = None
        self._tasks: list[asyncio.Task[None]] = []
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self._say("The 3D view shows in JupyterLab only.")
            return
        self._say("The 3D view is starting.")
        # A cell cannot wait for the server, and need not: the view appears once it is there.
        self._tasks.append(loop.create_task(self._appear()))

    def refresh(self) -> None:
        """Draw the scene anew, soon."""
        if self._area is not None:
            self._area.render()

    def close(self) -> None:
        """Leave the notebook; the plotter may be closed from here on."""
        for task in self._tasks:
            task.cancel()
        self.widget.value = ""
        if self._area is not None:
            area, self._area = self._area, None
            server = _server()
            server.controller.rc_area_unregister(self._name)
            with server.state:
                server.state[f"trame__template_{self._name}"] = ""
            self._tasks.append(asyncio.get_running_loop().create_task(area.handler.close()))

    async def _appear(self) -> None:
        try:
            server = _server()
            await server.ready
            self._area = self._lay_out(server)
        except Exception as error:
            self._say(f"The 3D view could not start: {error}")
            raise
        url = with_secret(build_url(server, ui=self._name, host=ADDRESS), server)  # type: ignore[no-untyped-call]
        style = f"display: block; width: 100%; height: {self._height}; border: 0"
        self.widget.value = (
            f'<iframe class="carve-view" src="{html.escape(url)}" style="{style}"></iframe>'
        )

    def _lay_out(self, server: Any) -> Any:
        fill = "position: absolute; inset: 0"
        size = f"{self._name}_size"
        # The area and the observer that reports its size, one over the other; no toolbar.
        with server.state, DivLayout(server, template_name=self._name, style=fill):
            with trame_html.Div(style=fill):
                trame_client.SizeObserver(size)
            with trame_html.Div(style=fill):
                area: Any = PyVistaRCAView(self._plotter, name=self._name)  # type: ignore[no-untyped-call]
        # The default is a coarse picture first and a fine one when things are quiet. Drawing is
        # what takes the time, so drawing once and fine is better.
        area.handler.update_quality(interactive=JPEG_QUALITY, still=JPEG_QUALITY)

        def report(**state: Any) -> None:
            seen = state[size]
            if seen and self._area is not None:
                box, ratio = seen["size"], seen["pixelRatio"]
                self._resized(box["width"] * ratio, box["height"] * ratio, ratio)

        server.state.change(size)(report)
        return area

    def _say(self, text: str) -> None:
        """Say something in the place where the view will be."""
        style = f"height: {self._height}; background: {BACKGROUND}; color: {INK}; padding: 1em"
        self.widget.value = f'<div style="{style}">{html.escape(text)}</div>'


def _server() -> Any:
    """The kernel's trame server for this module's views; starting, or started.

    Needs a running event loop. Each kernel has its own server on a free port, so notebooks do not
    meet, and it is not the one that pyvista's own plots use. It listens on this machine alone,
    whatever TRAME_DEFAULT_HOST says: from another machine it is reached through a proxy.
    """
    server = get_server("carve", client_type="vue3")
    if not server.running:
        trame_rca.initialize(server)
        guard(server, behind_proxy=pv.global_theme.trame.server_proxy_enabled)
        server.start(
            exec_mode="task",
            backend="aiohttp",
            port=0,
            host=ADDRESS,
            open_browser=False,
            show_connection_info=False,
            disable_logging=True,
            timeout=0,
            # Leaves the kernel's signal handlers alone. With trame's own, the notebook's stop
            # button stops this server as well. (No thread is started.)
            thread=True,
        )
    return server
