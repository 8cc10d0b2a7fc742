"""A 3D view in JupyterLab that is given triangles and shows them.

It knows nothing of necks. What it does know:

- Work on it belongs to the kernel's main thread (see `carve.lab.mainloop`).
- VTK draws in the kernel and pictures are sent to the browser. The other way, to send triangles
  and let the browser draw, was measured and is no faster (a dial's turn takes about 0.1 s either
  way, 36,000 triangles on two busy cores without a graphics card), and the browser's copy of the
  scene has the wrong numbers on its scale bar.
- trame's newer remote view (`trame_rca`) is the one to use. With the older one (`trame_vtk`'s)
  a changed scene shows half a second late: it first sends the picture before.
- `picture` draws the same scene with neither browser nor display.

The frame is the instrument's: x from nut to bridge, y to the treble side, z up to the strings.
"""

from __future__ import annotations

import asyncio
import html
import itertools
import os
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import ipywidgets
import numpy as np
import numpy.typing as npt
import pyvista as pv
from trame.app import get_server
from trame.ui.html import DivLayout
from trame.widgets import client as trame_client
from trame.widgets import html as trame_html
from trame.widgets import rca as trame_rca
from trame_pyvista.jupyter import build_url
from trame_pyvista.rca_view import PyVistaRCAView
from vtkmodules.vtkCommonCore import vtkLogger, vtkOutputWindow, vtkStringOutputWindow

from carve.arrays import Array, IntArray
from carve.render.colours import BACKGROUND, colour_table
from carve.shape.views.kit.drawing import Colours

Direction = Literal["back", "front", "top", "bottom", "side", "end"]
"""Where to look from. `back` and `front` are three-quarter views, back or strings up; the others
are straight on and true to proportion: `top` on the strings' side, `bottom` on the back,
`side` from low y, which is a right-handed part's bass side, `end` along the neck from the nut."""

WOOD = "#d9b27c"

SHARP = 35.0
"""Degrees between two faces from which their shared edge is drawn as an edge and not smoothed:
above a carved surface's facets, below a channel's wall or a board's edge."""

INK = "#333333"

VIEW_ANGLE = 25.0
"""Degrees from top to bottom of the picture: a long lens, so that a neck seen at a slant does not
look tapered by the camera."""

JPEG_QUALITY = 95
"""Percent; a picture of 1200 by 600 pixels then takes 57 kB, which never leave the machine."""

TITLE_SIZE = 16
"""Points, of a scale bar's title."""

PICTURE_SIZE = (1200, 600)
"""Pixels, width and height, until a browser says how large it shows the view."""

MARGIN = 0.05
"""Share of the picture left free on every side."""

BAR_BAND = 0.17
"""Share of the picture's height that one scale bar takes up at the bottom."""


@dataclass(frozen=True, eq=False)
class Layer:
    """One body to show.

    Attributes:
        name: tells the layers of one view apart; a layer keeps its name from one call to the next.
        points: (n, 3) mm.
        triangles: (m, 3) indices into points, counter-clockwise seen from outside.
        values: (n,) coloured by, in the unit that the label says; where nan, the wood shows.
        label: title of the scale bar. Layers of one label share a bar and a range.
        range: the values at the two ends of the bar; None for the smallest and largest value.
        colours: from the one end of the range to the other, of all layers of that label.
        colour: of a layer without values.
        opacity: 0 to 1.

    """

    name: str
    points: Array
    triangles: IntArray
    values: Array | None = None
    label: str = ""
    range: tuple[float, float] | None = None
    colours: Colours = "thin to thick"
    colour: str = WOOD
    opacity: float = 1.0


class Pose(NamedTuple):
    """Where a camera stands.

    position, focus: (3,) mm. up: (3,) unit vector. half_height: mm from the middle to the top of
    the picture for a straight-on view; None for a perspective one.
    """

    position: Array
    focus: Array
    up: Array
    half_height: float | None


class _View(NamedTuple):
    towards_camera: tuple[float, float, float]
    up: tuple[float, float, float]
    straight_on: bool


