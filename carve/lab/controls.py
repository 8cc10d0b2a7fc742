"""Dials as widgets. Each calls back with its key and new value while it moves."""

import math
from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as widgets

from carve.design.io.dials import DialSpec
from carve.design.values.profile import LETTERS, Dials, Profile, letter_of
from carve.design.values.units import MM_PER_INCH, Unit

Turned = Callable[[str, Any], None]
"""Called with a key and its new value: mm for a length, else as the design holds it."""

OWN = "own"  # what the list of letters shows when the dials are no letter's

_WIDE = widgets.Layout(width="98%")
_LABELS = {"description_width": "146px"}  # the longest, "beyond last fret, mm", whole


def panel(specs: Sequence[DialSpec], unit: Unit, turned: Turned) -> widgets.Widget:
    """All dials under the headings of their groups, stations open and the rest folded."""
    children: list[widgets.Widget] = []
    folded: list[tuple[str, widgets.Widget]] = []
    groups: dict[str, list[DialSpec]] = {}
    for spec in specs:  # a table's own keys may stand before and after a table within it
        groups.setdefault(spec.group, []).append(spec)
    for group, members in groups.items():
        column = widgets.VBox([control(spec, unit, turned) for spec in members])
        if " at " in group:
            children += [widgets.HTML(f"<b>{group}</b>"), column]
        else:
            folded.append((group, column))
    rest = widgets.Accordion(
        children=[column for _, column in folded], titles=tuple(name for name, _ in folded)
    )
    return widgets.VBox([*children, rest])


def control(spec: DialSpec, unit: Unit, turned: Turned) -> widgets.Widget:
    """The widget for one dial."""
    if isinstance(spec.value, Profile):
        return _profile(spec.key, spec.value, turned)
    return _slider(spec, spec.value, unit, turned)


def _slider(spec: DialSpec, value: float, unit: Unit, turned: Turned) -> widgets.Widget:
    per = MM_PER_INCH if spec.is_length and unit == "in" else 1.0
    low, high, step = travel(spec, value, per)
    shown_unit = unit if spec.is_length else spec.unit
    slider = widgets.FloatSlider(
        value=value / per,
        min=low,
        max=high,
        step=step,
        description=f"{spec.label}, {shown_unit}" if shown_unit else spec.label,
        tooltip=spec.meaning,
        readout_format=".3f" if per != 1 or step < 0.01 else ".2f",
        continuous_update=True,
        layout=_WIDE,
        style=_LABELS,
    )
    slider.add_class(css_name(spec.key))
    shown = value / per

    def moved(change: Any) -> None:
        nonlocal shown
        # a page that is being built may send a dial's own value back, off by rounding
        if abs(change["new"] - shown) > step / 100:
            shown = change["new"]
            turned(spec.key, round(shown * per, 6))

    slider.observe(moved, names="value")
    return slider


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


def _profile(key: str, value: Profile, turned: Turned) -> widgets.Widget:
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
