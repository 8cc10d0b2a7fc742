"""What the view in 3D shows of the parts, and what colours them."""

from collections.abc import Callable, Sequence

import ipywidgets as widgets

from carve.solid.faces import SIDES, Side

WHOLE = "whole parts"
PLAIN = "nothing"


class ViewChoice:
    """Buttons for the side and a list of colours. ``box`` holds both.

    changed: called when the builder chose something else.
    """

    def __init__(self, changed: Callable[[], None]) -> None:
        self._sides = widgets.ToggleButtons(
            options=[(WHOLE, ""), *((f"{side} only", side) for side in SIDES)],
            style=widgets.ToggleButtonsStyle(button_width="110px"),
        )
        self._sides.add_class("carve-shown")
        self._colours = widgets.Dropdown(
            options=[PLAIN],  # until parts have said what they can be coloured by
            value=PLAIN,
            description="colour by",
            layout=widgets.Layout(width="260px"),
            style={"description_width": "initial"},
        )
        self._colours.add_class("carve-shade")
        self._changed = changed
        self._quiet = False
        for widget in (self._sides, self._colours):
            widget.observe(lambda _: self._chosen(), "value")
        self.box = widgets.HBox(
            [self._sides, self._colours], layout=widgets.Layout(flex_flow="row wrap")
        )

    @property
    def side(self) -> Side | None:
        """The side to show alone, None for whole parts."""
        return next((side for side in SIDES if side == self._sides.value), None)

    @property
    def colour(self) -> str:
        """The name of what colours the parts; a name that no part knows for plain wood."""
        return str(self._colours.value)

    def offer(self, names: Sequence[str]) -> None:
        """Offer what parts can be coloured by. What is chosen stays; at first it is the first."""
        offered = [*names, PLAIN]
        if list(self._colours.options) == offered:
            return
        first = list(self._colours.options) == [PLAIN]
        stays = self.colour in offered and not first
        self._quiet = True  # it is not the builder who chooses
        try:
            chosen = self.colour if stays else offered[0]
            self._colours.options = offered  # which chooses the first
            self._colours.value = chosen
        finally:
            self._quiet = False

    def _chosen(self) -> None:
        if not self._quiet:
            self._changed()
