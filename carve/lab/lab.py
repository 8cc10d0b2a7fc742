"""The lab: dials beside the part in 3D, its sections, its findings, and export.

A face over the same calls as the command line, with no geometry of its own. Everything
that draws runs on the kernel's main thread (see ``mainloop``).
"""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import Design, Unit, parse, read_length_argument, read_text, rewrite, with_values
from carve.design.drawing.source import beside, changed_since
from carve.design.io.dials import dials
from carve.design.schema.outline import drawings_in
from carve.errors import CarveError
from carve.export import export
from carve.export.atomic import content, write_all
from carve.lab.charts import chart
from carve.lab.controls import panel
from carve.lab.cut_choice import CutChoice
from carve.lab.mainloop import Latest
from carve.lab.table import findings_table, message, table_html
from carve.lab.viewer import Layer, Viewer
from carve.parts.assembly import assembly_drawings, assembly_outlines, assembly_tables
from carve.parts.job import Job, Part, make, preview_chord
from carve.parts.kind import EXPORT_CHORD
from carve.parts.mirror import for_hand
from carve.parts.outbound import outbound_cut, outbound_maps, outbound_outlines, outbound_sections
from carve.render.map_picture import map_picture
from carve.render.screen_views import SCREEN_WIDTH, fitted_to_screen, row_of_drawings
from carve.shape.assembly.frames import moved
from carve.shape.views.kit.colour_fields import ColourField
from carve.shape.views.kit.drawing import Drawing, extent
from carve.shape.views.kit.paper import PAPERS, Paper, usual_paper
from carve.shop.cautions import CAUTIONS
from carve.solid.faces import SIDES, Side

