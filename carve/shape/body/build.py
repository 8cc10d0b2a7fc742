"""From what the design says of a body to its shape: pockets, chambers and bores cut into it."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import assert_never

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.design.schema.body import Body, Hollow, Pocket
from carve.errors import Problem, ShapeError
from carve.shape.body.chambers import (
    Chamber,
    InnerSurface,
    chamber_plans,
    graduated_chambers,
    level_chambers,
)
from carve.shape.body.cuts import Cut, RoundBore, bore_in
from carve.shape.body.heel_in_body import HeelInBody
from carve.shape.body.outline import require_simple
from carve.shape.body.pocket_plans import PocketOnBody, numbered, pocket_plans, round_plan
from carve.shape.body.shape import BodyShape
from carve.shape.body.validate import problems_of
from carve.shape.cover.screws import SCREW_HOLE, cover_plans, pilot_name, screw_places
from carve.shape.numeric.quadrature import quadrature, ring_points
from carve.shape.planar.inset import Plan
from carve.shape.planar.outline import Outline
from carve.shape.plate.carved_face import CarvedFace

SOUND_HOLE_REACH = 1.0  # mm that a sound hole reaches into the chamber


@dataclass(frozen=True)
class BodyLabels:
    """What cuts are told apart by in problems and findings; the shape hands them on unread.

    pockets, bolts: one a pocket, of itself and of the holes under it. bores: one a bore. hollow:
    of all chambers.
    """

    pockets: tuple[str, ...]
    bolts: tuple[str, ...]
    bores: tuple[str, ...]
    hollow: str


def body_shape(
    body: Body,
    outline: Outline,
    heel: HeelInBody | None,
    labels: BodyLabels,
    top: CarvedFace | None = None,
    back: CarvedFace | None = None,
    insides: tuple[InnerSurface, InnerSurface] | None = None,
) -> BodyShape:
    """The body as the design asks for it.

    outline: the body's. heel: the neck's, for the pocket that follows it. labels: of its cuts.
    top, back: the carved faces. insides: those of top and back, where a plate is graduated.
    Raises ShapeError with everything that cannot be.
    """
    require_simple(outline)
    ground = outline.polygon
    problems: list[Problem] = []
    cuts: list[Cut] = []
    bores: list[RoundBore] = []
    for pocket, where, bolts in zip(body.pockets, labels.pockets, labels.bolts, strict=True):
        try:
            asked = PocketOnBody(pocket, where, body.outline, ground, heel)
            own = list(_pocket_cuts(asked, body))
            cuts += own
            cuts += _bolt_holes(pocket, bolts, heel)
            cuts += pilot_holes(pocket, where, own)
        except ShapeError as error:
            problems += error.problems
    if body.hollow is not None:
        try:
            cuts += _chambers(body, body.hollow, ground, insides, labels.hollow)
        except ShapeError as error:
            problems += error.problems
    cuts = [_into_chamber(cut, cuts) for cut in cuts]
    for bore, where in zip(body.bores, labels.bores, strict=True):
        try:
            bores.append(bore_in(bore, where, ground))
        except ShapeError as error:
            problems += error.problems
    if problems:
        raise ShapeError(*problems)
    shape = BodyShape(outline, body.thickness, tuple(cuts), tuple(bores), top, back)
    problems = problems_of(shape)
    if problems:
        raise ShapeError(*problems)
    return shape


def _pocket_cuts(asked: PocketOnBody, body: Body) -> Iterator[Cut]:
    """What a pocket takes out: one cut, or one for each curve of a layer of the drawing."""
    plans = pocket_plans(asked)
    pocket = asked.pocket
    for number, plan in enumerate(plans):
        yield _cut(asked, numbered(pocket.name, number, len(plans)), plan, body)


def _cut(asked: PocketOnBody, name: str, plan: Plan, body: Body) -> Cut:
    """The cut of a pocket over one plan."""
    pocket, where = asked.pocket, asked.where
    if not isinstance(pocket.depth, float):
        if pocket.kind == "sound hole":
            assert body.hollow is not None  # the rules see to it
            low = -(body.hollow.top or 0.0)
            low -= min(SOUND_HOLE_REACH, _chamber_height(body, body.hollow) / 2)
            return Cut(where, name, pocket.kind, "front", plan, low, math.inf)
        return Cut(where, name, pocket.kind, "through", plan, -math.inf, math.inf)
    match pocket.face:
        case "back":
            high = pocket.depth - body.thickness
            return Cut(where, name, pocket.kind, "back", plan, -math.inf, high)
        case "front":
            slope = _slope(asked)
            return Cut(where, name, pocket.kind, "front", plan, -pocket.depth, math.inf, slope)
        case _:
            assert_never(pocket.face)


def _slope(asked: PocketOnBody) -> float:
    """Rise of a pocket's floor per mm of x: as asked for, or the heel's where it follows it."""
    pocket, heel = asked.pocket, asked.heel
    if pocket.slope is not None:
        return math.tan(math.radians(pocket.slope))
    return heel.slope if pocket.shape == "heel" and heel is not None else 0.0


def _chamber_height(body: Body, hollow: Hollow) -> float:
    return body.thickness - (hollow.top or 0.0) - (hollow.back or 0.0)


def _bolt_holes(pocket: Pocket, where: str, heel: HeelInBody | None) -> Iterator[Cut]:
    """Holes through the body under the heel's."""
    if pocket.bolts is None or heel is None:
        return
    for number, (x, y) in enumerate(heel.holes, start=1):
        plan = round_plan(x, y, pocket.bolts)
        name = f"{pocket.name}'s bolt {number}"
        yield Cut(where, name, "hole", "through", plan, -math.inf, math.inf)


