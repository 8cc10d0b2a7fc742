"""The neck's heel in the body's pocket: how high the neck comes to stand, and its room there."""

import math
from collections.abc import Iterator

import numpy as np
import shapely

from carve.check.finding import Finding, Verdict
from carve.design.schema.assembly import Joint
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.neck_on_body import heel_in_body
from carve.shape.body.cuts import Cut
from carve.shape.body.heel_in_body import HeelInBody
from carve.shape.body.shape import BodyShape

OUT = 400.0  # mm that the heel's plan is carried on out of the body; no horn is longer
EQUAL = 1e-9  # mm
STEP = 0.5  # mm between the places around what is shared
CHORD = 1e-3  # mm; of the round corners, whose chords take from the room


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
    good = abs(off) <= limit + EQUAL
    depth = off - floor
    lean = math.degrees(math.atan(cut.slope) - heel.angle)
    return Finding(
        part="assembly",
        check="neck height with its heel on the pocket's floor",
        verdict=Verdict.GOOD if good else Verdict.FAILED,
        value=stands,
        target=heel.height,
        limit=limit,
        sense="within",
        place="at the body's edge, glue face above the edge plane",
        source="joint.height or what follows for it, limits.neck_height; common practice",
        advice=""
        if good
        else f"make {cut.key}.depth {show_length(depth, unit)}, or the heel "
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
    tight, loose = room < joint.glue_line - 2 * CHORD, room > joint.glue_line + play + 2 * CHORD
    x, y = shapely.get_coordinates(shapely.shortest_line(wood, walls)).mean(axis=0)
    verdict = Verdict.GOOD
    if tight or loose:
        verdict = Verdict.FAILED if tight else Verdict.WARNING
    missing = joint.glue_line - room
    return Finding(
        part="assembly",
        check="room around the heel in its pocket",
        verdict=verdict,
        value=round(room, 6),
        limit=joint.glue_line + play if loose else joint.glue_line,
        sense="at most" if loose else "at least",
        place=f"{show_length(float(x), unit)} from the body's edge, seen from above",
        point=(float(x), float(y), 0.0),
        source="joint.glue_line"
        + (" and limits.pocket_play" if loose else "")
        + "; common practice",
        advice=f"make {cut.key} {show_length(abs(missing), unit)} "
        f"{'larger' if tight else 'smaller'} on that side"
        if tight or loose
        else "",
        detail=f"film {show_length(film, unit)} on heel and wall together",
    )


def _beside(design: Design, joint: Joint, shape: BodyShape, heel: HeelInBody, cut: Cut) -> Finding:
    """How deep the neck, before its heel, stands in wood of the body that no pocket takes away.

    Seen from above: where the body's edge or a horn comes under the neck's sides or shoulders.
    """
    unit, limit = design.units, joint.glue_line
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
    good = value <= limit + 2 * CHORD
    x, y = (corners[worst].x, corners[worst].y) if len(corners) else (heel.start, 0.0)
    return Finding(
        part="assembly",
        check="neck clear of the body beside its pocket",
        verdict=Verdict.GOOD if good else Verdict.FAILED,
        value=value,
        limit=limit,
        sense="at most",
        place=f"{show_length(abs(x), unit)} {'before' if x < 0 else 'behind'} the body's edge, "
        f"{show_length(abs(y), unit)} from the centre line"
        if value
        else "before the heel, seen from above",
        point=(float(x), float(y), 0.0),
        source="joint.glue_line; common practice",
        advice=""
        if good
        else f"take the outline {show_length(value, unit)} back there, or let the pocket run wider",
        detail="" if good else "the outline runs under the neck's sides or shoulders",
    )
