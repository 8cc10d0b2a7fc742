"""How long the heel's blend is: what rules and shapes must agree on."""

from carve.design.schema.heel import Heel

USUAL_BLEND = 40.0  # mm, common practice; a blend of which nothing is said is no longer
SHORTEST_BLEND = 10.0  # mm, common practice; a shorter one the hand feels as a step


def longest_blend(heel: Heel) -> float:
    """Length in mm of the heel's blend where no station makes it shorter."""
    return USUAL_BLEND if heel.blend is None else heel.blend


def shortest_blend(heel: Heel) -> float:
    """Length in mm that a station may leave it; one asked shorter may be as short as asked."""
    return min(SHORTEST_BLEND, longest_blend(heel))
