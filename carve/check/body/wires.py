"""Whether wires find their way: from every pickup to the controls, and from those to the jack.

The way is as wide as the thickest round bar that could be pushed along it, were it to bend.
"""

from collections.abc import Iterator
from dataclasses import replace

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.reading.places import show_body_place
from carve.check.reading.walls import removal_keys
from carve.check.reading.wires import Wire, WireKind, wires_of
from carve.check.tolerances import CHORDS
from carve.design.schema.design import Design
from carve.parts.job import Job
from carve.shape.body.clearance import Clearance
from carve.shape.body.passages import Ways, WireWay
from carve.shape.body.shape import BodyShape

TOUCHING = 0.05  # mm; less between two cavities is no wood

LIMITS: dict[WireKind, str] = {"wires": "wire_channel", "ground wire": "ground_wire"}
"""The limits' keys for how wide their way must be."""


@looks_at(each=BodyShape, keys=("units", *(f"limits.{limit}" for limit in LIMITS.values())))
def check(job: Job) -> Iterator[Finding]:
    """One finding for each cavity that wires lead from."""
    for part in job.parts_with_shape(BodyShape):
        shape, ways = part.shape, Ways(part.shape)
        keys = removal_keys(shape)
        for wire in wires_of(shape):
            asked = float(getattr(job.design.limits, LIMITS[wire.kind]))
            way = ways.widest(wire.source, wire.targets)
            # a width that is found in steps may be told a little less than it is
            if way.width < asked and ways.passes(asked, wire.source, wire.targets):
                way = replace(way, width=asked)
            yield _finding(job.design, part.name, shape, wire, way, keys[wire.source])


def _finding(
    design: Design, part: str, shape: BodyShape, wire: Wire, way: WireWay, key: str
) -> Finding:
    limit = LIMITS[wire.kind]
    asked = float(getattr(design.limits, limit))
    source, target = shape.removals[wire.source].name, shape.removals[way.target].name
    names = [shape.removals[number].name for number in way.narrowest]
    if way.between:
        gaps = [_gap(design, shape, wall) for wall in way.between]
        detail = ", ".join(gaps)
        first = way.between[0]
        ends = f"{shape.removals[first.one].name} to {shape.removals[first.other].name}"
        advice = f"drill a bore or rout a channel at least {design.show(asked)} wide from {ends}"
        if len(gaps) > 1:
            advice += ", and so on through the rest"
    else:
        where = f"where {names[0]} opens into {names[1]}" if len(names) > 1 else f"in {names[0]}"
        detail = f"narrowest {where}"
        advice = f"make it {design.show(asked - way.width)} wider {where}"
    judged = at_least(way.width, asked, tolerance=CHORDS)
    return judged.finding(
        part=part,
        name=f"wire-way:{key}",
        check=f"way for {'a ' if wire.kind == 'ground wire' else ''}{wire.kind}",
        place=f"from {source} to {target}, {show_body_place(design, *way.point[:2])}",
        point=way.point,
        source=f"limits.{limit}; common practice",
        detail=detail,
        advice=advice,
    )


def _gap(design: Design, shape: BodyShape, wall: Clearance) -> str:
    """What stands between two cavities, in words."""
    one, other = (shape.removals[number].name for number in (wall.one, wall.other))
    if wall.wood < TOUCHING:
        return f"{one} and {other} touch without an opening"
    return f"{design.show(wall.wood)} of wood between {one} and {other}"
