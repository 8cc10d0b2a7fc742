"""An empty scene, and a body in it with the look of planed wood."""

import pyvista as pv

from carve.lab.view3d.camera import VIEW_ANGLE
from carve.lab.view3d.page import Plotter
from carve.lab.view3d.quiet_vtk import without_the_display_warning
from carve.render.colours import BACKGROUND

PICTURE_SIZE = (1200, 600)
"""Pixels, width and height, until a browser says how large it shows the view."""


def new_plotter() -> Plotter:
    """An empty scene in an off-screen window."""
    with without_the_display_warning():
        plotter: Plotter = pv.Plotter(off_screen=True, window_size=list(PICTURE_SIZE))
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


def new_actor() -> pv.Actor:
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
