"""Whether any neck angle brings the strings to the bridge, in plain numbers."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from carve.design.schema.design import Design

NEAREST_BRIDGE = 50.0  # mm from the body's edge to the saddle; nearer, no angle is worth reading

Way = Literal["above", "below"]


@dataclass(frozen=True)
class OutOfReach:
    """A bridge that no neck angle reaches; all mm.

    height: of the glue plane over the body's edge plane. away: of the saddle from the glue plane,
    above or below it by ``way``. reach: from the body's edge to the saddle.
    """

    height: float
    away: float
    way: Way
    reach: float


def bridge_out_of_reach(design: Design, top: float) -> Iterator[OutOfReach]:
    """The ends of the bridge's range that no neck angle reaches.

    top: mm of the body's top at the bridge; what a carved top gives is known with its shape only.
    """
    joint, bridge = design.joint, design.bridge
    if joint is None or bridge is None or joint.angle is not None or joint.height is None:
        return
    reach = design.saddle_line.at + bridge.compensation - design.place(joint.at)
    if reach < NEAREST_BRIDGE:
        return
    highest = bridge.height_highest + top - joint.height
    lowest = bridge.height_lowest + top - joint.height
    if highest >= reach:
        yield OutOfReach(joint.height, highest, "above", reach)
    if -lowest >= reach:
        yield OutOfReach(joint.height, -lowest, "below", reach)
