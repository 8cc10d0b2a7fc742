"""The lab: dials beside the parts in 3D, their sections, their findings, and export.

A face over the same calls as the command line, with no geometry of its own. Everything
that draws runs on the kernel's main thread (see ``mainloop``).
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import Design, parse, read_length_argument, read_text, rewrite, with_values
from carve.design.drawing.source import beside, changed_since
from carve.design.io.dials import dials
from carve.design.schema.outline import drawings_in
from carve.errors import CarveError
from carve.export import export
from carve.export.atomic import content, write_all
from carve.lab.charts import chart
from carve.lab.controls import panel
from carve.lab.export_form import ExportForm
from carve.lab.job_views import JobViews
from carve.lab.mainloop import Latest
from carve.lab.panels import Panels
from carve.lab.section_choice import SectionChoices
from carve.lab.tables import findings_table, message
from carve.lab.view3d.viewer import Viewer
from carve.lab.view_choice import ViewChoice
from carve.parts.job import make, preview_chord
from carve.shape.views.kit.paper import usual_paper
from carve.shop.cautions import CAUTIONS


class Lab:
    """Dials, picture, findings and export for one design file.

    Show it by leaving it as the last line of a notebook cell.
    """

    def __init__(self, file: str | Path) -> None:
        """Open a design file. A wrong one is said in place of the dials."""
        self._path = Path(file).resolve()  # a kernel may change its folder later
        self._message = widgets.HTML()
        try:
            self._text = read_text(self._path)
            self._design = parse(self._text, self._path.name, self._path.parent)
        except CarveError as error:
            self._message.value = message(str(error), Verdict.FAILED)
            self.widget: widgets.Widget = self._message
            return
        self._changes: dict[str, Any] = {}  # what the dials have turned, by key
        self._turns: Latest[dict[str, Any]] = Latest(self._apply, on_error=self._say_error)
        self._showing: Latest[None] = Latest(lambda _: self._show_view(), on_error=self._say_error)
        self._cutting: Latest[None] = Latest(
            lambda _: self._show_sections(), on_error=self._say_error
        )
        self._tasks: Latest[Callable[[], None]] = Latest(
            lambda task: task(), on_error=self._say_error
        )
        self._views = JobViews()
        self._viewer = Viewer()
        self._view_choice = ViewChoice(lambda: self._showing.submit(None))
        self._sections = SectionChoices(self._design.units, lambda: self._cutting.submit(None))
        self._drawings, self._tables = Panels(), Panels()
        self._findings, self._chart = widgets.HTML(), widgets.HTML()
        self._form = ExportForm(self._ask_export, usual_paper(self._design.units))
        self._save = _save_button(self._path, lambda: self._tasks.submit(self._save_file))
        self._said = widgets.HTML()
        self.widget = self._page()
        self._apply({})

    def _repr_mimebundle_(self, **options: Any) -> Any:
        bundle: Any = self.widget._repr_mimebundle_(**options)
        return bundle

    @property
    def design(self) -> Design:
        """The design as the dials stand."""
        return self._design

    def _page(self) -> widgets.Widget:
        """All widgets in their places."""
        turned = panel(dials(self._design), self._design.units, self._on_dial)
        turned.layout.flex = "0 0 auto"  # where there are many, scroll; squeezed, some vanish
        left = widgets.VBox(
            [turned],
            layout=widgets.Layout(
                width="372px", min_width="372px", max_height="1040px", overflow="hidden auto"
            ),
        )
        right = widgets.VBox(
            [
                *(self._view_choice.box, self._viewer.widget, self._sections.box),
                *(self._drawings.box, self._chart, self._tables.box),
            ],
            layout=widgets.Layout(flex="1 1 auto", width="auto", overflow="hidden"),
        )
        foot = widgets.VBox([self._message, self._findings, self._form.box, self._save, self._said])
        return widgets.VBox([widgets.HBox([left, right]), foot])

    def _on_dial(self, key: str, value: Any) -> None:
        self._changes = {**self._changes, key: value}
        self._turns.submit(self._changes)

    def _apply(self, changes: dict[str, Any]) -> None:
        """Bring the design, and everything that is shown, to where the dials stand.

        changes: new values by key.
        """
        try:
            design = with_values(self._design, changes) if changes else self._design
            job = make(design, preview_chord(design))
        except CarveError as error:
            # the picture stays at the last design that could be made, and says so
            self._message.value = message(
                f"{error}\nThe picture shows the last design that could be made.", Verdict.FAILED
            )
            return
        findings = inspect(job)
        self._design, self._job = design, job
        self._message.value = ""
        self._views.forget_missing(job)
        self._view_choice.offer(self._views.colours(job))
        self._show_view()
        self._show_sections()
        self._drawings.show(self._views.drawings(job))
        self._findings.value = findings_table(findings, design.units)
        self._chart.value = chart(findings, design.units)
        self._tables.show(self._views.tables(job))

    def _show_view(self) -> None:
        """Show the job in 3D, as the builder chose to look at it."""
        choice = self._view_choice
        self._viewer.show(self._views.layers(self._job, choice.side, choice.colour))

    def _show_sections(self) -> None:
        """Show each part cut open where its sliders say."""
        parts = {part.name: part for part in self._job.parts}
        choices = self._sections.follow(self._views.section_planes(self._job))
        for name, choice in choices.items():
            choice.show(self._views.section(self._job, parts[name], choice.plane))

    def _say_error(self, error: Exception) -> None:
        self._said.value = message(str(error) or type(error).__name__, Verdict.FAILED)

    def _ask_export(self) -> None:
        self._said.value = message("exporting ...", Verdict.GOOD)
        self._tasks.submit(self._export_files)

    def _export_files(self) -> None:
        asked = self._form
        chord = read_length_argument("chord error", asked.chord_error)
        job = make(self._design, chord)
        source = (self._path.name, rewrite(self._text, self._design))
        done = export(
            job,
            self._path.parent / asked.folder,
            source,
            unit=asked.unit,
            paper=asked.paper,
            overwrite=asked.overwrite,
            allow_failed=asked.allow_failed,
        )
        self._said.value = message("\n".join(done.told), Verdict.GOOD) + message(
            "\n".join(CAUTIONS), Verdict.WARNING
        )

    def _save_file(self) -> None:
        if read_text(self._path) != self._text:
            raise CarveError(
                f"{self._path} has been changed elsewhere since the lab opened it; nothing was "
                "saved. Run the cell again to start from the changed file."
            )
        text = rewrite(self._text, self._design)
        write_all(self._path.parent, {self._path.name: content(text.encode())}, overwrite=True)
        self._text = text
        said = message(f"saved {self._path}", Verdict.GOOD)
        drawings = changed_since(drawings_in(self._design), beside(self._path.parent))
        if changed := "\n".join(drawings):
            said += message(
                f"{changed}\nThe lab shows the drawing as it was. Run the cell again to start from "
                "the one that is there now.",
                Verdict.WARNING,
            )
        self._said.value = said


def _save_button(path: Path, save: Callable[[], None]) -> widgets.Button:
    button = widgets.Button(
        description=f"Save the dials to {path.name}",
        icon="save",
        layout=widgets.Layout(width="max-content"),
    )
    button.on_click(lambda _: save())
    return button
