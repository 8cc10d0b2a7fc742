"""Which cavities wires lead from, and to which others: what an electric body's cavities are for.

Pickups, switches and batteries have their wires go to the controls, a bridge its one ground wire;
from the controls wires go on to the jack. Where there are no controls all goes to the jack. What
a cavity is for is its kind in the design; where no two of these are there, nothing is said.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from carve.shape.body.shape import BodyShape

WireKind = Literal["wires", "ground wire"]

TO_CONTROLS: dict[str, WireKind] = {
    "pickup": "wires",
    "switch": "wires",
    "battery": "wires",
    "bridge": "ground wire",
}
"""Kinds of cavities that wires lead from, and which."""


@dataclass(frozen=True)
class Wire:
    """Wires that lead from a cavity to one of several. source, targets: numbers of removals."""

    kind: WireKind
    source: int
    targets: tuple[int, ...]


def wires_of(shape: BodyShape) -> Iterator[Wire]:
    """Every way that wires take from cavity to cavity."""
    kinds = [taken.kind for taken in shape.removals]
    controls, jacks = (
        tuple(number for number, kind in enumerate(kinds) if kind == wanted)
        for wanted in ("control", "jack")
    )
    for number, kind in enumerate(kinds):
        if kind in TO_CONTROLS and (controls or jacks):
            # a switch's slot through the top opens into the controls: its contacts are in there
            if kind == "switch" and any(_opens_into(shape, number, other) for other in controls):
                continue
            yield Wire(TO_CONTROLS[kind], number, controls or jacks)
    if jacks:
        yield from (Wire("wires", control, jacks) for control in controls)
    else:
        yield from (Wire("wires", control, controls[:1]) for control in controls[1:])


def _opens_into(shape: BodyShape, one: int, other: int) -> bool:
    return any(wall.meets and {wall.one, wall.other} == {one, other} for wall in shape.walls)
