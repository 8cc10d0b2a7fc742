"""The form for an export: where to, how, and the button that does it."""

from collections.abc import Callable

import ipywidgets as widgets

from carve.design import Unit
from carve.parts.kind import EXPORT_CHORD
from carve.shape.views.kit.paper import PAPERS, Paper


class ExportForm:
    """Fields and a button in a row, ``box``.

    ask: called when the button is pressed. paper: what is chosen at first.
    """

    def __init__(self, ask: Callable[[], None], paper: Paper) -> None:
        self._folder = widgets.Text(value="cut", description="export to folder")
        self._unit = widgets.Dropdown(options=("mm", "in"), description="unit")
        self._paper = widgets.Dropdown(options=tuple(PAPERS), value=paper.name, description="paper")
        self._chord = widgets.Text(value=f"{EXPORT_CHORD} mm", description="chord error")
        self._overwrite = widgets.Checkbox(description="replace existing files", indent=False)
        self._allow_failed = widgets.Checkbox(description="even if a finding fails", indent=False)
        button = widgets.Button(description="Export", button_style="primary", icon="download")
        button.add_class("carve-export")
        button.on_click(lambda _: ask())
        for widget in (self._folder, self._unit, self._paper, self._chord):
            widget.style.description_width = "initial"
        self._unit.layout.width = self._paper.layout.width = self._chord.layout.width = "180px"
        self._overwrite.layout.width = self._allow_failed.layout.width = "190px"
        self.box = widgets.HBox(
            [
                *(self._folder, self._unit, self._paper, self._chord),
                *(self._overwrite, self._allow_failed, button),
            ],
            layout=widgets.Layout(flex_flow="row wrap", margin="8px 0 0 0"),
        )

    @property
    def folder(self) -> str:
        """A folder as typed; relative ones start at the design file."""
        return str(self._folder.value).strip() or "."

    @property
    def unit(self) -> Unit:
        """Unit of the meshes."""
        return "in" if self._unit.value == "in" else "mm"

    @property
    def paper(self) -> Paper:
        """Paper that the drawings are printed on."""
        return PAPERS[self._paper.value]

    @property
    def chord_error(self) -> str:
        """A length as typed."""
        return str(self._chord.value)

    @property
    def overwrite(self) -> bool:
        """Whether existing files may be replaced."""
        return bool(self._overwrite.value)

    @property
    def allow_failed(self) -> bool:
        """Whether to export although a finding fails."""
        return bool(self._allow_failed.value)
