"""Dials as widgets. Each calls back with its key and new value while it moves."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import ipywidgets as widgets

from carve.check.finding import Verdict
from carve.design.io.dials import DialSpec
from carve.design.io.toml_file import IN_DECIMALS, MM_DECIMALS
from carve.design.values.profile import LETTERS, Dials, Profile, letter_of
from carve.design.values.units import MM_PER_INCH, Unit
from carve.lab.tables import message

Turned = Callable[[str, Any], None]
"""Called with a key and its new value: mm for a length, else as the design holds it."""

OWN = "own"  # what the list of letters shows when the dials are no letter's

MARKED, AT_DIAL = "carve-marked", "carve-at-dial"
STYLE = (
    f"<style>.{MARKED}{{border-left:6px solid #b12520;background:#fdecea}}"
    f".{AT_DIAL}{{padding:0 6px 4px}}</style>"
)

_WIDE = widgets.Layout(width="98%")
_LABELS = {"description_width": "146px"}  # the longest, "beyond last fret, mm", whole


class DialPanel:
    """All dials under the headings of their groups, stations open and the rest folded.

    ``widget`` holds them.
    """

    def __init__(self, specs: Sequence[DialSpec], unit: Unit, turned: Turned) -> None:
        groups: dict[str, list[DialSpec]] = {}
        for spec in specs:  # a table's own keys may stand before and after a table within it
            groups.setdefault(spec.group, []).append(spec)
        self._groups = [
            _Group(name, {spec.key: control(spec, unit, turned) for spec in members})
            for name, members in groups.items()
        ]
        self._folded = [group for group in self._groups if " at " not in group.name]
        self._rest = widgets.Accordion(
            children=[group.column for group in self._folded],
            titles=tuple(group.name for group in self._folded),
        )
        children: list[widgets.Widget] = []
        for group in self._groups:
            if group not in self._folded:
                children += [widgets.HTML(f"<b>{group.name}</b>"), group.column]
        self.widget = widgets.VBox([*children, self._rest])

    def mark(self, marks: Mapping[str, str]) -> None:
        """Mark these dials as what is in the way, each with its sentence, and no others."""
        for group in self._groups:
            group.mark(marks)
        titles = tuple(group.title for group in self._folded)
        if titles != self._rest.titles:
            self._rest.titles = titles


class _Group:
    """Dials under one heading, ``column``. A sentence comes and goes at the dial it speaks of."""

    def __init__(self, name: str, dials: Mapping[str, widgets.Box]) -> None:
        self.name = name
        self._dials = dials
        self._sentences: dict[str, widgets.HTML] = {}
        self.column = widgets.VBox(list(dials.values()))

    @property
    def title(self) -> str:
        """The heading; where the dials are folded away it says that one of them is marked."""
        return f"\N{BALLOT X} {self.name}: see the marked dial" if self._sentences else self.name

    def mark(self, marks: Mapping[str, str]) -> None:
        """As for ``DialPanel``; marks of other dials are left out."""
        for key in self._sentences.keys() - marks.keys():
            dial, sentence = self._dials[key], self._sentences.pop(key)
            dial.remove_class(MARKED)
            dial.children = [child for child in dial.children if child is not sentence]
            sentence.close()
        for key in self._dials.keys() & marks.keys():
            if key not in self._sentences:
                # last, and in the dial's own box: a page builds anew all that stands behind what
                # is put in, and the builder may be holding a slider there
                self._sentences[key] = _sentence()
                self._dials[key].children = (*self._dials[key].children, self._sentences[key])
                self._dials[key].add_class(MARKED)
            said = message(marks[key], Verdict.FAILED)
            self._sentences[key].value = f'<div role="alert">{said}</div>'


def _sentence() -> widgets.HTML:
    sentence = widgets.HTML(layout=widgets.Layout(flex="1 1 100%", width="auto"))
    sentence.add_class(AT_DIAL)
    return sentence


def control(spec: DialSpec, unit: Unit, turned: Turned) -> widgets.Box:
    """The widget for one dial."""
    if isinstance(spec.value, Profile):
        return _profile(spec.key, spec.value, turned)
    return _number(spec, spec.value, unit, turned)


def _number(spec: DialSpec, value: float, unit: Unit, turned: Turned) -> widgets.HBox:
    """A slider, and a field beside it for a number that lies on none of the slider's steps.

    What the field says counts. A number beyond the slider's travel is the design's to judge.
    """
    per = MM_PER_INCH if spec.is_length and unit == "in" else 1.0
    decimals = MM_DECIMALS if per == 1 else IN_DECIMALS
    low, high, step = travel(spec, value, per)
    shown_unit = unit if spec.is_length else spec.unit
    slider = widgets.FloatSlider(
        value=value / per,
        min=low,
        max=high,
        step=step,
        description=f"{spec.label}, {shown_unit}" if shown_unit else spec.label,
        tooltip=spec.meaning,
        readout=False,
        continuous_update=True,
        layout=widgets.Layout(flex="1 1 200px", width="auto", min_width="0"),
        style=_LABELS,
    )
    field = widgets.FloatText(
        value=round(value / per, decimals),
        tooltip=spec.meaning,
        layout=widgets.Layout(flex="0 0 auto", width="80px"),
    )
    stands, said = slider.value, field.value

    def moved(change: Any) -> None:
        nonlocal stands, said
        # a page that is being built may send a dial's own value back, off by rounding
        if abs(change["new"] - stands) > step / 100:
            stands, said = change["new"], round(change["new"], decimals)
            field.value = said
            turned(spec.key, said * per)

    def typed(change: Any) -> None:
        nonlocal stands, said
        number = round(change["new"], decimals)
        if number != said:
            said = number
            # a slider that is set between two of its steps would go to one and send that back
            stands = low + round((min(max(said, low), high) - low) / step) * step
            slider.value = stands
            turned(spec.key, said * per)

    slider.observe(moved, names="value")
    field.observe(typed, names="value")
    box = widgets.HBox([slider, field], layout=widgets.Layout(width="98%", flex_flow="row wrap"))
    box.add_class(css_name(spec.key))
    return box


def travel(spec: DialSpec, value: float, per: float) -> tuple[float, float, float]:
    """Lowest, highest and step of a dial, divided by ``per``, with the value on a step.

    A slider snaps to its steps. Counted from the lowest end of the travel, a value such as
    628.65 mm would lie between two of them, and the slider would change the design merely by
    being shown.
    """
    assert spec.lowest is not None
    assert spec.highest is not None
    assert spec.step is not None
    step = max(round(spec.step / per, 3), 0.001)
    below = math.floor((value - spec.lowest) / per / step + 1e-9)
    above = math.floor((spec.highest - value) / per / step + 1e-9)
    return value / per - below * step, value / per + above * step, step


def _profile(key: str, value: Profile, turned: Turned) -> widgets.Box:
    apart = widgets.Checkbox(
        value=not value.symmetric, description="treble side apart", indent=False
    )
    bass = _Side("", value.bass)
    treble = _Side("treble ", value.treble)

    def show_sides(*_: Any) -> None:
        treble.box.layout.display = "" if apart.value else "none"

    def tell(*_: Any) -> None:
        side = bass.dials
        turned(key, Profile(bass=side, treble=treble.dials if apart.value else side))

    show_sides()
    apart.observe(show_sides, names="value")
    apart.observe(tell, names="value")
    bass.watch(tell)
    treble.watch(tell)
    box = widgets.VBox([bass.box, apart, treble.box])
    box.add_class(css_name(key))
    return box


class _Side:
    """Letter, shoulder and keel of one side; the letter follows the dials and they it."""

    def __init__(self, prefix: str, dials: Dials) -> None:
        self._letter = widgets.Dropdown(
            options=[*LETTERS, OWN],
            value=letter_of(dials) or OWN,
            description=f"{prefix}shape",
            layout=_WIDE,
            style=_LABELS,
        )
        self._shoulder = _share(f"{prefix}shoulder", dials.shoulder)
        self._keel = _share(f"{prefix}keel", dials.keel)
        self._quiet = False
        self._tell: Callable[[], None] = lambda: None
        self._letter.observe(self._letter_chosen, names="value")
        self._shoulder.observe(self._dial_moved, names="value")
        self._keel.observe(self._dial_moved, names="value")
        self.box = widgets.VBox([self._letter, self._shoulder, self._keel])

    @property
    def dials(self) -> Dials:
        return Dials(round(self._shoulder.value, 4), round(self._keel.value, 4))

    def watch(self, tell: Callable[[], None]) -> None:
        self._tell = tell

    def _letter_chosen(self, change: Any) -> None:
        if self._quiet or change["new"] == OWN:
            return
        preset = LETTERS[change["new"]]
        self._set(lambda: self._move(preset))
        self._tell()

    def _move(self, dials: Dials) -> None:
        self._shoulder.value, self._keel.value = dials.shoulder, dials.keel

    def _dial_moved(self, change: Any) -> None:
        if self._quiet:
            return
        self._set(lambda: setattr(self._letter, "value", letter_of(self.dials) or OWN))
        self._tell()

    def _set(self, change: Callable[[], None]) -> None:
        """Move widgets of ours without taking it for the builder's hand."""
        self._quiet = True
        try:
            change()
        finally:
            self._quiet = False


def _share(label: str, value: float) -> widgets.FloatSlider:
    return widgets.FloatSlider(
        value=value,
        min=0,
        max=1,
        step=0.01,
        description=label,
        readout_format=".2f",
        continuous_update=True,
        layout=_WIDE,
        style=_LABELS,
    )


def css_name(key: str) -> str:
    """A class name for the widget of a key, so that a page can be searched for it."""
    return "carve-" + key.replace("[", "-").replace("]", "").replace(".", "-").replace("_", "-")
