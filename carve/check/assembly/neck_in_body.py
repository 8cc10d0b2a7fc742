"""The neck's heel in the body's pocket: how high the neck comes to stand, and its room there."""

import math
from collections.abc import Iterator

import numpy as np
import shapely

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_least, at_most, first_missed, within
from carve.check.reading.keys import HEEL_IN_BODY
from carve.check.tolerances import CHORDS, STRING
from carve.design.schema.assembly import Joint
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.neck_on_body import heel_in_body
from carve.shape.body.cuts import Cut
from carve.shape.body.heel_in_body import HeelInBody
from carve.shape.body.shape import BodyShape

OUT = 400.0  # mm that the heel's plan is carried on out of the body; no horn is longer
STEP = 0.5  # mm between the places around what is shared
CHORD = 1e-3  # mm; of the round corners, whose chords take from the room


@looks_at(
    each=BodyShape,
    keys=("limits.neck_height", "limits.pocket_play", "units", *HEEL_IN_BODY),
)
def check(job: Job) -> Iterator[Finding]:
    """Three findings for a body with a neck pocket and a neck with a heel."""
    joint, heel = job.design.joint, heel_in_body(job.design)
    if joint is None or heel is None:
        return
    for part in job.parts_with_shape(BodyShape):
        for cut in part.shape.cuts:
            if cut.kind == "neck" and math.isfinite(cut.low):
                yield _height(job.design, heel, cut)
                yield _room(job.design, joint, part.shape, heel, cut)
                yield _beside(job.design, joint, part.shape, heel, cut)


def _films(design: Design) -> tuple[float, float]:
    """Film in mm on the sides of the heel with that of the walls, and on its back with the floor.

    A tenon's back is glued and stays bare.
    """
    finish, heel = design.finish, design.neck.heel
    if finish is None or heel is None:
        return 0.0, 0.0
    walls = finish.on("pocket walls")
    back = finish.on("neck back") if heel.kind == "bolted" else 0.0
    return finish.on("neck sides") + walls, back + walls


def _height(design: Design, heel: HeelInBody, cut: Cut) -> Finding:
    """How high the glue plane stands at the body's edge with the heel on the pocket's floor."""
    unit, limit = design.units, design.limits.neck_height
    _, film = _films(design)
    floor = float(cut.floor(np.zeros(1))[0])
    stands = heel.glue_plane_over(floor) + film / math.cos(heel.angle)
    off = stands - heel.height
    depth = off - floor
    lean = math.degrees(math.atan(cut.slope) - heel.angle)
    return within(stands, heel.height, limit, tolerance=STRING).finding(
        part="assembly",
        name="neck-height-on-floor",
        check="neck height with its heel on the pocket's floor",
        place="at the body's edge, glue face above the edge plane",
        source="joint.height or what follows for it, limits.neck_height; common practice",
        advice=f"make {cut.key}.depth {show_length(depth, unit)}, or the heel "
        f"{show_length(abs(off), unit)} {'shallower' if off > 0 else 'deeper'} (neck.heel.depth)",
        detail=f"heel {show_length(heel.depth, unit)} deep, pocket {show_length(-floor, unit)}, "
        f"film {show_length(film, unit)}"
        + (f"; floor and heel lean {abs(lean):.2f}° apart" if abs(lean) > 0.005 else ""),
    )


def _room(design: Design, joint: Joint, shape: BodyShape, heel: HeelInBody, cut: Cut) -> Finding:
    """Least room between the finished heel and the finished walls, seen from above."""
    unit, play = design.units, design.limits.pocket_play
    film, _ = _films(design)
    wood = shapely.Polygon(heel.outline(OUT, room=0.0).points(CHORD))
    wood = shapely.intersection(wood, shape.polygon)
    pocket = shapely.Polygon(cut.plan.points(CHORD))
    walls = shapely.intersection(pocket.exterior, shape.polygon)
    outside = shapely.difference(wood, pocket)
    if outside.area > 1e-6:
        corners = shapely.points(shapely.get_coordinates(outside))
        room = -float(shapely.distance(pocket, corners).max()) - film
    else:
        room = float(shapely.distance(wood, walls)) - film
    x, y = shapely.get_coordinates(shapely.shortest_line(wood, walls)).mean(axis=0)
    judged = first_missed(
        at_least(room, joint.glue_line, tolerance=CHORDS),
        at_most(room, joint.glue_line + play, tolerance=CHORDS, missed=Verdict.WARNING),
    )
    loose = judged.sense == "at most"
    missing = joint.glue_line - room
    return judged.rounded(6).finding(
        part="assembly",
        name="room-around-heel",
        check="room around the heel in its pocket",
        place=f"{show_length(float(x), unit)} from the body's edge, seen from above",
        point=(float(x), float(y), 0.0),
        source="joint.glue_line"
        + (" and limits.pocket_play" if loose else "")
        + "; common practice",
        advice=f"make {cut.key} {show_length(abs(missing), unit)} "
        f"{'smaller' if loose else 'larger'} on that side",
        detail=f"film {show_length(film, unit)} on heel and wall together",
    )


def _beside(design: Design, joint: Joint, shape: BodyShape, heel: HeelInBody, cut: Cut) -> Finding:
    """How deep the neck, before its heel, stands in wood of the body that no pocket takes away.

    Seen from above: where the body's edge or a horn comes under the neck's sides or shoulders.
    """
    unit = design.units
    film, _ = _films(design)
    block = shapely.Polygon(heel.outline(OUT, room=0.0).points(CHORD))
    before = shapely.intersection(block, shapely.box(heel.start, -OUT, 0.0, OUT))
    neck = shapely.union(shapely.Polygon(heel.neck(OUT)), before)
    wood = shapely.difference(shape.polygon, shapely.Polygon(cut.plan.points(CHORD)))
    shared = [part for part in shapely.get_parts(shapely.intersection(neck, wood)) if part.area]
    corners = shapely.points(shapely.get_coordinates(shapely.segmentize(shared, STEP)))
    deep = shapely.distance(neck.boundary, corners) if len(corners) else np.zeros(1)
    worst = int(np.argmax(deep))
    value = max(float(deep[worst]) - film, 0.0)
    judged = at_most(value, joint.glue_line, tolerance=CHORDS)
    x, y = (corners[worst].x, corners[worst].y) if len(corners) else (heel.start, 0.0)
    return judged.finding(
        part="assembly",
        name="neck-clear-of-body",
        check="neck clear of the body beside its pocket",
        place=f"{show_length(abs(x), unit)} {'before' if x < 0 else 'behind'} the body's edge, "
        f"{show_length(abs(y), unit)} from the centre line"
        if value
        else "before the heel, seen from above",
        point=(float(x), float(y), 0.0),
        source="joint.glue_line; common practice",
        advice=f"take the outline {show_length(value, unit)} back there, or let the pocket run "
        "wider",
        detail="" if judged.good else "the outline runs under the neck's sides or shoulders",
    )
