"""What the headstock's keys must agree on among themselves and with the neck's.

Each rule yields one sentence for each contradiction, beginning with the key to change.
Whether blend and holes find room on the outline is known only once they have a shape.
"""

import math
from collections.abc import Iterator
from itertools import combinations

from carve.design.rules.heel import heel_start
from carve.design.schema.design import Design
from carve.design.schema.headstock import Headstock, Tuners
from carve.design.values.tolerances import LEAST_WOOD, TINY

LEAST_SCARF = 4.0  # degrees; flatter joints are longer than anybody saws
LEAST_SIDE = 10.0  # mm from where the sides have run out to the tip
NARROWEST_NECK = 0.8  # of the half width at the nut; a narrower neck behind it breaks there
WIDEST_VOLUTE = 0.9  # of the width at the nut; its rim stays on the back


def headstock_contradictions(design: Design) -> Iterator[str]:
    """Every contradiction."""
    yield from _access(design)
    head = design.neck.headstock
    if head is None:
        return
    for rule in (_tiny, _face, _joint, _seat, _outline, _tuners, _volute):
        yield from rule(design, head)


def _tiny(design: Design, head: Headstock) -> Iterator[str]:
    """What may be nothing, but not next to nothing: no cutter makes it and no mesh holds it."""
    for key, value in (
        ("drop", head.drop),
        ("seat", head.seat),
        ("ramp", head.ramp),
        ("outline.corner_radius", head.outline.corner_radius if head.outline else 0.0),
    ):
        if 0 < value < TINY:
            yield (
                f"neck.headstock.{key}: {design.show(value)} is not allowed; 0, or at least "
                f"{design.show(TINY)}"
            )
    if 0 < head.tilt < TINY:
        yield f"neck.headstock.tilt: {head.tilt:g}° is not allowed; 0, or at least {TINY:g}°"


def _access(design: Design) -> Iterator[str]:
    rod = design.neck.truss_rod
    if rod is None or rod.access is None or rod.access.behind == 0:
        return
    key = f"neck.truss_rod.access.behind: {design.show(rod.access.behind)} is not allowed"
    if rod.access.behind < TINY:
        yield f"{key}; 0, or at least {design.show(TINY)}"
        return
    if rod.access.at != "nut":
        yield f'{key} where neck.truss_rod.access.at is "{rod.access.at}"; leave it out'
    elif design.neck.headstock is None:
        yield f"{key} without a headstock to go into; leave it out, or add [neck.headstock]"
    elif design.place(rod.start) > 0:
        yield (
            f"{key} where the channel starts {design.show(design.place(rod.start))} from the nut "
            '(neck.truss_rod.start); start it at "nut"'
        )


def _face(design: Design, head: Headstock) -> Iterator[str]:
    if head.tilt and head.drop:
        yield (
            f"neck.headstock.drop: {design.show(head.drop)} is not allowed beside a tilt of "
            f"{head.tilt:g}° (neck.headstock.tilt); a tilted face drops by its tilt"
        )


def _joint(design: Design, head: Headstock) -> Iterator[str]:
    if head.joint == "one piece":
        return
    if head.tilt < LEAST_SCARF:
        yield (
            f'neck.headstock.joint: "{head.joint}" is not allowed with a tilt of {head.tilt:g}° '
            f"(neck.headstock.tilt); at least {LEAST_SCARF:g}°"
        )
        return
    out = head.thickness / math.sin(math.radians(head.tilt)) - head.seat - design.nut_reach
    reach = heel_start(design)
    if out > reach:
        yield (
            f'neck.headstock.joint: "{head.joint}" is not allowed; the joint would come out of '
            f"the glue face {design.show(out)} from the nut, and the shaft ends "
            f"{design.show(reach)} from it; tilt the headstock more or make it thinner"
        )


def _seat(design: Design, head: Headstock) -> Iterator[str]:
    behind = design.fretboard.behind
    if behind > head.seat and (head.tilt or head.drop):
        yield (
            f"neck.headstock.seat: {design.show(head.seat)} is not allowed; the fretboard goes on "
            f"{design.show(behind)} behind the nut (fretboard.behind), and the glue face under it "
            "stays level"
        )


