"""The cover plates as parts: none, one or many, one for each cover recess that asks for one."""

import re
import unicodedata
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from carve.arrays import Array
from carve.design.io.parse import value_at
from carve.design.schema.blank import Blank
from carve.design.schema.body import BodyOutline, Pocket
from carve.design.schema.design import Design
from carve.parts.cache import kept_many
from carve.parts.kind import Instance, PartType
from carve.shape.assembly.frames import COVERS, inverse_rigid
from carve.shape.assembly.neck_on_body import neck_on_body
from carve.shape.body.pocket_plans import PocketOnBody, numbered, pocket_plans
from carve.shape.cover.shape import CoverShape, cover_shape
from carve.shape.views.cover_drawings import cover_outlines
from carve.shape.views.kit.drawing import Drawing
from carve.solid.cover import cover_faces, cover_solid
from carve.solid.faces import SIDES, Faces
from carve.solid.mesh import Mesh

_GIVEN_AWAY = {"cover", "recess"}
"""Words of a recess's name that its cover's file name says anyway."""


@dataclass(frozen=True)
class _Recess:
    """A recess with a cover. key: its pocket's. number: which of the pocket's, from 0."""

    pocket: Pocket
    key: str
    number: int
    name: str


class _Cover(PartType[CoverShape]):
    """One cover for each recess; of a recess drawn as several curves, one for each curve."""

    colour = "#5b4636"
    frame = COVERS

    def instances(self, design: Design) -> tuple[Instance, ...]:
        recesses = _recesses(design)
        names = part_names([recess.name for recess in recesses])
        return tuple(
            Instance(name, f"{recess.key}.cover", number)
            for number, (name, recess) in enumerate(zip(names, recesses, strict=True))
        )

    def inputs(self, design: Design, instance: Instance) -> tuple[Hashable, ...]:
        body, recess = design.body, _recesses(design)[instance.number]
        assert body is not None  # instances says so
        drawing = body.outline if recess.pocket.layer is not None else None
        return recess.pocket, recess.key, recess.number, drawing, body.thickness

    def shape(self, *inputs: Any) -> CoverShape:
        return _shaped(*inputs)

    def solid(self, shape: CoverShape, chord_error: float) -> tuple[Mesh, float]:
        return cover_solid(shape, chord_error)

    def volume(self, shape: CoverShape) -> float:
        return shape.volume()

    def faces(self, shape: CoverShape) -> Faces:
        return cover_faces(shape)

    def blank(self, design: Design, instance: Instance) -> Blank | None:
        blank: Blank | None = value_at(design, instance.key).blank
        return blank

    def to_instrument(self, design: Design, instance: Instance) -> Array:
        shape = self.shape(*self.inputs(design, instance))
        return inverse_rigid(neck_on_body(design).to_body()) @ shape.to_body

    def outlines(self, design: Design, shape: CoverShape) -> Mapping[str, Drawing]:
        return cover_outlines(shape, f"{design.title}, {shape.title}", design.units)


COVER = _Cover()


def part_names(recesses: Sequence[str]) -> list[str]:
    """Names for the covers of recesses, fit for files: ``cover-controls`` for "controls cover".

    No two are alike, and none is another one with a side's name after it, since the files of a
    part's sides are called so.
    """
    found: list[str] = []
    for recess in recesses:
        plain = unicodedata.normalize("NFKD", recess).encode("ascii", "ignore").decode().lower()
        words = [word for word in re.findall("[a-z0-9]+", plain) if word not in _GIVEN_AWAY]
        whole = one = "-".join(["cover", *words])
        number = 1
        while any(_in_the_way(one, other) for other in found):
            number += 1
            one = f"{whole}-{number}"
        found.append(one)
    return found


def _in_the_way(one: str, other: str) -> bool:
    return one == other or any(
        first == f"{second}-{side}"
        for side in SIDES
        for first, second in ((one, other), (other, one))
    )


def _recesses(design: Design) -> list[_Recess]:
    """Every recess with a cover, in the order of the file."""
    found: list[_Recess] = []
    for place, pocket in enumerate(() if design.body is None else design.body.pockets):
        if pocket.cover is None or design.body is None:
            continue
        key, count = f"body.pockets[{place}]", 1
        if pocket.layer is not None:
            count = len(pocket_plans(PocketOnBody(pocket, key, design.body.outline)))
        found += [
            _Recess(pocket, key, number, numbered(pocket.name, number, count))
            for number in range(count)
        ]
    return found


@kept_many(48)
def _shaped(
    pocket: Pocket, key: str, number: int, drawing: BodyOutline | None, thickness: float
) -> CoverShape:
    """The cover of one of a pocket's recesses. drawing: the outline, where it is drawn."""
    recesses = pocket_plans(PocketOnBody(pocket, key, drawing))
    name = numbered(pocket.name, number, len(recesses))
    return cover_shape(pocket, key, name, recesses, number, thickness)
