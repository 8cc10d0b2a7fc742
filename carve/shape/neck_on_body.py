"""Where the neck stands on the body, and the pocket that its heel asks for."""

import math
from dataclasses import dataclass

import numpy as np

from carve.arrays import Array
from carve.design.board_plan import board_plan
from carve.design.models import Design
from carve.shape.carving import UnderBoard
from carve.shape.finish import neck_film
from carve.shape.frames import instrument_to_body
from carve.shape.heel import HeelShape, heel_shape
from carve.shape.neck import taper_of
from carve.shape.pockets import Plan
from carve.shape.side_view import side_view


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


@dataclass(frozen=True)
class HeelInBody:
    """The heel as the body sees it, in its frame. All mm.

    end: of the heel's end from the body's edge, at the glue plane. half: half width at the
    body's edge, flare: its growth per mm of x. depth: of the flat back below the glue plane.
    corner: radius of the end's corners. angle: radians that the neck leans back. height: of
    the glue plane at the body's edge. room: between heel and wall, for glue and finish.
    start: where the block or the tenon begins. holes: x, y of the middles of its holes where
    they come out of its back. neck_half, neck_flare: as half and flare, of the neck before it.
    upright: whether what stands against the body is, as a carved heel's face, and not a shoulder's.
    """

    start: float
    end: float
    half: float
    flare: float
    depth: float
    corner: float
    angle: float
    height: float
    room: float
    holes: tuple[tuple[float, float], ...] = ()
    neck_half: float = 0.0
    neck_flare: float = 0.0
    upright: bool = False

    def neck(self, out: float) -> Array:
        """(4, 2) x, y of the neck's plan before the heel, from x = -out; mm.

        A tenon's shoulders lean with the neck: they reach as far as they do at its back. A
        carved heel's face is cut so that it stands upright.
        """
        lean = 0.0 if self.upright else max(self.depth * math.sin(self.angle), 0.0)
        stop = self.start + lean
        first, last = (self.neck_half + self.neck_flare * x for x in (-out, stop))
        return np.array([[-out, -first], [stop, -last], [stop, last], [-out, first]])

    def outline(self, out: float, room: float | None = None) -> Plan:
        """The plan that takes the heel in from above, carried on to x = -out. All mm.

        room: on every side, by default the heel's own. Walls are upright and the heel leans, so
        the plan reaches as far as the heel's end does at its back.
        """
        room = self.room if room is None else room
        lean = max(self.depth * math.sin(self.angle), 0.0)
        end = self.end + lean + room
        # where the heel grows narrower toward its end, its leaning back is the wider part
        wider = max(-self.flare * lean, 0.0) + room * math.hypot(1.0, self.flare)
        first, last = (self.half + self.flare * x + wider for x in (-out, end))
        corners = np.array([[-out, -first], [end, -last], [end, last], [-out, first]])
        radius = self.corner + room if self.corner else 0.0
        return Plan(corners, np.array([0.0, radius, radius, 0.0]))

    @property
    def slope(self) -> float:
        """Rise of the heel's back per mm of the body's x."""
        return math.tan(self.angle)

    def glue_plane_over(self, floor: float) -> float:
        """Height in mm of the glue plane at the body's edge with the heel on a floor there."""
        return floor + self.depth / math.cos(self.angle)


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
