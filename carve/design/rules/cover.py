"""What the keys of a cover must agree on with one another and with the recess it lies in.

Whether its screws find room is known only once there are shapes.
"""

import math
from collections.abc import Iterator

from carve.design.schema.body import Body, Pocket
from carve.design.schema.cover import CoverScrews
from carve.design.schema.design import Design
from carve.design.schema.fields import ROUNDING
from carve.design.values.tolerances import TINY

CORNERED = ("rectangle", "polygon")
"""The shapes of a recess that have corners for screws to stand at."""


def cover_contradictions(design: Design, body: Body, key: str, pocket: Pocket) -> Iterator[str]:
    """Every contradiction about the cover of a pocket. key: the pocket's."""
    cover = pocket.cover
    if cover is None:
        return
    if pocket.kind != "cover recess":
        yield (
            f'{key}.cover: only a pocket of kind "cover recess" has one, and {key}.kind is '
            f'"{pocket.kind}"; leave it out, or write kind = "cover recess"'
        )
        return
    if not isinstance(pocket.depth, float):
        yield (
            f'{key}.cover: it needs a floor to lie on, and {key}.depth is "through"; give the '
            "recess a depth, or leave the cover out"
        )
        return
    if cover.screws is not None:
        thickness = pocket.depth if cover.thickness is None else cover.thickness
        yield from _holes(design, f"{key}.cover.screws", cover.screws, thickness)
        yield from _pilot(design, body, key, cover.screws, pocket.depth)
        yield from _places(key, pocket, cover.screws)


def _holes(design: Design, key: str, screws: CoverScrews, thickness: float) -> Iterator[str]:
    """The holes against one another. thickness: the cover's, mm."""
    hole = screws.diameter
    if screws.pilot > hole:
        yield (
            f"{key}.pilot: {design.show(screws.pilot)} is not allowed; at most {design.show(hole)} "
            f"({key}.diameter), or the screw finds no hold"
        )
    if screws.head is None:
        return
    deepest = thickness - TINY
    most = hole + 2 * deepest * math.tan(math.radians(screws.head_angle / 2))
    if not hole + TINY <= screws.head:
        yield (
            f"{key}.head: {design.show(screws.head)} is not allowed; at least "
            f"{design.show(hole + TINY)}, which is {design.show(TINY)} more than {key}.diameter"
        )
    elif screws.sink > deepest + ROUNDING:
        yield (
            f"{key}.head: {design.show(screws.head)} is not allowed in a cover "
            f"{design.show(thickness)} thick; at most {design.show(most)}, or the countersink goes "
            "through"
        )


def _pilot(
    design: Design, body: Body, key: str, screws: CoverScrews, depth: float
) -> Iterator[str]:
    """The pilot holes against the body's thickness. depth: the recess's, mm."""
    most = body.thickness - depth - TINY
    if screws.pilot_depth > most:
        yield (
            f"{key}.cover.screws.pilot_depth: {design.show(screws.pilot_depth)} is not allowed "
            f"under a recess {design.show(depth)} deep in a body of {design.show(body.thickness)} "
            f"(body.thickness); at most {design.show(most)}"
        )


def _places(key: str, pocket: Pocket, screws: CoverScrews) -> Iterator[str]:
    """Exactly one way of saying where the screws stand."""
    where = f"{key}.cover.screws"
    if screws.points is not None:
        for name in ("count", "from_edge"):
            if getattr(screws, name) is not None:
                yield f"{where}.{name}: not allowed beside {where}.points; leave one of them out"
        return
    if screws.from_edge is None:
        yield f"{where}.from_edge: missing; give it, or the screws' places by {where}.points"
    if screws.count is None and pocket.shape not in CORNERED:
        yield (
            f'{where}.count: missing; {key}.shape is "{pocket.shape}", which has no corners for '
            f"screws; give it, or the screws' places by {where}.points"
        )
