"""VTK without one warning that it gives where there is no display."""

from collections.abc import Iterator
from contextlib import contextmanager

from vtkmodules.vtkCommonCore import vtkLogger, vtkOutputWindow, vtkStringOutputWindow

_NO_DISPLAY = "bad X server connection"


@contextmanager
def without_the_display_warning() -> Iterator[None]:
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
