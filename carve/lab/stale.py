"""Marks what is shown as not current: dimmed, and said in words above it."""

from html import escape

import ipywidgets as widgets

DIMMED = "carve-stale"
STYLE = f"<style>.{DIMMED}{{opacity:.6;filter:grayscale(.8)}}</style>"

_NOTICE = (
    "margin:4px 0;padding:4px 10px;border:2px solid #b12520;border-left-width:8px;"
    "background:#fdecea;color:#7d1610;font:bold 13px/1.4 sans-serif"
)


class StaleMarks:
    """One notice over everything that may be out of date, and that dimmed while it stands."""

    def __init__(self) -> None:
        self._notice = widgets.HTML(layout=widgets.Layout(display="none", width="auto"))
        self._notice.add_class("carve-notice")
        self._marked: list[widgets.DOMWidget] = []

    def over(self, *shown: widgets.DOMWidget) -> widgets.DOMWidget:
        """These under one another, with the place for the notice above them."""
        box = widgets.VBox(list(shown))
        self._marked.append(box)
        return widgets.VBox([self._notice, box])

    def say(self, notice: str) -> None:
        """Mark all with this sentence; with none, nothing is marked."""
        if notice:
            self._notice.value = f'<div style="{_NOTICE}">&#10007; {escape(notice)}</div>'
        self._notice.layout.display = "" if notice else "none"
        for box in self._marked:
            (box.add_class if notice else box.remove_class)(DIMMED)
