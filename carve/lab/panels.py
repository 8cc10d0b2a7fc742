"""A column of HTML in pieces, so that a turn of a dial sends only the pieces it has changed."""

from collections.abc import Mapping

import ipywidgets as widgets


class Panels:
    """A widget for each piece, under its name. ``box`` is the column."""

    def __init__(self) -> None:
        self.box = widgets.VBox()
        self._pieces: dict[str, widgets.HTML] = {}

    def show(self, pieces: Mapping[str, str]) -> None:
        """Show these pieces in this order, and no others. Empty ones take no room."""
        wanted = {name: text for name, text in pieces.items() if text}
        before = self._pieces
        self._pieces = {name: before.get(name) or widgets.HTML() for name in wanted}
        for name, text in wanted.items():
            self._pieces[name].value = text  # sent only where it differs
        if list(self._pieces) != list(before):
            self.box.children = tuple(self._pieces.values())
        for name in before.keys() - wanted.keys():
            before[name].close()

    @property
    def text(self) -> str:
        """All that is shown, as one text."""
        return "".join(piece.value for piece in self._pieces.values())
