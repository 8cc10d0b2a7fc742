"""What a file format says of itself: one kind for meshes, one for drawings, one for tables.

A format is one file in this folder that ends in a ``FORMAT`` of one of these kinds, and one line
in ``registry``. What a format must say has no default, so one that leaves it out cannot be made;
one that stands in no register is found by ``tests/export/formats/test_format_registry.py``.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass

from carve.design.values.units import Unit
from carve.shape.views.kit.drawing import Drawing
from carve.shape.views.kit.paper import Paper
from carve.shape.views.kit.table import DataTable
from carve.solid.mesh import Mesh


@dataclass(frozen=True)
class MeshLabel:
    """What a mesh's file says of the mesh.

    title: of the design. part: which part, and where only one side is written, which. unit: of
    the coordinates.
    """

    title: str
    part: str
    unit: Unit


@dataclass(frozen=True)
class Printing:
    """The paper that drawings are printed on, and the unit of the bar to measure it by."""

    paper: Paper
    unit: Unit


def every_drawing(drawing: Drawing) -> bool:
    """For a format that any drawing may be written in."""
    return True


@dataclass(frozen=True)
class _Format:
    """ending: of its files' names, ``.stl``. holds: what such a file is for, in words."""

    ending: str
    holds: str

    def __post_init__(self) -> None:
        if not re.fullmatch(r"\.[a-z0-9]+", self.ending):
            raise ValueError(f"{self.ending!r}: a file ending is a dot and small letters or digits")
        if not self.holds:
            raise ValueError(f"{self.ending}: say what such a file holds")


@dataclass(frozen=True)
class MeshFormat(_Format):
    """write: from a mesh, its coordinates in the label's unit, to a file's content."""

    write: Callable[[Mesh, MeshLabel], bytes]


@dataclass(frozen=True)
class DrawingFormat(_Format):
    """write: from a drawing in mm to a file's content. suits: whether a drawing gets one."""

    write: Callable[[Drawing, Printing], bytes]
    suits: Callable[[Drawing], bool] = every_drawing


@dataclass(frozen=True)
class TableFormat(_Format):
    """write: from a table to a file's content."""

    write: Callable[[DataTable], bytes]
