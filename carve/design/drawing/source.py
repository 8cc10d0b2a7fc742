"""Where drawings come from: a file beside the design, read once and part of it from then on."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from carve.design.drawing.model import LARGEST, LEAVE_OUT, Drawn
from carve.design.drawing.read import read_drawing
from carve.design.values.quote import quoted
from carve.design.values.regular_file import NotRead, TooLarge, read_regular, shown_path


@dataclass(frozen=True)
class DrawingFile:
    """A drawing beside the design file.

    name: as the design says it. data: its bytes, None where it was not looked up, which is
    while a text is only being compared. drawn: what they hold.
    """

    name: str
    data: bytes | None = field(default=None, repr=False)
    drawn: Drawn | None = field(default=None, compare=False, repr=False)


DrawingSource = Callable[[str], DrawingFile]
"""Finds a drawing by its name; raises ValueError with a sentence where it can't be had."""


def beside(folder: Path) -> DrawingSource:
    """Drawings beside a design file, read from the disk."""

    def find(name: str) -> DrawingFile:
        try:
            data = read_regular(folder / name, LARGEST)
        except TooLarge as error:
            raise ValueError(f"the drawing {quoted(name)} {error}{LEAVE_OUT}") from None
        except NotRead as error:
            looked = f"(looked in {shown_path(folder)})"
            raise ValueError(f"the drawing {quoted(name)} {error} {looked}") from None
        try:
            return DrawingFile(name, data, read_drawing(data))
        except ValueError as error:
            raise ValueError(f"{quoted(name)} {error}") from None

    return find


def no_drawings(name: str) -> DrawingFile:
    """For a design that was not read from a file."""
    raise ValueError(
        f"{quoted(name)} cannot be looked up: this design comes from no file, so there is no "
        "folder to look in"
    )


def known(files: Mapping[str, DrawingFile]) -> DrawingSource:
    """Drawings that are at hand already; another one is left a bare name."""
    return lambda name: files.get(name, DrawingFile(name))


def changed_since(files: Mapping[str, DrawingFile], find: DrawingSource) -> Iterator[str]:
    """A sentence for each drawing that is no longer found as it was read."""
    for name, file in files.items():
        try:
            if find(name) != file:
                yield f"{quoted(name)} has been changed since it was read"
        except ValueError as error:
            yield str(error)
