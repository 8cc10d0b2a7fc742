"""Wood left in the body: between every two of its cuts, and from each to the outside.

Of each kind of wall the thinnest is told, and every other one that is too thin.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.reading.places import show_body_place
from carve.check.reading.walls import Wall, WallKind, walls_of
from carve.check.tolerances import WOOD
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.body.shape import BodyShape

FROM_MOUTH = 1.5  # times the limit; a wall at 45 degrees to the outline is as thick as that there


@dataclass(frozen=True)
class _Held:
    """How walls of a kind are held to a limit.

    name: of their findings. check: the same in words. limit: its key among the limits. advice:
    what makes such a wall thicker.
    """

    name: str
    check: str
    limit: str
    advice: str


HELD = {
    WallKind.UNDER: _Held(
        "wood-under-pocket",
        "wood under the pockets",
        "wood_under_pockets",
        "make {one} shallower",
    ),
    WallKind.OVER: _Held(
        "wood-over-pocket",
        "wood over the pockets from the back",
        "wood_over_pockets",
        "make {one} shallower",
    ),
    WallKind.LAYERS: _Held(
        "wood-between-layers",
        "wood between pockets over one another",
        "wood_under_pockets",
        "make {one} or {other} shallower",
    ),
    WallKind.BETWEEN: _Held(
        "wall-between-pockets",
        "walls between pockets",
        "wood_between_pockets",
        "move {one} and {other} apart, or shorten one",
    ),
    WallKind.NECK: _Held(
        "wall-behind-neck-pocket",
        "wall behind the neck pocket",
        "wood_behind_neck_pocket",
        "move {other} away from the neck pocket, or let the two open into each other",
    ),
    WallKind.EDGE: _Held(
        "wall-to-outside",
        "walls to the body's outside",
        "wood_to_edge",
        "move {one} inward",
    ),
    WallKind.BORE: _Held(
        "wood-around-bore",
        "wood around the bores",
        "wood_around_bores",
        "move {one} to half of the thickness",
    ),
    WallKind.TOP: _Held(
        "hollow-top",
        "hollow body's top",
        "hollow_plate",
        "make body.hollow.top thicker",
    ),
    WallKind.BACK: _Held(
        "hollow-back",
        "hollow body's back",
        "hollow_plate",
        "make body.hollow.back thicker",
    ),
    WallKind.RIM: _Held(
        "hollow-sides",
        "hollow body's sides",
        "hollow_rim",
        "make body.hollow.rim thicker",
    ),
}


@looks_at(each=BodyShape, keys=("units", *(f"limits.{held.limit}" for held in HELD.values())))
def check(job: Job) -> Iterator[Finding]:
    """For each kind of wall that there is, a finding for the thinnest and for all that fail."""
    for part in job.parts_with_shape(BodyShape):
        walls = list(walls_of(part.shape, FROM_MOUTH * job.design.limits.wood_to_edge))
        for kind, held in HELD.items():
            found = sorted(
                (wall for wall in walls if wall.kind is kind), key=lambda wall: wall.wood
            )
            limit = float(getattr(job.design.limits, held.limit))
            thin = [wall for wall in found if wall.wood < limit - WOOD]
            for wall in thin or found[:1]:
                yield _finding(job.design, part.name, wall, held, limit, len(found))


def _finding(
    design: Design, part: str, wall: Wall, held: _Held, limit: float, number: int
) -> Finding:
    judged = at_least(wall.wood, limit, tolerance=WOOD)
    point = wall.place()
    return judged.finding(
        part=part,
        name=f"{held.name}:{wall.key}",
        check=held.check,
        place=f"between {wall.one} and {wall.other}, {show_body_place(design, point[0], point[1])}",
        point=point,
        source=f"limits.{held.limit}; common practice",
        advice=f"{show_length(judged.missing, design.units)} more is needed: "
        + held.advice.format(one=wall.one, other=wall.other),
        detail="" if not judged.good or number < 2 else f"the thinnest of {number}",
    )
