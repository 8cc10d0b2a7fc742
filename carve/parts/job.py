"""Parts as they are made: a design, its parts with their meshes, and what is asked of them."""

from collections.abc import Collection, Hashable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Generic, TypeVar, cast

from carve.arrays import Array
from carve.design.schema.blank import Blank
from carve.design.schema.design import Design
from carve.parts.cache import kept_each
from carve.parts.kind import EXPORT_CHORD, PREVIEW_CHORD, Instance, PartType
from carve.parts.registry import part_types
from carve.parts.sentences.said import in_sentences
from carve.solid.as_written import as_written
from carve.solid.mesh import Mesh, Soundness, soundness

S = TypeVar("S")

TURNS = 8  # of a dial back, that a part is kept for


@dataclass(frozen=True, eq=False)
class Part(Generic[S]):
    """A part that has been made.

    type: its sort. instance: which of them. shape: the shape, of type S. mesh: closed, in the
    part's own frame, mm. chord_bound, chord_error: mm, what was asked and what was measured.
    """

    type: PartType[S]
    instance: Instance
    shape: S
    mesh: Mesh
    chord_bound: float
    chord_error: float

    @property
    def name(self) -> str:
        """The part's name, as in ``neck``."""
        return self.instance.name

    def blank(self, design: Design) -> Blank | None:
        """The wood it is cut from, None where the builder says nothing of it."""
        return self.type.blank(design, self.instance)

    def to_instrument(self, design: Design) -> Array:
        """(4, 4) from the part's frame to the instrument's."""
        return self.type.to_instrument(design, self.instance)

    # what follows from the mesh and is asked at every turn of a dial, also of parts that stay

    @cached_property
    def written(self) -> Mesh:
        """The mesh as a file has it, with 32-bit coordinates."""
        return as_written(self.mesh)

    @cached_property
    def state(self) -> Soundness:
        """What is wrong with the mesh as written."""
        return soundness(self.written)

    @cached_property
    def integral(self) -> float:
        """Volume in mm^3 by the shape's sections, without the mesh."""
        return float(self.type.volume(self.shape))


@dataclass(frozen=True, eq=False)
class Job:
    """A design with its parts made.

    design: the one they were made from, with ``bridge.top_height`` filled in. parts: in the
    order of the registry.
    """

    design: Design
    parts: tuple[Part[Any], ...]

    def parts_with_shape(self, shape: type[S]) -> list[Part[S]]:
        """The parts whose shape is of a type: ``job.parts_with_shape(NeckShape)``."""
        return [part for part in self.parts if isinstance(part.shape, shape)]


def preview_chord(design: Design) -> float:
    """Chord error in mm for a picture: never coarser than what the checks hold profiles to."""
    return min(PREVIEW_CHORD, 0.8 * design.limits.profile)


def make(
    design: Design, chord_error: float = EXPORT_CHORD, only: Collection[str] | None = None
) -> Job:
    """Make the parts that a design has. chord_error: mm. only: names of parts, by default all.

    Raises DesignError where the design asks for what cannot be, SolidError where no mesh keeps
    within the chord error.
    """
    with in_sentences(design.units):
        design = _resolved(design)
        parts = tuple(
            _made((kind, instance), kind.inputs(design, instance), chord_error)
            for kind in part_types(design)
            for instance in kind.instances(design)
            if only is None or instance.name in only
        )
    return Job(design, parts)


def shapes_of(kind: PartType[S], design: Design) -> tuple[S, ...]:
    """The shapes alone of a sort's parts, the same ones that ``make`` gives the parts.

    Raises DesignError as ``make``.
    """
    with in_sentences(design.units):
        design = _resolved(design)
        return tuple(
            cast(S, _shaped((kind, instance), kind.inputs(design, instance)))
            for instance in kind.instances(design)
        )


def shape_of(kind: PartType[S], design: Design) -> S:
    """The shape of the only part of a sort. Raises ValueError where there is not just one."""
    (shape,) = shapes_of(kind, design)
    return shape


def _resolved(design: Design) -> Design:
    """The design with what follows from its carved top filled in."""
    if design.body is None:
        return design
    from carve.parts.settle import resolve_top_height  # not loaded for a neck alone

    return resolve_top_height(design)


Which = tuple[PartType[Any], Instance]
"""One part of a design, before it is made."""


@kept_each(TURNS)
def _shaped(which: Which, inputs: tuple[Hashable, ...]) -> Any:
    return which[0].shape(*inputs)


@kept_each(TURNS)
def _made(which: Which, inputs: tuple[Hashable, ...], chord_error: float) -> Part[Any]:
    kind, instance = which
    shape = _shaped(which, inputs)
    mesh, measured = kind.solid(shape, chord_error)
    return Part(kind, instance, shape, mesh, chord_error, measured)