# The back is shown as the neck lies on a bench, back up, nut to the left.
_VIEWS: dict[Direction, _View] = {
    "back": _View((-0.28, 0.65, -0.70), (0.0, 0.0, -1.0), straight_on=False),
    "front": _View((-0.28, -0.65, 0.70), (0.0, 0.0, 1.0), straight_on=False),
    "top": _View((0.0, 0.0, 1.0), (0.0, 1.0, 0.0), straight_on=True),
    "bottom": _View((0.0, 0.0, -1.0), (0.0, -1.0, 0.0), straight_on=True),
    "side": _View((0.0, -1.0, 0.0), (0.0, 0.0, 1.0), straight_on=True),
    "end": _View((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), straight_on=True),
}


# --- from a layer to something VTK can draw -------------------------------------------------


def surface(layer: Layer) -> pv.PolyData:
    """The layer as a mesh with normals that keep sharp edges sharp.

    Points along a sharp edge appear once for each side of it. The values, if any, are the point
    array "values".
    """
    points: Any = np.asarray(layer.points, dtype=np.float32)
    triangles: Any = np.asarray(layer.triangles)
    mesh: pv.PolyData = pv.PolyData.from_regular_faces(points, triangles)
    if layer.values is not None:
        mesh.point_data["values"] = np.asarray(layer.values, dtype=np.float32)
    if mesh.n_cells == 0:
        return mesh
    smooth: pv.PolyData = mesh.compute_normals(
        cell_normals=False,
        split_vertices=True,
        feature_angle=SHARP,
        # The triangles are oriented already; to find that out anew would take half as long again.
        consistent_normals=False,
        auto_orient_normals=False,
    )
    return smooth


def shared_ranges(layers: Sequence[Layer]) -> dict[str, tuple[float, float]]:
    """The range of values of each label, in the order of the layers.

    A range that a layer fixes wins over what the values span. Labels whose layers have no finite
    value are left out: there is nothing to put a bar to.
    """
    fixed: dict[str, tuple[float, float]] = {}
    spans: dict[str, tuple[float, float]] = {}
    for layer in layers:
        if layer.values is None:
            continue
        finite = layer.values[np.isfinite(layer.values)]
        if finite.size:
            low, high = spans.get(layer.label, (np.inf, -np.inf))
            spans[layer.label] = (min(low, float(finite.min())), max(high, float(finite.max())))
        if layer.range is not None:
            fixed[layer.label] = layer.range
    return {label: _opened(fixed.get(label, span)) for label, span in spans.items()}


def _opened(span: tuple[float, float]) -> tuple[float, float]:
    """The span, widened where it is empty: VTK paints an empty range in one arbitrary colour."""
    low, high = span
    return (low, high) if high > low else (low - 0.5, low + 0.5)


# --- the camera -------------------------------------------------------------------------------


def pose(points: Array, direction: Direction, aspect: float, band: float = 0.0) -> Pose:
    """The camera that fills a picture with the points.

    points: (n, 3) mm. aspect: width over height of the picture. band: share of its height, at the
    bottom, that stays free for scale bars.
    """
    view = _VIEWS[direction]
    forward = -_unit(np.array(view.towards_camera))
    right = _unit(np.cross(forward, np.array(view.up)))
    up = np.cross(right, forward)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    across, upward, nearer = np.stack([right, up, -forward]) @ (points - middle).T

    # For each of the four sides of the picture: how far it is from the middle, per mm of distance
    # (perspective) or per mm of half height (straight on).
    lens = 1.0 if view.straight_on else float(np.tan(np.radians(VIEW_ANGLE) / 2.0))
    depth = np.zeros_like(nearer) if view.straight_on else nearer
    free = 1.0 - 2.0 * MARGIN
    sideways = _Between(across, depth, lens * free * aspect, lens * free * aspect)
    upright = _Between(upward, depth, lens * (free - 2.0 * band), lens * free)

    away = max(sideways.least(), upright.least(), 1e-3)
    focus = middle + sideways.centre(away) * right + upright.centre(away) * up
    if view.straight_on:
        return Pose(focus - 10.0 * _size(points) * forward, focus, up, away)
    return Pose(focus - away * forward, focus, up, None)


