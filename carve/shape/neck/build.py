"""From what the design says of a neck to its shape, in steps from the shaft outward.

First the shaft between nut and heel end, through its stations; then the heel is joined to it,
then the headstock. Each step takes the curves along the neck and gives them back longer.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import assert_never

import numpy as np

from carve.arrays import Array
from carve.design.derived.heel_blend import longest_blend, shortest_blend
from carve.design.schema.design import Neck, Station
from carve.design.schema.headstock import Headstock
from carve.design.schema.heel import Heel
from carve.design.values.fan import corner_behind
from carve.shape.neck.carved_heel import carved_heel_curve, steepest
from carve.shape.neck.channel import channels
from carve.shape.neck.finish import BARE, NeckFilm
from carve.shape.neck.headstock.build import joined_head
from carve.shape.neck.headstock.shape import HeadShape
from carve.shape.neck.headstock.volute import VoluteShape, volute_shape
from carve.shape.neck.heel import BodyPlane, HeelShape, heel_shape, slanted_corners
from carve.shape.neck.heel_blend import (
    SAME_PLACE,
    STEEPEST_BACK,
    bend_at,
    blend_begins,
    can_be_cut,
    cut_short,
    into_block,
)
from carve.shape.neck.shape import NeckShape
from carve.shape.numeric.blend import chain, in_turn, level
from carve.shape.numeric.monotone_spline import smooth_through
from carve.shape.numeric.piecewise_polynomial import PiecewisePolynomial

SQUARE_TOLERANCE = 0.01  # mm over a heel's depth; a face that leans less is square
KNOWN_BEYOND = 1.5  # mm that the surface is known beyond a slanted end


def neck_shape(
    neck: Neck,
    scale_length: float,
    board: float,
    film: NeckFilm = BARE,
    nut_slant: float = 0.0,
    body: BodyPlane | None = None,
) -> NeckShape:
    """The neck as the design asks for it.

    scale_length, board: scale length and thickness of the fretboard in mm. film: thickness
    at the stations is over it, and the wood stands back at the glue edge by it. nut_slant: of
    the nut's line x = nut_slant y from above. body: needed for a through-neck; against its side
    a carved heel's face leans.
    Raises ShapeError where heel, headstock and stations do not go together.
    """
    length = neck.heel_end.mm(scale_length)
    stations = sorted(neck.stations, key=lambda station: station.at.mm(scale_length))
    places = np.array([station.at.mm(scale_length) for station in stations])
    through = body if neck.heel is not None and neck.heel.kind == "through" else None
    taper = taper_of(neck, length if through is None else through.edge, film)
    nut_half, flare = taper
    heel_slant = math.tan(math.radians(neck.heel_slant))
    lean = _lean(neck.heel, body)
    heel = None
    if neck.heel is not None:
        heel = replace(heel_shape(neck.heel, length, taper, through, lean), slant=heel_slant)
    reach = corner_behind(nut_slant, neck.nut_width / 2, flare)
    before = reach + KNOWN_BEYOND if reach and neck.headstock is None else 0.0
    after = 0.0
    if heel is None and heel_slant:
        corners = slanted_corners(length, heel_slant, neck.heel_width / 2, flare)
        after = float(corners[:, 0].max()) - length + KNOWN_BEYOND
    depths = [station.thickness - board - film.back - film.board_top for station in stations]
    back = length if heel is None else max(heel.blend, float(places[-1]))
    depth = smooth_through(places, np.array(depths), (-before, back + after), "straight")
    if heel is None or neck.heel is None:
        curves = _shaft(depth, taper, length)
    else:
        heel = _begun(heel, neck.heel, depth, places, lean)
        curves = _shaft(cut_short(depth, heel.blend), taper, heel.blend)
        bend = bend_at(depth, heel.blend, float(places[-1]))
        curves, heel = _with_heel(curves, neck.heel, heel, bend, taper, lean)
    head, volute = None, None
    if neck.headstock is not None:
        curves, head, volute = _with_headstock(curves, neck.headstock, taper, reach)
    return NeckShape(
        length=length,
        nut_half=nut_half,
        heel_half=nut_half + flare * length,
        board=board,
        stations=places,
        depth_curve=curves.depth,
        dial_curves=_dial_curves(stations, places, (-before, length + after)),
        squared=curves.squared,
        edges=(curves.bass, curves.treble),
        channels=channels(neck.truss_rod, scale_length),
        heel=heel,
        head=head,
        volute=volute,
        film=film,
        nut_slant=nut_slant,
        before=before,
        heel_slant=heel_slant,
        after=after,
    )


def taper_of(neck: Neck, length: float, film: NeckFilm) -> tuple[float, float]:
    """Half width of the neck's wood at the nut in mm, and its growth per mm.

    length: mm from the nut to the heel end.
    """
    half = neck.nut_width / 2 - film.narrower
    return half, (neck.heel_width - neck.nut_width) / 2 / length


@dataclass(frozen=True, eq=False)
class _Curves:
    """The curves along the neck, over x in mm, as far as they have come.

    depth: mm below the glue plane. squared: share of it that stands as upright sides. bass,
    treble: half widths in mm.
    """

    depth: PiecewisePolynomial
    squared: PiecewisePolynomial
    bass: PiecewisePolynomial
    treble: PiecewisePolynomial


def _lean(heel: Heel | None, body: BodyPlane | None) -> float:
    """How far a carved heel's face leans to the nut per mm down: as the body's side does to it."""
    if heel is None or body is None or heel.kind != "carved":
        return 0.0
    lean = math.tan(body.angle)
    return lean if lean * heel.depth >= SQUARE_TOLERANCE else 0.0


def _begun(
    heel: HeelShape, asked: Heel, depth: PiecewisePolynomial, places: Array, lean: float
) -> HeelShape:
    """The heel, its blend beginning where the stations let it.

    depth: of the shaft. places: (n,) mm, of the stations. lean: of a carved heel's face.
    Raises ShapeError where the heel leaves no station on the shaft.
    """
    last = float(places[-1])
    if heel.kind == "carved":
        nose = stop = heel.start - asked.depth * lean - (asked.cap_length or 0.0)

        def makeable(begin: float) -> bool:
            slope = float(depth.derivative()(begin))
            return max(slope, 0.0) < steepest(asked, depth, begin, nose) <= STEEPEST_BACK

    else:
        stop = heel.start

        def makeable(begin: float) -> bool:
            bend = bend_at(depth, begin, last)
            return can_be_cut(into_block(depth, begin, bend, (stop, heel.depth, heel.slope)))

    longest, shortest = longest_blend(asked), shortest_blend(asked)
    begin = blend_begins(places, stop, longest, shortest, makeable)
    # the place itself, where it stays: worked out anew it would differ by a rounding error
    return heel if begin <= heel.blend + SAME_PLACE else replace(heel, blend=begin)


def _shaft(depth: PiecewisePolynomial, taper: tuple[float, float], end: float) -> _Curves:
    """The shaft from the nut to its end: a back all round, and straight edges.

    depth: of the back. taper: half width at the nut in mm and its growth per mm. end: mm from
    the nut.
    """
    half, flare = taper
    edge = chain((0.0, end), (half, half + flare * end), (flare, flare))
    return _Curves(depth, level((0.0, end), 0.0), edge, edge)


def _dial_curves(
    stations: Sequence[Station], places: Array, reach: tuple[float, float]
) -> PiecewisePolynomial:
    """The four profile dials along the neck, from one place in mm to another, as one curve.

    Bass shoulder, bass keel, treble shoulder and treble keel.
    """
    columns = [
        (s.shape.bass.shoulder, s.shape.bass.keel, s.shape.treble.shoulder, s.shape.treble.keel)
        for s in stations
    ]
    by_dial = list(zip(*columns, strict=True))
    # sides alike, as most are, need each of their curves only once
    curves = {
        values: smooth_through(places, np.array(values), reach, "level") for values in set(by_dial)
    }
    dials = [curves[values] for values in by_dial]
    # the four have the same knots, so they are looked up as one
    return PiecewisePolynomial(np.stack([dial.c for dial in dials], axis=-1), dials[0].x)


def _with_heel(
    shaft: _Curves,
    asked: Heel,
    heel: HeelShape,
    bend: float,
    taper: tuple[float, float],
    lean: float,
) -> tuple[_Curves, HeelShape]:
    """The shaft's curves carried on to the heel end, and the heel, a carved one with its cap.

    bend: second derivative of the shaft's depth where it leaves off, per mm. taper: the neck's
    half width at the nut in mm and its growth per mm. lean: of a carved heel's face, mm toward the
    nut per mm down.
    """
    match heel.kind:
        case "carved":
            keel, cap = carved_heel_curve(
                asked, shaft.depth, (heel.blend, heel.start), bend, taper, lean
            )
            heel = replace(heel, cap=cap)
            depth = in_turn(shaft.depth, keel)
            squared = in_turn(shaft.squared, level((heel.blend, heel.start), 0.0))
            if not heel.butts:
                tongue = heel.start, heel.end
                depth = in_turn(depth, level(tongue, heel.depth))
                squared = in_turn(squared, level(tongue, 1.0))
        case "bolted" | "tenon" | "through":
            places = heel.blend, heel.start, heel.end
            block = heel.start, heel.depth, heel.slope
            depth = in_turn(
                shaft.depth, into_block(shaft.depth, heel.blend, bend, block), _flat_back(heel)
            )
            squared = in_turn(shaft.squared, chain(places, (0.0, 1.0, 1.0), (0.0, 0.0, 0.0)))
        case _:
            assert_never(heel.kind)
    half, flare = taper
    edge = in_turn(shaft.bass, *_into_sides(heel, half + flare * heel.blend, flare))
    return _Curves(depth, squared, edge, edge), heel


def _flat_back(heel: HeelShape) -> PiecewisePolynomial:
    """Depth of the flat back from where it begins to the heel end."""
    back = heel.back_depth(np.array([heel.start, heel.end]))
    return chain((heel.start, heel.end), (back[0], back[1]), (heel.slope, heel.slope))


def _into_sides(heel: HeelShape, half: float, flare: float) -> tuple[PiecewisePolynomial, ...]:
    """Half width on the blend and on the block. half: mm, where the blend begins.

    The sides of a block come out of the taper smoothly; a tenon's start at its shoulders,
    with a step.
    """
    turned = flare if heel.shouldered else heel.flare
    before = chain((heel.blend, heel.start), (half, heel.neck_half), (flare, turned))
    if heel.butts:
        return (before,)
    ends = (heel.start, heel.end), (heel.half, heel.half_end)
    return before, chain(*ends, (heel.flare, heel.flare))


def _with_headstock(
    curves: _Curves, asked: Headstock, taper: tuple[float, float], reach: float
) -> tuple[_Curves, HeadShape, VoluteShape | None]:
    """The curves carried on behind the nut to where the headstock's back is flat.

    taper: the neck's half width at the nut in mm and its growth per mm. reach: mm behind the
    nut of a slanted nut's rear corner, up to which all is still shaft.
    """
    volute = volute_shape(asked.volute)
    behind, head = joined_head(asked, curves.depth, volute, *taper, reach)
    squared = in_turn(level((-reach, 0.0), 0.0), curves.squared) if reach else curves.squared
    return (
        _Curves(
            depth=in_turn(behind, curves.depth),
            squared=in_turn(chain((head.flat, -reach), (1.0, 0.0), (0.0, 0.0)), squared),
            bass=in_turn(head.bass, curves.bass),
            treble=in_turn(head.treble, curves.treble),
        ),
        head,
        volute,
    )
