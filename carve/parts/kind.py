"""What a sort of part says of itself. Whatever has one is checked, exported and shown in the lab.

A sort of part is one subclass of ``PartType`` in a file of its own, entered in ``registry``. What
it must say is abstract, so one that leaves something out cannot be made at all.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar

import numpy as np

from carve.arrays import Array
from carve.design.schema.blank import Blank
from carve.design.schema.design import Design
from carve.design.values.tolerances import EXPORT_CHORD as EXPORT_CHORD
from carve.shape.assembly.frames import INSTRUMENT
from carve.solid.faces import Faces
from carve.solid.mesh import Mesh

if TYPE_CHECKING:
    from carve.shape.views.kit.colour_fields import ColourField
    from carve.shape.views.kit.drawing import Drawing, PlanMap
    from carve.shape.views.kit.section_cuts import SectionPlanes
    from carve.shape.views.kit.table import DataTable

S = TypeVar("S")

PREVIEW_CHORD = 0.08  # mm; finer than a pixel of a neck that fills a screen


@dataclass(frozen=True)
class Instance:
    """One part of a design before it is made.

    name: as files, findings and screens have it, ``neck`` or ``cover-controls``; no two parts of
    a design share one. key: where it stands in the design file, ``neck`` or
    ``body.pockets[3].cover``. number: which of its sort it is, from 0.
    """

    name: str
    key: str
    number: int = 0


class PartType(ABC, Generic[S]):
    """A sort of part: which of them a design has, how each is made, machined and shown.

    S: the type of its shape, which no other sort of part has.
    colour: of its wood where nothing else colours it, ``#rrggbb``. frame: in words, the frame of
    its shape, mesh and drawings.
    """

    colour: ClassVar[str] = "#d9b27c"
    frame: ClassVar[str] = INSTRUMENT

    # which there are

    @abstractmethod
    def instances(self, design: Design) -> tuple[Instance, ...]:
        """The parts of this sort that a design has: none, one or many."""

    # how one is made

    @abstractmethod
    def inputs(self, design: Design, instance: Instance) -> tuple[Hashable, ...]:
        """What of the design the part depends on and nothing else: its result is kept under it."""

    @abstractmethod
    def shape(self, *inputs: Hashable) -> S:
        """The shape, from ``inputs``. Raises ShapeError where there is none."""

    @abstractmethod
    def solid(self, shape: S, chord_error: float) -> tuple[Mesh, float]:
        """The closed mesh, and its greatest distance in mm from the shape as measured.

        chord_error: mm that it may be. Raises SolidError where it can't be held.
        """

    @abstractmethod
    def volume(self, shape: S) -> float:
        """Volume in mm^3 by integration, without any mesh."""

    # how one is machined

    @abstractmethod
    def faces(self, shape: S) -> Faces:
        """Which of the mesh's surfaces are cut from the front, which from the back."""

    @abstractmethod
    def blank(self, design: Design, instance: Instance) -> Blank | None:
        """The wood it is cut from, None where the builder says nothing of it."""

    def board_to_saw(self, shape: S) -> tuple[float, float] | None:
        """Length and thickness in mm needed of that wood, None where they are the part's own."""
        return None

    # how one is shown

    def to_instrument(self, design: Design, instance: Instance) -> Array:
        """(4, 4) from the part's frame to the instrument's."""
        return np.eye(4)

    def outlines(self, design: Design, shape: S) -> Mapping[str, Drawing]:
        """Drawings at true scale by name; each becomes files beside the mesh."""
        return {}

    def tables(self, design: Design, shape: S) -> Mapping[str, DataTable]:
        """Tables by name, likewise."""
        return {}

    def sections(self, design: Design, shape: S) -> tuple[Drawing, ...]:
        """Small drawings, for a screen."""
        return ()

    def maps(self, design: Design, shape: S) -> Mapping[str, PlanMap]:
        """Figures over the part as seen from above, by name."""
        return {}

    def colour_fields(self, design: Design, shape: S) -> Mapping[str, ColourField]:
        """Figures that its surfaces may be coloured by, by name."""
        return {}

    def section_cuts(self, design: Design, shape: S) -> SectionPlanes | None:
        """Where it may be cut open to look at the section, None where nowhere."""
        return None