class _Between:
    """Points between two opposite sides of the picture.

    A point v off the middle and n nearer than the focus, seen from a distance d by a camera that
    is shifted by c, is inside when -low (d - n) <= v - c <= high (d - n). All points are inside
    when `above` - high d <= c <= low d - `below`.
    """

    def __init__(self, off: Array, nearer: Array, low: float, high: float) -> None:
        self.low, self.high = low, high
        self.above = float(np.max(off + high * nearer))
        self.below = float(np.max(low * nearer - off))

    def least(self) -> float:
        """The least distance, mm, at which some shift gets all points inside."""
        return (self.above + self.below) / (self.low + self.high)

    def centre(self, distance: float) -> float:
        """The shift, mm, that leaves both sides the same room."""
        return (self.above - self.high * distance + self.low * distance - self.below) / 2.0


def _size(points: Array) -> float:
    """Longest extent of the points along an axis, mm, and never nothing."""
    return float(np.ptp(points, axis=0).max()) + 1.0


def _unit(vector: Array) -> Array:
    """The vector at length 1; (3,) both."""
    return vector / np.linalg.norm(vector)


# --- VTK, quietly -------------------------------------------------------------------------------

_NO_DISPLAY = "bad X server connection"


@contextmanager
def _without_the_display_warning() -> Iterator[None]:
    """Keeps one warning of VTK's out of the notebook, and nothing else.

    Where there is no display VTK says so and then draws off screen, which is what was wanted.
    Errors go straight to the log meanwhile; other warnings follow at the end.
    """
    told = vtkLogger.GetCurrentVerbosityCutoff()
    window, heard = vtkOutputWindow.GetInstance(), vtkStringOutputWindow()
    vtkOutputWindow.SetInstance(heard)
    vtkLogger.SetStderrVerbosity(min(told, vtkLogger.VERBOSITY_ERROR))
    try:
        yield
    finally:
        vtkLogger.SetStderrVerbosity(told)
        vtkOutputWindow.SetInstance(window)
        for message in heard.GetOutput().split("\n\n"):
            if "Warning" in message and _NO_DISPLAY not in message:
                vtkLogger.Log(vtkLogger.VERBOSITY_WARNING, "vtk", 0, message.strip())


# A pyvista.Plotter. As that it would not pass: pyvista's annotations of it say that `self` has to
# be given, and that a window may be missing.
_Plotter = Any


# --- the page that the browser shows --------------------------------------------------------------

_page_numbers = itertools.count(1)


