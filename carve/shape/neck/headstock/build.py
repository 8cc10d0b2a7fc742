"""From what the design says of a headstock to its shape, joined to the shaft before it."""

import math
from typing import get_args

import numpy as np

from carve.design.schema.headstock import DrawnHead, HeadJoint, Headstock
from carve.design.values.curve import Curve, moved_pieces
from carve.errors import ShapeError
from carve.shape.neck.headstock.drawn import DrawnPlan, drawn_sides
from carve.shape.neck.headstock.outline import along_face, corners_of, sides
from carve.shape.neck.headstock.shape import HeadShape, back_line, wood_around
from carve.shape.neck.headstock.volute import VoluteShape
from carve.shape.neck.heel import Hole
from carve.shape.neck.problems import HeadNarrow, HeadPart, HeadRunsOut, HoleInBlend, HoleOut
from carve.shape.numeric.blend import StraightLine, between, in_turn, toward_nut
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial

LONGEST_BLEND = 400.0  # mm; longer than any headstock
NARROWEST_SHARE = 0.75  # of the half width at the nut; where the back is still round it would fold
LEAST_FLAT = 5.0  # mm of flat back before the tip's round corners
DRILL_OUT = 1.0  # mm that a drill goes on beyond the back
HOLE_CHORD = 0.01  # mm; an outline is that close when wood beside a hole is measured


_SCARFED: dict[HeadJoint, bool] = {"one piece": False, "scarfed": True}
assert set(_SCARFED) == set(get_args(HeadJoint))


def joined_head(
    head: Headstock,
    shaft: PiecewisePolynomial,
    volute: VoluteShape | None,
    nut_half: float,
    flare: float,
    reach: float = 0.0,
) -> tuple[PiecewisePolynomial, HeadShape]:
    """The depth behind the nut, from where the back is flat, and the headstock.

    shaft: the depth before the nut. nut_half, flare, reach: as for ``sides``.
    Raises ShapeError where blend or holes find no room on the headstock.
    """
    tilt = math.radians(head.tilt)
    plan, available = None, 0.0
    if head.drawn is not None:
        plan = _drawn_plan(head.drawn, tilt, reach)
        available = -plan.tip - LEAST_FLAT
    elif head.outline is not None:
        bass, treble = sides(head.outline, tilt, nut_half, flare, reach)
        available = (
            -max(float(bass.x[0]), float(treble.x[0])) - head.outline.corner_radius - LEAST_FLAT
        )
    own: StraightLine = (float(shaft(0.0)), float(shaft.derivative()(0.0)))
    back = back_line(tilt, head.seat + reach, head.drop, head.thickness)
    shaft_line, head_line = ((level - slope * reach, slope) for level, slope in (own, back))
    blend = toward_nut(shaft_line, head_line, head.blend_radius, LONGEST_BLEND)
    end, start = blend[0] - reach, blend[1] - reach
    reaches: dict[HeadPart, float] = {
        "blend": -end,
        "transition": reach + head.transition,
        "ramp": reach + head.seat + head.ramp if head.drop else 0.0,
        "volute": 0.0 if volute is None else -volute.reach[0],
    }
    part = max(reaches, key=lambda name: reaches[name])
    if reaches[part] > available:
        raise ShapeError(HeadRunsOut(part, reaches[part], max(available, 0.0)))
    flat = -reaches[part]
    pieces = [between(end, start, back, own)]
    if flat < end:
        pieces.insert(0, between(flat, end, back, back))
    if start < 0:
        pieces.append(between(start, 0.0, own, own))
    if plan is not None:
        nut = (-reach, nut_half - flare * reach, flare)
        bass, treble = drawn_sides(plan.curve, plan.join, flat, nut)
    _wide_enough(bass, treble, flat, nut_half)
    shape = _head_shape(head, flat, (bass, treble), reach, plan)
    _holes_have_room(head, shape)
    return in_turn(*pieces), shape


def _wide_enough(
    bass: PiecewisePolynomial, treble: PiecewisePolynomial, flat: float, nut_half: float
) -> None:
    x = np.linspace(flat, 0.0, 200)
    narrowest = float(min(bass(x).min(), treble(x).min()))
    if narrowest < NARROWEST_SHARE * nut_half:
        raise ShapeError(HeadNarrow(narrowest, NARROWEST_SHARE * nut_half, NARROWEST_SHARE, -flat))


def _drawn_plan(drawn: DrawnHead, tilt: float, reach: float) -> DrawnPlan:
    """The drawing put behind the nut, as seen from above."""
    # what reads drawings is loaded for a drawn headstock alone
    from carve.shape.outlines.placed import behind_nut, placed

    curve = behind_nut(placed(drawn, "headstock").outline)
    # level to a slanted nut's rear corner, and from there on the slant, as ``along_face`` has it
    shorter = math.cos(tilt)
    shortened = moved_pieces(curve.pieces, (shorter, 0.0, 0.0, 1.0, -reach * (1 - shorter), 0.0))
    return DrawnPlan(Curve(curve.name, shortened), along_face(reach + drawn.flare, tilt, reach))


def _head_shape(
    head: Headstock,
    flat: float,
    both: tuple[PiecewisePolynomial, PiecewisePolynomial],
    reach: float,
    plan: DrawnPlan | None,
) -> HeadShape:
    tilt = math.radians(head.tilt)
    corner = 0.0 if head.outline is None else head.outline.corner_radius
    return HeadShape(
        tilt=tilt,
        seat=head.seat + reach,
        drop=head.drop,
        ramp=head.ramp if head.drop else 0.0,
        thickness=head.thickness,
        flat=flat,
        bass=both[0],
        treble=both[1],
        corner=corner,
        corners=corners_of(*both, corner) if plan is None else None,
        holes=tuple(
            Hole(along_face(behind, tilt, reach), aside, row.diameter / 2)
            for row in head.tuners
            for behind, aside in row.holes()
        ),
        scarfed=_SCARFED[head.joint],
        reach=reach,
        drawn=plan,
    )


def _holes_have_room(head: Headstock, shape: HeadShape) -> None:
    rows = [n for n, row in enumerate(head.tuners) for _ in row.holes()]
    outline = shape.outline(HOLE_CHORD)  # which says whether the corners fit
    for row, hole in zip(rows, shape.holes, strict=True):
        one_by_one = bool(head.tuners[row].places)
        # a leaning hole comes out of the back further toward the nut
        out = hole.x + (head.thickness + DRILL_OUT) * math.sin(shape.tilt) + hole.radius
        if out > shape.flat:
            raise ShapeError(HoleInBlend(row, -hole.x, one_by_one, -shape.flat))
        spare = wood_around(outline, hole)
        if spare <= 0:
            raise ShapeError(HoleOut(row, -hole.x, one_by_one, hole.y, -spare))
