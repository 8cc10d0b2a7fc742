"""Where neck and bridge come to stand on the body: its edge, and the saddle's line."""

from collections.abc import Iterator

import numpy as np
import shapely

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_least, at_most
from carve.check.reading.keys import SIDE_VIEW
from carve.check.tolerances import CHORDS, WOOD
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.frames import moved
from carve.shape.assembly.neck_on_body import neck_on_body
from carve.shape.body.shape import BodyShape


@looks_at(each=BodyShape, keys=("limits.body_edge", "limits.bridge_to_edge", "units", *SIDE_VIEW))
def check(job: Job) -> Iterator[Finding]:
    """A finding on the body's edge, and one on the bridge where the design has one."""
    for part in job.parts_with_shape(BodyShape):
        yield _edge(job.design, part.shape)
        if job.design.bridge is not None:
            yield _saddle(job.design, part.shape)


def _edge(design: Design, shape: BodyShape) -> Finding:
    """How far the outline crosses the centre line from where the neck meets the body."""
    unit, limit = design.units, design.limits.body_edge
    x0, _, x1, _ = shape.polygon.bounds
    axis = shapely.LineString([(min(x0, 0.0) - 1.0, 0.0), (max(x1, 0.0) + 1.0, 0.0)])
    crossed = shapely.get_coordinates(shapely.intersection(shape.polygon.exterior, axis))[:, 0]
    edge = float(crossed[np.argmin(np.abs(crossed))]) if len(crossed) else float("inf")
    return at_most(abs(edge), limit, tolerance=CHORDS, missed=Verdict.WARNING).finding(
        part="assembly",
        name="body-edge",
        check="body's edge on the centre line",
        place="from where the neck meets the body (joint.at)",
        point=(edge, 0.0, 0.0) if len(crossed) else None,
        source="limits.body_edge; common practice",
        advice=f"move the outline {show_length(abs(edge), unit)} toward the "
        f"{'neck' if edge > 0 else 'tail'}, or joint.at the other way",
    )


def _saddle(design: Design, shape: BodyShape) -> Finding:
    """Least distance of the outer strings at the saddle from the outline, negative outside."""
    unit, limit, strings = design.units, design.limits.bridge_to_edge, design.strings
    assert design.bridge is not None
    line = design.saddle_line.moved(design.bridge.compensation)
    spread, offset = (
        (0.0, 0.0) if strings is None else (strings.bridge_spread, strings.bridge_offset)
    )
    across = offset + np.array([-spread, spread]) / 2
    ends = np.stack([line.at + line.slant * across, across, np.zeros(2)], 1)
    placed = moved(ends, neck_on_body(design).to_body())
    points = shapely.points(placed[:, :2])
    away = shapely.distance(shape.polygon.exterior, points)
    away = np.where(shapely.contains(shape.polygon, points), away, -away)
    least = int(np.argmin(away))
    judged = at_least(float(away[least]), limit, tolerance=WOOD)
    return judged.finding(
        part="assembly",
        name="saddle-on-body",
        check="saddle on the body",
        place=f"{'outer bass' if least == 0 else 'outer treble'} string, "
        f"{show_length(float(placed[least, 0]), unit)} from the body's edge",
        point=(float(placed[least, 0]), float(placed[least, 1]), 0.0),
        source="limits.bridge_to_edge; common practice",
        advice=f"make the body {show_length(judged.missing, unit)} longer or wider there, or let "
        "the neck further into the body (joint.at)",
    )