WHOLE = "whole parts"
PLAIN = "nothing"
SECTION_SCALE = 1.6  # sections on the screen, to one
_WRAPPED = widgets.Layout(flex_flow="row wrap")


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
        self._changes: dict[str, Any] = {}
        self._viewer = Viewer()
        self._shown = _shown_buttons(self._again)
        self._shade = _shade_choice()
        self._cuts: dict[str, CutChoice] = {}
        self._cut_boxes = widgets.VBox()
        self._sections, self._findings = widgets.HTML(), widgets.HTML()
        self._chart, self._tables = widgets.HTML(), widgets.HTML()
        self._export, self._save = (
            _ExportRow(self._ask_export, usual_paper(self._design.units)),
            _save_button(self._path),
        )
        self._said = widgets.HTML()
        self._redraw: Latest[dict[str, Any]] = Latest(self._follow, on_error=self._say_error)
        self._cutting: Latest[Job] = Latest(self._cut_open, on_error=self._say_error)
        self._jobs: Latest[Callable[[], None]] = Latest(lambda job: job(), on_error=self._say_error)
        self._save.on_click(lambda _: self._jobs.submit(self._save_file))
        self.widget = self._laid_out()
        self._follow({})
        self._shade.observe(lambda _: self._again(), "value")

    def _repr_mimebundle_(self, **options: Any) -> Any:
        bundle: Any = self.widget._repr_mimebundle_(**options)
        return bundle

    @property
    def design(self) -> Design:
        """The design as the dials stand."""
        return self._design

    def _laid_out(self) -> widgets.Widget:
        dials_there = panel(dials(self._design), self._design.units, self._turned)
        dials_there.layout.flex = "0 0 auto"  # where there are many, scroll; squeezed, some vanish
        left = widgets.VBox(
            [dials_there],
            layout=widgets.Layout(
                width="372px", min_width="372px", max_height="1040px", overflow="hidden auto"
            ),
        )
        right = widgets.VBox(
            [
                widgets.HBox([self._shown, self._shade], layout=_WRAPPED),
                self._viewer.widget,
                *(self._cut_boxes, self._sections, self._chart, self._tables),
            ],
            layout=widgets.Layout(flex="1 1 auto", width="auto", overflow="hidden"),
        )
        foot = widgets.VBox(
            [self._message, self._findings, self._export.box, self._save, self._said]
        )
        return widgets.VBox([widgets.HBox([left, right]), foot])

    def _again(self) -> None:
        self._redraw.submit(self._changes)

    def _turned(self, key: str, value: Any) -> None:
        self._changes = {**self._changes, key: value}
        self._redraw.submit(self._changes)

    def _follow(self, changes: dict[str, Any]) -> None:
        """Bring everything that is shown to where the dials stand."""
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
        shown = self._shown.value or None
        shades = {part.name: part.type.colour_fields(design, part.shape) for part in job.parts}
        _offer(self._shade, shades)
        chosen = self._shade.value
        self._viewer.show(
            [
                layer
                for part in job.parts
                for layer in layers(job, part, shown, shades[part.name].get(chosen))
            ]
        )
        self._cut_open(job)
        self._sections.value = drawn(job)
        self._findings.value = findings_table(findings, design.units)
        self._chart.value = chart(findings, design.units)
        self._tables.value = tabled(job)

    def _cut_again(self) -> None:
        self._cutting.submit(self._job)

    def _cut_open(self, job: Job) -> None:
        """Show each part cut open where its dials say."""
        for part in job.parts:
            cuts = part.type.section_cuts(job.design, part.shape)
            if cuts is None:
                continue
            choice = self._cuts.get(part.name)
            if choice is None:
                choice = CutChoice(part.name, cuts, job.design.units, self._cut_again)
                self._cuts[part.name] = choice
                self._cut_boxes.children = (*self._cut_boxes.children, choice.box)
            choice.follow(cuts)
            section = outbound_cut(job.design, part, choice.cut)
            choice.show("" if section is None else _section(section))

    def _say_error(self, error: Exception) -> None:
        self._said.value = message(str(error) or type(error).__name__, Verdict.FAILED)

    def _ask_export(self) -> None:
        self._said.value = message("exporting ...", Verdict.GOOD)
        self._jobs.submit(self._export_now)

    def _export_now(self) -> None:
        asked = self._export
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
        lines = [f"wrote {path}" for path in done.paths]
        if done.had_failures:
            lines.append("exported although a finding failed; the manifest says so")
        self._said.value = message("\n".join(lines), Verdict.GOOD) + message(
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


class _ExportRow:
    """Where to export, how, and the button that does it."""

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
        """Unit of the STL."""
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


def _shown_buttons(changed: Callable[[], None]) -> widgets.ToggleButtons:
    """What of each part the picture shows: the whole of it, or what one clamping machines."""
    buttons = widgets.ToggleButtons(
        options=[(WHOLE, ""), *((f"{side} only", side) for side in SIDES)],
        style=widgets.ToggleButtonsStyle(button_width="110px"),
    )
    buttons.add_class("carve-shown")
    buttons.observe(lambda _: changed(), "value")
    return buttons


def _shade_choice() -> widgets.Dropdown:
    """What colours the picture. Until parts have said what they can be coloured by: nothing."""
    choice = widgets.Dropdown(
        options=[PLAIN],
        value=PLAIN,
        description="colour by",
        layout=widgets.Layout(width="260px"),
        style={"description_width": "initial"},
    )
    choice.add_class("carve-shade")
    return choice


def _offer(choice: widgets.Dropdown, shades: Mapping[str, Mapping[str, ColourField]]) -> None:
    """Offer what parts can be coloured by; what is chosen stays, and at first it is the first."""
    names = [*dict.fromkeys(name for of_part in shades.values() for name in of_part), PLAIN]
    if list(choice.options) != names:
        first = list(choice.options) == [PLAIN]
        kept = choice.value if choice.value in names and not first else names[0]
        choice.options = names  # which chooses the first
        choice.value = kept


def _save_button(path: Path) -> widgets.Button:
    return widgets.Button(
        description=f"Save the dials to {path.name}",
        icon="save",
        layout=widgets.Layout(width="max-content"),
    )


def drawn(job: Job) -> str:
    """Small drawings of each part and of how they meet, then the large views.

    Where the page is narrow, small ones go on in the next row and large ones can be scrolled:
    they keep their scale.
    """
    rows = [outbound_sections(job.design, part) for part in job.parts]
    rows.append(assembly_drawings(job.design))
    small = "".join(
        f'<div style="display:flex;flex-wrap:wrap;margin-bottom:8px">'
        f"{''.join(row_of_drawings([drawing], SECTION_SCALE) for drawing in row)}</div>"
        for row in rows
        if row
    )
    large = [view for part in job.parts for view in outbound_outlines(job.design, part).values()]
    large += assembly_outlines(job.design).values()
    pictures = [fitted_to_screen(view) for view in large]
    pictures += [
        map_picture(plan) for part in job.parts for plan in outbound_maps(job.design, part).values()
    ]
    return small + "".join(f'<div style="overflow-x:auto">{view}</div>' for view in pictures)


def _section(drawing: Drawing) -> str:
    """A section as large as the small drawings are, or as large as the page has room for."""
    low, high = extent(drawing)
    is_small = float(high[0] - low[0]) * SECTION_SCALE < SCREEN_WIDTH
    return row_of_drawings([drawing], SECTION_SCALE) if is_small else fitted_to_screen(drawing)


def tabled(job: Job) -> str:
    """The tables of each part and of how they meet, folded."""
    sheets = [
        sheet for part in job.parts for sheet in part.type.tables(job.design, part.shape).values()
    ]
    sheets += assembly_tables(job.design).values()
    return "".join(table_html(sheet) for sheet in sheets)


def layers(
    job: Job, part: Part[Any], side: Side | None = None, shade: ColourField | None = None
) -> list[Layer]:
    """A part as the view shows it, in the instrument's frame.

    shade: what its surfaces are coloured by, those of which it says nothing being plain wood.
    side: only what is machined from there; None shows the whole part.
    """
    placed = part.to_instrument(job.design)
    mesh = part.mesh if side is None else part.type.faces(part.shape).of(part.mesh, side)
    shown, plain = [], list(mesh.names)
    for name, values in {} if shade is None else shade.values.items():
        inside = mesh.only(name)
        if shade is None or not len(inside.triangles):
            continue
        plain.remove(name)
        coloured = for_hand(job.design, inside)
        shown.append(
            Layer(
                f"{part.name}, {name}",
                moved(coloured.points, placed),
                coloured.triangles,
                values(inside.points),
                shade.label,
                (shade.lowest, shade.highest),
                shade.colours,
            )
        )
    rest = for_hand(job.design, mesh.only(*plain) if shown else mesh)
    wood = Layer(part.name, moved(rest.points, placed), rest.triangles, colour=part.type.colour)
    return [*shown, wood]
