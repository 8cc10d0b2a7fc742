"""Where the neck stands on the body, and the pocket that its heel asks for."""

import math
from dataclasses import dataclass

from carve.arrays import Array
from carve.design.derived.board_plan import board_plan
from carve.design.schema.design import Design
from carve.shape.assembly.frames import instrument_to_body
from carve.shape.assembly.side_view import side_view
from carve.shape.body.heel_in_body import HeelInBody
from carve.shape.neck.build import taper_of
from carve.shape.neck.finish import neck_film
from carve.shape.neck.heel import HeelShape, heel_shape
from carve.shape.plate.carved_face import UnderBoard


@dataclass(frozen=True)
class NeckOnBody:
    """How the neck stands. at: mm from the nut to the body's edge. angle: radians.

    height: mm of the glue plane above the body's edge plane at the body's edge.
    """

    at: float
    angle: float
    height: float

    def to_body(self) -> Array:
        """From the instrument's frame to the body's, (4, 4)."""
        return instrument_to_body(self.at, self.angle, self.height)


def neck_on_body(design: Design) -> NeckOnBody:
    """How the neck stands: by the side view, or as far as the design says without one.

    Without a joint the body's edge is at the heel end, level with the glue face.
    """
    side = side_view(design)
    if side is not None:
        return NeckOnBody(side.edge, side.angle, side.neck_height)
    joint = design.joint
    if joint is None:
        return NeckOnBody(design.place(design.neck.heel_end), 0.0, 0.0)
    return NeckOnBody(design.place(joint.at), math.radians(joint.angle or 0.0), joint.height or 0.0)


def board_over_body(design: Design) -> UnderBoard:
    """The fretboard's end over the body, in the glue plane."""
    plan, at = board_plan(design), neck_at(design)
    return UnderBoard(plan.end - at, plan.nut_half + plan.flare * at, plan.flare)


def neck_at(design: Design) -> float:
    """Where the body's edge is, mm from the nut."""
    return design.place(design.neck.heel_end if design.joint is None else design.joint.at)


def heel_in_body(design: Design) -> HeelInBody | None:
    """The heel in the body's frame, None where neck and body don't say enough."""
    if design.neck.heel is None or design.joint is None:
        return None
    stands, film = neck_on_body(design), neck_film(design.finish)
    length = design.place(design.neck.heel_end)
    heel = heel_shape(design.neck.heel, length, taper_of(design.neck, length, film))
    on_sides = 0.0 if design.finish is None else design.finish.on("neck sides")
    on_walls = 0.0 if design.finish is None else design.finish.on("pocket walls")
    taper = taper_of(design.neck, length, film)
    room = on_sides + on_walls + design.joint.glue_line
    return _seen(heel, stands, room, taper, design.neck.heel.kind == "carved")


def _seen(
    heel: HeelShape,
    stands: NeckOnBody,
    room: float,
    taper: tuple[float, float],
    upright: bool,
) -> HeelInBody:
    cosine = math.cos(stands.angle)
    flare = heel.flare / cosine
    return HeelInBody(
        start=(heel.start - stands.at) * cosine,
        end=(heel.end - stands.at) * cosine,
        half=heel.half_end - heel.flare * (heel.end - stands.at),
        flare=flare,
        depth=heel.depth,
        corner=heel.corner,
        angle=stands.angle,
        height=stands.height,
        room=room,
        # the holes are square to the glue plane, and so lean with the heel
        holes=tuple(
            (float((hole.x - stands.at) * cosine + heel.depth * math.sin(stands.angle)), hole.y)
            for hole in heel.holes
        ),
        neck_half=taper[0] + taper[1] * stands.at,
        neck_flare=taper[1] / cosine,
        upright=upright,
    )
