"""The lab: dials beside the parts in 3D, their sections, their findings, and export.

A face over the same calls as the command line, with no geometry of its own. Everything
that draws runs on the kernel's main thread (see ``mainloop``).
"""

from pathlib import Path
from typing import Any

import ipywidgets as widgets

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import Design, read_length_argument, read_text
from carve.design.io.dials import dials
from carve.errors import CarveError
from carve.export import export
from carve.export.atomic import content, write_all
from carve.lab.buttons.answers import changed_elsewhere, exported, failed, refusal, saved
from carve.lab.buttons.export_form import Answer, ExportForm, ExportRequest, SaveButton
from carve.lab.charts import chart
from carve.lab.controls import STYLE as DIAL_STYLE
from carve.lab.controls import DialPanel
from carve.lab.job_views import JobViews
from carve.lab.mainloop import Latest
from carve.lab.panels import Panels
from carve.lab.section_choice import SectionChoices
from carve.lab.stale import STYLE as STALE_STYLE
from carve.lab.stale import StaleMarks
from carve.lab.state import LabState, Turns, opened
from carve.lab.tables import findings_table, message
from carve.lab.view3d.viewer import Viewer
from carve.lab.view_choice import ViewChoice
from carve.parts.job import Job, make
from carve.shape.views.kit.paper import usual_paper

WAITS = "Until that is put right nothing is exported or saved."


