"""A 3D view in JupyterLab that is given layers and shows them.

It knows nothing of necks. Work on it belongs to the kernel's main thread (see
`carve.lab.mainloop`). `picture` draws the same scene with neither browser nor display.

The frame is the instrument's: x from nut to bridge, y to the treble side, z up to the strings.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence

import ipywidgets
import numpy as np
import numpy.typing as npt
import pyvista as pv

from carve.lab.view3d.camera import VIEWS, Direction, pose
from carve.lab.view3d.layer import Layer, shared_ranges, surface
from carve.lab.view3d.page import Page
from carve.lab.view3d.scale_bar import BAR_BAND, add_bar, lookup_table, remove_bar
from carve.lab.view3d.scene import PICTURE_SIZE, new_actor, new_plotter
from carve.shape.views.kit.drawing import Colours


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
        self._plotter = new_plotter()
        self._actors: dict[str, pv.Actor] = {}
        self._drawn: dict[str, Layer] = {}
        self._tables: dict[str, pv.LookupTable] = {}
        self._direction: Direction = "back"
        self._aspect = PICTURE_SIZE[0] / PICTURE_SIZE[1]
        self._placed: _Stand | None = None
        self._page: Page | None = None

    @property
    def widget(self) -> ipywidgets.Widget:
        """The view, to be placed in a notebook; always the same widget."""
        _main_thread_only()
        if self._page is None:
            self._page = Page(self._plotter, self._height, self._resized)
        return self._page.widget

    def show(self, layers: Sequence[Layer]) -> None:
        """Make the view show these layers and no others.

        A layer that was there before keeps its actor, and the camera stays where it is; the
        number of points and triangles may change. The very same layer costs nothing.
        """
        _main_thread_only()
        if self._drawn == {layer.name: layer for layer in layers}:
            return
        self._show_bars(shared_ranges(layers), {one.label: one.colours for one in layers})
        for name in self._actors.keys() - {layer.name for layer in layers}:
            self._plotter.remove_actor(self._actors.pop(name), render=False)
            del self._drawn[name]
        for layer in layers:
            self._show_layer(layer)
        self._sort_by_depth(any(layer.opacity < 1.0 for layer in layers))
        if self._placed is None:
            self._place_camera()
        self._refresh()

    def look(self, direction: Direction) -> None:
        """Turn the view to a preset direction and fill it."""
        _main_thread_only()
        if direction not in VIEWS:
            raise ValueError(f"direction: {direction!r} is none of {', '.join(VIEWS)}")
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
        self._drawn.clear()
        self._tables.clear()
        self._plotter.close()

    # --- the scene

    def _show_layer(self, layer: Layer) -> None:
        actor = self._actors.get(layer.name)
        if actor is None:
            actor = self._actors[layer.name] = new_actor()
            self._plotter.add_actor(actor, name=layer.name, reset_camera=False, render=False)
        if self._drawn.get(layer.name) is not layer:
            actor.mapper.dataset = surface(layer)
            actor.prop.color = layer.colour
            actor.prop.opacity = layer.opacity
            self._drawn[layer.name] = layer
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
                remove_bar(self._plotter, label)
            self._tables = {label: lookup_table(colours[label]) for label in ranges}
            for row, (label, table) in enumerate(self._tables.items()):
                add_bar(self._plotter, label, table, 0.03 + row * BAR_BAND)
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


def _main_thread_only() -> None:
    if threading.current_thread() is not threading.main_thread():
        raise RuntimeError(
            "The 3D view has to be drawn on the kernel's main thread; from a widget's callback, "
            "go through carve.lab.mainloop.Latest."
        )