def pilot_holes(pocket: Pocket, where: str, recesses: Sequence[Cut]) -> Iterator[Cut]:
    """Holes under the screws of a pocket's covers. recesses: what the pocket takes out."""
    if pocket.cover is None or pocket.cover.screws is None:
        return
    screws, plans = pocket.cover.screws, [recess.plan for recess in recesses]
    every = screw_places(pocket, where, plans, cover_plans(pocket, where, plans))
    for recess, places in zip(recesses, every, strict=True):
        front = recess.opens == "front"
        low = recess.low - screws.pilot_depth if front else -math.inf
        high = math.inf if front else recess.high + screws.pilot_depth
        for number, (x, y) in enumerate(places.tolist(), start=1):
            name, plan = pilot_name(recess.name, number), round_plan(x, y, screws.pilot)
            yield Cut(where, name, SCREW_HOLE, recess.opens, plan, low, high)


def _chambers(
    body: Body,
    hollow: Hollow,
    ground: BaseGeometry,
    insides: tuple[InnerSurface, InnerSurface] | None,
    where: str,
) -> Sequence[Cut]:
    plans = chamber_plans(hollow, ground, where)
    if insides is not None:
        return graduated_chambers(plans, body.thickness, *insides, where)
    assert hollow.top is not None  # the rules see to it
    assert hollow.back is not None
    return level_chambers(plans, hollow.back - body.thickness, -hollow.top, where)


def _into_chamber(cut: Cut, cuts: Sequence[Cut]) -> Cut:
    """A sound hole goes down into the chamber under it, as far as its ceiling is anywhere."""
    if cut.kind != "sound hole":
        return cut
    for chamber in cuts:
        if isinstance(chamber, Chamber) and shapely.intersects(chamber.polygon, cut.polygon):
            points = np.concatenate([ring_points(cut.polygon), quadrature(cut.polygon)[0]])
            floor, ceiling = chamber.heights(points)
            reach = min(SOUND_HOLE_REACH, float((ceiling - floor).min()) / 2)
            return replace(cut, low=float(ceiling.min()) - reach)
    return cut
