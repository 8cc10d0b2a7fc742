"""A table of figures as a value: what it is about, its columns and its rows."""

from dataclasses import dataclass


@dataclass(frozen=True)
class DataTable:
    """A table to print or to open in a spreadsheet. head: one word group a column, with units."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