def _outline(design: Design, head: Headstock) -> Iterator[str]:
    plan, key = head.outline, "neck.headstock.outline"
    if (plan is None) == (head.drawn is None):
        yield (
            f"{key}: missing; give its measures, or your own outline (neck.headstock.drawn)"
            if plan is None
            else f"{key}: not allowed beside neck.headstock.drawn; leave one of them out"
        )
    if plan is None:
        return
    if plan.family == "waisted" and plan.waist is None:
        yield f'{key}.waist: missing; {key}.family is "waisted", so give the width at the waist'
    if plan.family == "straight" and plan.waist is not None:
        yield (
            f"{key}.waist: {design.show(plan.waist)} is not allowed where {key}.family is "
            '"straight"; leave it out or make the family "waisted"'
        )
    shortest = plan.length + min(plan.slant, 0.0) - design.nut_reach
    if plan.flare > shortest - LEAST_SIDE:
        yield (
            f"{key}.flare: {design.show(plan.flare)} is not allowed; at most "
            f"{design.show(max(shortest - LEAST_SIDE, 0.0))}, so that {design.show(LEAST_SIDE)} "
            "of side is left before the tip"
        )
    least = NARROWEST_NECK * design.neck.nut_width / 2
    narrow = plan.width / 2 - abs(plan.aside)
    if narrow < least:
        yield (
            f"{key}.width: {design.show(plan.width)}, {design.show(abs(plan.aside))} aside "
            f"({key}.aside), leaves {design.show(narrow)} beside the centre line; at least "
            f"{design.show(least)}, {NARROWEST_NECK:g} of the half width at the nut"
        )


def _tuners(design: Design, head: Headstock) -> Iterator[str]:
    holes = []
    wrong = [
        sentence
        for number, row in enumerate(head.tuners)
        for sentence in _row(row, f"neck.headstock.tuners[{number}]")
    ]
    yield from wrong
    if wrong:
        return
    for number, row in enumerate(head.tuners):
        holes += [(number, row.diameter, place) for place in row.holes()]
    named = set()
    for (first, one, a), (second, other, b) in combinations(holes, 2):
        apart, least = math.dist(a, b), (one + other) / 2 + LEAST_WOOD
        if apart < least and (first, second) not in named:
            named.add((first, second))
            key = "places" if head.tuners[second].places else "behind"
            if first == second and key == "behind":
                key = "spacing"
            yield (
                f"neck.headstock.tuners[{second}].{key}: holes {design.show(apart)} from middle "
                f"to middle are not allowed; at least {design.show(least)}"
            )


def _row(row: Tuners, key: str) -> Iterator[str]:
    """A row is given by its first hole and its steps, or by the place of every hole."""
    if row.places:
        given = {
            "behind": row.behind is not None,
            "aside": row.aside is not None,
            "number": row.number != 1,
            "spacing": row.spacing is not None,
            "drift": row.drift != 0,
        }
        others = [name for name, is_given in given.items() if is_given]
        if others:
            yield (
                f"{key}.places: not allowed beside {', '.join(others)}; tell the holes by their "
                "places or as a row, and leave the other out"
            )
        return
    for name, value in (("behind", row.behind), ("aside", row.aside)):
        if value is None:
            yield f"{key}.{name}: missing; give behind and aside of the first hole, or places"
            return
    if row.number > 1 and row.spacing is None:
        yield f"{key}.spacing: missing; the row has {row.number} holes"


def _volute(design: Design, head: Headstock) -> Iterator[str]:
    volute = head.volute
    if volute is None:
        return
    widest = WIDEST_VOLUTE * design.neck.nut_width
    if volute.width > widest:
        yield (
            f"neck.headstock.volute.width: {design.show(volute.width)} is not allowed; at most "
            f"{design.show(widest)}, {WIDEST_VOLUTE:g} of the width at the nut"
        )
    front = volute.length / 2 - volute.behind
    for number, station in enumerate(design.neck.stations):
        x = design.place(station.at)
        if x < front - 1e-9:
            yield (
                f"neck.headstock.volute.length: {design.show(volute.length)} lets the volute reach "
                f"{design.show(front)} before the nut, over the station at "
                f"{station.at.show(design.units)} (neck.stations[{number}]); make it shorter or "
                "set its crest further behind"
            )
