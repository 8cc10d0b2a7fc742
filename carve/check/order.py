"""Every check there is, in the order in which a part's findings are read.

A check that stands in no line here never runs; ``tests/check/test_order.py`` looks for such.
One that speaks of a part which few designs have is loaded for those alone.
"""

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module

from carve.check.declare import Check
from carve.design.schema.design import Design


def any_design(design: Design) -> bool:
    """Every design."""
    return True


def with_body(design: Design) -> bool:
    """A design with a body."""
    return design.body is not None


@dataclass(frozen=True)
class ListedCheck:
    """A check as the list has it.

    file: where it stands in ``carve/check``, as in ``neck.profile``. wanted: the designs of which
    it may say something; where it is not wanted it finds nothing.
    """

    file: str
    wanted: Callable[[Design], bool] = any_design

    def load(self) -> Check:
        """The check itself."""
        check: Check = import_module(f"carve.check.{self.file}").check
        return check


CHECKS: tuple[ListedCheck, ...] = (
    ListedCheck("every_part.drawing_scale"),
    ListedCheck("every_part.drawing_used"),
    ListedCheck("neck.wood_under_channel"),
    ListedCheck("body.wood", with_body),
    ListedCheck("plate.wood", with_body),
    ListedCheck("neck.wood_behind_nut"),
    ListedCheck("fretboard.wood"),
    ListedCheck("neck.wood_beside_channel"),
    ListedCheck("fretboard.edge"),
    ListedCheck("neck.smoothness"),
    ListedCheck("neck.wood_around_holes"),
    ListedCheck("neck.profile"),
    ListedCheck("neck.heel_blend"),
    ListedCheck("fretboard.radius"),
    ListedCheck("plate.heights", with_body),
    ListedCheck("plate.highest_point", with_body),
    ListedCheck("plate.fairness", with_body),
    ListedCheck("fretboard.frets"),
    ListedCheck("plate.slope", with_body),
    ListedCheck("fretboard.tang"),
    ListedCheck("plate.hollow", with_body),
    ListedCheck("fretboard.along_strings"),
    ListedCheck("plate.falloff", with_body),
    ListedCheck("assembly.string_intonation"),
    ListedCheck("plate.pads", with_body),
    ListedCheck("every_part.blank"),
    ListedCheck("body.wires", with_body),
    ListedCheck("body.boards", with_body),
    ListedCheck("cover.gap", with_body),
    ListedCheck("cover.ledge", with_body),
    ListedCheck("cover.flush", with_body),
    ListedCheck("cover.screws", with_body),
    ListedCheck("every_part.mesh"),
    ListedCheck("assembly.neck_set"),
    ListedCheck("assembly.bridge_on_body", with_body),
    ListedCheck("assembly.bridge_range"),
    ListedCheck("assembly.action"),
    ListedCheck("plate.at_bridge", with_body),
    ListedCheck("assembly.strings_clear"),
    ListedCheck("assembly.nut_and_saddle"),
    ListedCheck("assembly.string_overhang"),
    ListedCheck("assembly.glue_faces"),
    ListedCheck("assembly.finish_flush"),
    ListedCheck("assembly.neck_pocket"),
    ListedCheck("assembly.neck_in_body", with_body),
)


def checks_for(design: Design) -> tuple[Check, ...]:
    """The checks that may find something in a design, in this order."""
    return tuple(listed.load() for listed in CHECKS if listed.wanted(design))


def all_checks() -> tuple[Check, ...]:
    """Every check, whatever a design has."""
    return tuple(listed.load() for listed in CHECKS)