class _Page:
    """A plotter's window on a web page inside the kernel, and the widget that frames the page.

    Where no event loop runs the widget says so, and the rest does nothing.

    Args:
        plotter: its window is shown, and takes the mouse.
        height: of the view, as CSS has it.
        resized: called with width and height, in pixels of the screen, and how many of those a
            browser's pixel has on each side.

    """

    def __init__(
        self, plotter: _Plotter, height: str, resized: Callable[[float, float, float], None]
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
        url = build_url(server, ui=self._name)  # type: ignore[no-untyped-call]
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
    meet, and it is not the one that pyvista's own plots use.
    """
    server = get_server("carve", client_type="vue3")
    if not server.running:
        trame_rca.initialize(server)
        server.start(
            exec_mode="task",
            port=0,
            host=os.environ.get("TRAME_DEFAULT_HOST", "127.0.0.1"),
            open_browser=False,
            show_connection_info=False,
            disable_logging=True,
            timeout=0,
            # Leaves the kernel's signal handlers alone. With trame's own, the notebook's stop
            # button stops this server as well. (No thread is started.)
            thread=True,
        )
    return server


# --- the view -------------------------------------------------------------------------------------


class Viewer:
    """Shows layers in the notebook, and updates them in place.

    Build it and call it on the kernel's main thread. In a plain script, where no event loop runs,
    there is no view to see but `picture` works all the same. Close it before building another
    in its place: each has a window of its own.

    Args:
        height: of the view in the notebook, as CSS has it.

    """

    def __init__(self, *, height: str = "480px") -> None:
        _main_thread_only()
        self._height = height
        self._plotter = _plotter()
        self._actors: dict[str, pv.Actor] = {}
        self._tables: dict[str, pv.LookupTable] = {}
        self._direction: Direction = "back"
        self._aspect = PICTURE_SIZE[0] / PICTURE_SIZE[1]
        self._placed: _Stand | None = None
        self._page: _Page | None = None

    @property
    def widget(self) -> ipywidgets.Widget:
        """The view, to be placed in a notebook; always the same widget."""
        _main_thread_only()
        if self._page is None:
            self._page = _Page(self._plotter, self._height, self._resized)
        return self._page.widget

    def show(self, layers: Sequence[Layer]) -> None:
        """Make the view show these layers and no others.

        A layer that was there before keeps its actor, and the camera stays where it is; the
        number of points and triangles may change.
        """
        _main_thread_only()
        self._show_bars(shared_ranges(layers), {one.label: one.colours for one in layers})
        for name in self._actors.keys() - {layer.name for layer in layers}:
            self._plotter.remove_actor(self._actors.pop(name), render=False)
        for layer in layers:
            self._show_layer(layer)
        self._sort_by_depth(any(layer.opacity < 1.0 for layer in layers))
        if self._placed is None:
            self._place_camera()
        self._refresh()

    def look(self, direction: Direction) -> None:
        """Turn the view to a preset direction and fill it."""
        _main_thread_only()
        if direction not in _VIEWS:
            raise ValueError(f"direction: {direction!r} is none of {', '.join(_VIEWS)}")
        self._direction = direction
        self._place_camera()
        self._refresh()

    def picture(self) -> npt.NDArray[np.uint8]:
        """What the view shows, as (height, width, 3) red, green, blue."""
        _main_thread_only()
        self._plotter.renderer.reset_camera_clipping_range()
        # A screenshot alone gives what was drawn last.
        self._plotter.render_window.Render()
        image = self._plotter.screenshot(return_img=True)
        return np.array(image[:, :, :3], dtype=np.uint8)

    def close(self) -> None:
        """Give back the window and the memory. Nothing can be shown from here on."""
        _main_thread_only()
        if self._page is not None:
            self._page.close()
        self._actors.clear()
        self._tables.clear()
        self._plotter.close()

    # --- the scene

    def _show_layer(self, layer: Layer) -> None:
        actor = self._actors.get(layer.name)
        if actor is None:
            actor = self._actors[layer.name] = _actor()
            self._plotter.add_actor(actor, name=layer.name, reset_camera=False, render=False)
        actor.mapper.dataset = surface(layer)
        actor.prop.color = layer.colour
        actor.prop.opacity = layer.opacity
        table = self._tables.get(layer.label) if layer.values is not None else None
        actor.mapper.scalar_visibility = table is not None
        if table is not None:
            actor.mapper.lookup_table = table
            actor.mapper.scalar_range = table.scalar_range

    def _show_bars(
        self, ranges: dict[str, tuple[float, float]], colours: dict[str, Colours]
    ) -> None:
        if list(ranges) != list(self._tables):
            for label in self._tables:
                self._plotter.remove_scalar_bar(label, render=False)
                self._plotter.remove_actor(_title_of(label), render=False)
            self._tables = {label: _table(colours[label]) for label in ranges}
            for row, (label, table) in enumerate(self._tables.items()):
                _add_bar(self._plotter, label, table, 0.03 + row * BAR_BAND)
        for label, ends in ranges.items():
            self._tables[label].scalar_range = ends

    def _sort_by_depth(self, needed: bool) -> None:
        """Without it, what lies behind a see-through layer may be drawn in front of it."""
        renderer = self._plotter.renderer
        if bool(renderer.GetUseDepthPeeling()) != needed:
            if needed:
                renderer.enable_depth_peeling(number_of_peels=4)
            else:
                renderer.disable_depth_peeling()

    # --- the camera

    def _place_camera(self) -> None:
        meshes = [actor.mapper.dataset for actor in self._actors.values()]
        points = [mesh.points for mesh in meshes if mesh.n_points]
        if not points:
            return
        there = np.concatenate(points).astype(np.float64)
        put = pose(there, self._direction, self._aspect, BAR_BAND * len(self._tables))
        camera = self._plotter.camera
        camera.position, camera.focal_point, camera.up = put.position, put.focus, put.up
        camera.parallel_projection = put.half_height is not None
        if put.half_height is not None:
            camera.parallel_scale = put.half_height
        camera.is_set = True
        self._placed = _stand(camera)

    def _resized(self, width: float, height: float, ratio: float) -> None:
        """Fill the view anew at its new size, unless somebody has turned it by hand."""
        if width < 1.0 or height < 1.0:
            return
        self._aspect = width / height
        # Letters grow with the screen's pixels, so that they stay as large as they were.
        self._plotter.render_window.SetDPI(round(72 * ratio))
        if self._placed == _stand(self._plotter.camera):
            self._place_camera()
        self._refresh()

    def _refresh(self) -> None:
        self._plotter.renderer.reset_camera_clipping_range()
        if self._page is not None:
            self._page.refresh()


_Stand = tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...], float]


def _stand(camera: pv.Camera) -> _Stand:
    """Where the camera is now, to tell later whether somebody has moved it."""
    return (
        tuple(camera.position),
        tuple(camera.focal_point),
        tuple(camera.up),
        float(camera.parallel_scale),
    )


def _plotter() -> _Plotter:
    """An empty scene in an off-screen window."""
    with _without_the_display_warning():
        plotter: _Plotter = pv.Plotter(off_screen=True, window_size=list(PICTURE_SIZE))
    plotter.set_background(BACKGROUND)
    # Smooth edges by FXAA and not by multisampling: with EGL, a multisampled window draws
    # nothing at all of a see-through layer that is sorted by depth. And not through pyvista,
    # which trades FXAA off screen for a method that takes more than twice as long.
    plotter.render_window.SetMultiSamples(0)
    plotter.renderer.SetUseFXAA(True)
    plotter.camera.view_angle = VIEW_ANGLE
    # Keys do nothing here. By default a stray w shows wires, and q ends the interaction.
    plotter.reset_key_events()
    plotter.iren.interactor.GetInteractorStyle().AddObserver("CharEvent", lambda *_: None)
    return plotter


def _actor() -> pv.Actor:
    """A body with the look of planed wood, coloured by its mesh's "values" when it has some."""
    actor = pv.Actor(mapper=pv.DataSetMapper())
    actor.mapper.SetScalarModeToUsePointFieldData()
    actor.mapper.SelectColorArray("values")
    actor.mapper.interpolate_before_map = True
    # pyvista draws facets unless told to use the normals that the mesh carries
    actor.prop.interpolation = "Phong"
    actor.prop.ambient = 0.12
    actor.prop.specular = 0.15
    actor.prop.specular_power = 20.0
    return actor


def _table(colours: Colours) -> pv.LookupTable:
    """The colours, with the wood's where there is no value."""
    table = pv.LookupTable()
    table.values = colour_table(colours)
    table.nan_color = WOOD
    return table


def _add_bar(plotter: _Plotter, label: str, table: pv.LookupTable, bottom: float) -> None:
    """Put a scale bar in the picture; `bottom` is its lower edge as a share of the height."""
    bar = plotter.add_scalar_bar(
        title=label,
        lookup_table=table,
        width=0.5,
        height=0.09,
        position_x=0.25,
        position_y=bottom,
        vertical=False,
        n_labels=5,
        fmt="%.1f",
        color=INK,
        title_font_size=TITLE_SIZE,
        label_font_size=TITLE_SIZE - 2,
        unconstrained_font_size=True,
        render=False,
    )
    bar.SetTextPositionToPrecedeScalarBar()
    bar.SetTextPad(3)
    # VTK prints a bar's title over its numbers, so the title is a text of its own.
    bar.SetTitle("")
    title: Any = pv.Text(label, position=(0.5, bottom + 0.1), name=_title_of(label))
    title.GetPositionCoordinate().SetCoordinateSystemToNormalizedViewport()
    title.prop.SetJustificationToCentered()
    title.prop.color = INK
    title.prop.font_size = TITLE_SIZE
    plotter.add_actor(title, name=_title_of(label), render=False)


def _title_of(label: str) -> str:
    """Name of the actor that shows a scale bar's title."""
    return f"title of {label}"


def _main_thread_only() -> None:
    if threading.current_thread() is not threading.main_thread():
        raise RuntimeError(
            "The 3D view has to be drawn on the kernel's main thread; from a widget's callback, "
            "go through carve.lab.mainloop.Latest."
        )