class Lab:
    """Dials, picture, findings and export for one design file.

    Show it by leaving it as the last line of a notebook cell.
    """

    def __init__(self, file: str | Path) -> None:
        """Open a design file. A wrong one is said in place of the dials."""
        self._path = Path(file).resolve()  # a kernel may change its folder later
        self._message = widgets.HTML()
        try:
            self._state = opened(self._path)
        except CarveError as error:
            self._message.value = message(str(error), Verdict.FAILED)
            self.widget: widgets.Widget = self._message
            return
        design = self._state.opened
        self._turned: Turns = {}  # where dials have been turned to, ahead of the state
        self._drawn: Job | None = None
        self._turns: Latest[Turns] = Latest(self._apply, on_error=self._say_stopped)
        self._showing: Latest[None] = Latest(lambda _: self._show_view(), on_error=self._say_error)
        self._cutting: Latest[None] = Latest(
            lambda _: self._show_sections(), on_error=self._say_error
        )
        self._exports: Latest[tuple[Turns, ExportRequest]] = Latest(
            lambda press: self._export_files(*press),
            on_error=lambda error: _say_failed(self._form.answer, error),
        )
        self._saves: Latest[Turns] = Latest(
            self._save_file, on_error=lambda error: _say_failed(self._save.answer, error)
        )
        self._views = JobViews()
        self._viewer = Viewer()
        self._view_choice = ViewChoice(lambda: self._showing.submit(None))
        self._sections = SectionChoices(design.units, lambda: self._cutting.submit(None))
        self._drawings, self._tables = Panels(), Panels()
        self._findings, self._chart, self._said = (widgets.HTML() for _ in range(3))
        self._form = ExportForm(self._ask_export, usual_paper(design.units))
        self._save = SaveButton(self._ask_save, self._path.name)
        self._dials = DialPanel(dials(design), design.units, self._on_dial)
        self._stale = StaleMarks()
        self.widget = self._page()
        try:
            self._apply({})
        except Exception as error:
            self._say_stopped(error)

    def _repr_mimebundle_(self, **options: Any) -> Any:
        bundle: Any = self.widget._repr_mimebundle_(**options)
        return bundle

    @property
    def design(self) -> Design:
        """The design on the dials. Raises DesignError where it cannot be made."""
        return self._state.standing(self._turned).settled().design

    def _page(self) -> widgets.Widget:
        """All widgets in their places."""
        turned, over = self._dials.widget, self._stale.over
        turned.layout.flex = "0 0 auto"  # where there are many, scroll; squeezed, some vanish
        left = widgets.VBox(
            [turned],
            layout=widgets.Layout(
                width="372px", min_width="372px", max_height="1040px", overflow="hidden auto"
            ),
        )
        right = widgets.VBox(
            [
                *(self._view_choice.box, over(self._viewer.widget), over(self._sections.box)),
                *(over(self._drawings.box), over(self._chart), over(self._tables.box)),
            ],
            layout=widgets.Layout(flex="1 1 auto", width="auto", overflow="hidden"),
        )
        leaving = [self._form.box, self._save.box, self._said]
        foot = widgets.VBox([self._message, over(self._findings), *leaving])
        styles = widgets.HTML(STALE_STYLE + DIAL_STYLE, layout=widgets.Layout(display="none"))
        return widgets.VBox([styles, widgets.HBox([left, right]), foot])

    # --- dials

    def _on_dial(self, key: str, value: Any) -> None:
        self._turned = {**self._turned, key: value}
        self._turns.submit(self._turned)

    def _apply(self, turns: Turns) -> None:
        """Bring the state, and everything that is shown, to where the dials stand."""
        self._follow(self._state.standing(turns).settled())

    def _say_stopped(self, error: Exception) -> None:
        """Say what no rule foresaw, as loudly as what the rules refuse."""
        self._follow(self._state.standing(self._turned).stopped(_words(error)))

    def _follow(self, state: LabState) -> None:
        """Show a state: what could be made, or what is wrong and that the rest is not current."""
        if state.turns != self._state.turns:
            self._form.answer.turned()
            self._save.answer.turned()
        self._state = state
        if state.shown is not None and state.shown.job is not self._drawn:
            self._show_job(state.shown.job)
        self._dials.mark(state.marks)
        self._stale.say(state.notice)
        wrong = [*state.problems, WAITS] if state.problems else []
        self._message.value = message("\n".join(wrong), Verdict.FAILED)

    def _show_job(self, job: Job) -> None:
        self._drawn = job
        findings, unit = inspect(job), job.design.units
        self._views.forget_missing(job)
        self._view_choice.offer(self._views.colours(job))
        self._show_view()
        self._show_sections()
        self._drawings.show(self._views.drawings(job))
        self._findings.value = findings_table(findings, unit)
        self._chart.value = chart(findings, unit)
        self._tables.show(self._views.tables(job))
        self._said.value = ""

    def _show_view(self) -> None:
        """Show the job in 3D, as the builder chose to look at it."""
        if self._drawn is not None:
            choice = self._view_choice
            self._viewer.show(self._views.layers(self._drawn, choice.side, choice.colour))

    def _show_sections(self) -> None:
        """Show each part cut open where its sliders say."""
        job = self._drawn
        if job is not None:
            parts = {part.name: part for part in job.parts}
            choices = self._sections.follow(self._views.section_planes(job))
            for name, choice in choices.items():
                choice.show(self._views.section(job, parts[name], choice.plane))

    def _say_error(self, error: Exception) -> None:
        self._said.value = message(_words(error), Verdict.FAILED)

    # --- what leaves the lab: what the dials show when the button is pressed, or nothing

    def _ask_export(self) -> None:
        self._form.answer.wait("exporting ...")
        self._exports.submit_soon(lambda: (self._turned, self._form.request))

    def _ask_save(self) -> None:
        self._save.answer.wait("saving ...")
        self._saves.submit_soon(lambda: self._turned)

    def _export_files(self, turns: Turns, asked: ExportRequest) -> None:
        state = self._state.standing(turns).settled()
        if state.refusal:
            self._form.answer.say(refusal("exported", state.refusal))
            return
        chord = read_length_argument("chord error", asked.chord_error)
        done = export(
            make(state.design, chord),
            self._path.parent / asked.folder,
            (self._path.name, state.rewritten()),
            unit=asked.unit,
            paper=asked.paper,
            overwrite=asked.overwrite,
            allow_failed=asked.allow_failed,
        )
        assert state.shown is not None
        changed = changed_elsewhere(state, self._path)
        said = exported(done, inspect(state.shown.job), changed)
        self._say_done(self._form.answer, said, turns)

    def _save_file(self, turns: Turns) -> None:
        state = self._state.standing(turns).settled()
        if state.refusal:
            self._save.answer.say(refusal("saved", state.refusal))
            return
        if read_text(self._path) != state.text:
            raise CarveError(
                f"{self._path} has been changed elsewhere since the lab opened it; nothing was "
                "saved. Run the cell again to start from the changed file."
            )
        text = state.rewritten()
        write_all(self._path.parent, {self._path.name: content(text.encode())}, overwrite=True)
        self._state = self._state.saved(text)
        said = saved(self._path, changed_elsewhere(self._state, self._path))
        self._say_done(self._save.answer, said, turns)

    def _say_done(self, answer: Answer, said: str, turns: Turns) -> None:
        answer.say(said, is_done=True)
        if turns != self._turned:  # while it was being done
            answer.turned()


def _say_failed(answer: Answer, error: Exception) -> None:
    answer.say(failed(error))


def _words(error: Exception) -> str:
    return str(error) or type(error).__name__
