"""Where each part is cut open: a few sliders, and the section under them."""

import math
from collections.abc import Callable, Mapping
from typing import Any

import ipywidgets as widgets

from carve.design.values.units import MM_PER_INCH, Unit
from carve.shape.views.kit.section_cuts import SectionPlane, SectionPlanes

START = 0.5  # of the part's length: where it is cut open first
TURN = 90.0  # degrees either way of the centre line
_STEPS: dict[Unit, float] = {"mm": 1.0, "in": 1 / 16}
_LAYOUT = widgets.Layout(width="380px")


class SectionChoices:
    """The choice of each part that can be cut open, by the part's name. ``box`` holds them.

    changed: called when a slider has moved. A part that goes and comes back, as dials turn, finds
    its sliders where they stood.
    """

    def __init__(self, unit: Unit, changed: Callable[[], None]) -> None:
        self._unit, self._changed = unit, changed
        self._choices: dict[tuple[str, bool], SectionChoice] = {}
        self.box = widgets.VBox()

    def follow(self, planes: Mapping[str, SectionPlanes]) -> Mapping[str, "SectionChoice"]:
        """The choices of these parts, their sliders reaching as far as the parts do now."""
        shown = {}
        for name, of_part in planes.items():
            kind = name, of_part.aside is None  # one that is only cut square across has one slider
            if kind in self._choices:
                self._choices[kind].follow(of_part)
            else:
                self._choices[kind] = SectionChoice(name, of_part, self._unit, self._changed)
            shown[name] = self._choices[kind]
        boxes = tuple(choice.box for choice in shown.values())
        if boxes != tuple(self.box.children):
            self.box.children = boxes
        return shown


class SectionChoice:
    """Sliders for one part's section. What is asked for stays while the design changes.

    changed: called when a slider has moved.
    """

    def __init__(
        self, part: str, planes: SectionPlanes, unit: Unit, changed: Callable[[], None]
    ) -> None:
        self._per = MM_PER_INCH if unit == "in" else 1.0
        self._unit = unit
        low, high = planes.along
        self._x = self._slider(f"{planes.start}, {unit}", planes.along, low + START * (high - low))
        self._y = self._slider(f"toward treble, {unit}", planes.aside or (0.0, 0.0), 0.0)
        self._angle = widgets.FloatSlider(
            value=TURN,
            min=-TURN,
            max=TURN,
            step=1.0,
            description="to the centre line, °",
            readout_format=".0f",
            layout=_LAYOUT,
            style={"description_width": "150px"},
        )
        sliders = [self._x] if planes.aside is None else [self._x, self._y, self._angle]
        for slider in sliders:
            slider.observe(lambda _: self._moved(changed), "value")
        self._picture = widgets.HTML()
        self._quiet = False
        row = widgets.HBox(
            [widgets.HTML(f"<b>{part} cut open</b>"), *sliders],
            layout=widgets.Layout(flex_flow="row wrap"),
        )
        self.box = widgets.VBox([row, self._picture])
        self.box.add_class(f"carve-cut-{part}")

    @property
    def plane(self) -> SectionPlane:
        """The plane as the sliders stand."""
        angle = math.radians(self._angle.value)
        return SectionPlane(self._x.value * self._per, self._y.value * self._per, angle)

    def follow(self, planes: SectionPlanes) -> None:
        """Let the sliders reach as far as the part does now."""
        self._quiet = True
        try:
            self._reach(self._x, planes.along)
            if planes.aside is not None:
                self._reach(self._y, planes.aside)
        finally:
            self._quiet = False

    def show(self, picture: str) -> None:
        """Put the section under the sliders. picture: the text of an SVG."""
        self._picture.value = f'<div style="overflow-x:auto">{picture}</div>'

    def _moved(self, changed: Callable[[], None]) -> None:
        if not self._quiet:
            changed()

    def _slider(self, label: str, ends: tuple[float, float], value: float) -> widgets.FloatSlider:
        step = _STEPS[self._unit]
        low, high = self._stops(ends)
        return widgets.FloatSlider(
            value=min(max(round(value / self._per / step) * step, low), high),
            min=low,
            max=high,
            step=step,
            description=label,
            readout_format=".0f" if self._unit == "mm" else ".4f",
            layout=_LAYOUT,
            style={"description_width": "150px"},
        )

    def _stops(self, ends: tuple[float, float]) -> tuple[float, float]:
        """The whole steps between two ends in mm."""
        step = _STEPS[self._unit]
        low, high = (end / self._per / step for end in ends)
        return math.ceil(low - 1e-9) * step, math.floor(high + 1e-9) * step

    def _reach(self, slider: Any, ends: tuple[float, float]) -> None:
        low, high = self._stops(ends)
        if (slider.min, slider.max) != (low, high):
            # the widget refuses a least value above its greatest, so the wider of both comes first
            slider.min, slider.max = min(low, slider.min), max(high, slider.max)
            slider.min, slider.max = low, high
