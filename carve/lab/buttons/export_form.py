"""The form for an export and the button that saves, each with its answer beside it."""

from collections.abc import Callable
from dataclasses import dataclass

import ipywidgets as widgets

from carve.check.finding import Verdict
from carve.design import Unit
from carve.lab.tables import message
from carve.parts.kind import EXPORT_CHORD
from carve.shape.views.kit.paper import PAPERS, Paper

OVERWRITE, ALLOW_FAILED = "replace existing files", "even if a finding fails"
SINCE = "the dials have been turned since"


class Answer:
    """What a button has to say, in ``widget`` beside it."""

    def __init__(self) -> None:
        self.widget = widgets.HTML(layout=widgets.Layout(flex="1 1 100%", width="auto"))
        self._is_done = self._is_old = False

    def say(self, html: str, *, is_done: bool = False) -> None:
        """Say this. is_done: something was written, which stays true when the dials move on."""
        self.widget.value = html
        self._is_done, self._is_old = is_done, False

    def wait(self, text: str) -> None:
        """Say that something is under way, whatever the dials do meanwhile."""
        self.say(message(text, Verdict.GOOD))
        self._is_done = self._is_old = True

    def turned(self) -> None:
        """A dial has moved: take back what may be true no longer, and say so of what was done."""
        if not self._is_done:
            self.say("")
        elif not self._is_old:
            self.widget.value = message(SINCE, Verdict.WARNING) + self.widget.value
            self._is_old = True


@dataclass(frozen=True)
class ExportRequest:
    """What the form says.

    folder: as typed; relative ones start at the design file. unit: of the meshes. paper: that the
    drawings are printed on. chord_error: a length as typed. overwrite: whether existing files may
    be replaced. allow_failed: whether to export although a finding fails.
    """

    folder: str
    unit: Unit
    paper: Paper
    chord_error: str
    overwrite: bool
    allow_failed: bool


class ExportForm:
    """Fields and a button in a row with the answer, ``box``.

    ask: called when the button is pressed. paper: what is chosen at first.
    """

    def __init__(self, ask: Callable[[], None], paper: Paper) -> None:
        self.answer = Answer()
        self._folder = widgets.Text(value="cut", description="export to folder")
        self._unit = widgets.Dropdown(options=("mm", "in"), description="unit")
        self._paper = widgets.Dropdown(options=tuple(PAPERS), value=paper.name, description="paper")
        self._chord = widgets.Text(value=f"{EXPORT_CHORD} mm", description="chord error")
        self._overwrite = widgets.Checkbox(description=OVERWRITE, indent=False)
        self._allow_failed = widgets.Checkbox(description=ALLOW_FAILED, indent=False)
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
                *(self._overwrite, self._allow_failed, button, self.answer.widget),
            ],
            layout=widgets.Layout(flex_flow="row wrap", margin="8px 0 0 0"),
        )

    @property
    def request(self) -> ExportRequest:
        """What the form says now."""
        return ExportRequest(
            folder=str(self._folder.value).strip() or ".",
            unit="in" if self._unit.value == "in" else "mm",
            paper=PAPERS[self._paper.value],
            chord_error=str(self._chord.value),
            overwrite=bool(self._overwrite.value),
            allow_failed=bool(self._allow_failed.value),
        )


class SaveButton:
    """A button with its answer, ``box``. ask: called when it is pressed. name: of the file."""

    def __init__(self, ask: Callable[[], None], name: str) -> None:
        self.answer = Answer()
        button = widgets.Button(
            description=f"Save the dials to {name}",
            icon="save",
            layout=widgets.Layout(width="max-content"),
        )
        button.add_class("carve-save")
        button.on_click(lambda _: ask())
        self.box = widgets.HBox(
            [button, self.answer.widget], layout=widgets.Layout(flex_flow="row wrap")
        )
