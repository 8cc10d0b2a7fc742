"""What a slanted heel end must agree on with the heel, the stations and the channel.

Each rule yields one sentence for each contradiction, beginning with the key to change.
"""

import math
from collections.abc import Iterator

from carve.design.schema.design import Design
from carve.design.schema.heel import Heel
from carve.design.values.tolerances import LEAST_WOOD, TINY
from carve.design.values.units import show_number

KEY = "neck.heel_slant"
SHARE = 0.9  # of a side or of the end that round corners may take up


def heel_slant_contradictions(design: Design) -> Iterator[str]:
    """Every contradiction; none where the heel end is square."""
    slant, heel = design.neck.heel_slant, design.neck.heel
    if slant == 0:
        return
    if abs(slant) < TINY:
        yield f"{KEY}: {slant:g}° is not allowed; 0, or at least {TINY:g}° to either side"
        return
    if heel is not None and heel.kind not in ("bolted", "tenon"):
        yield (
            f'{KEY}: {slant:g}° is not allowed where neck.heel.kind is "{heel.kind}"; such a heel '
            "ends square, so leave it out"
        )
        return
    yield from _stations(design)
    yield from _channel(design)
    yield from _joint(design)
    if heel is not None:
        found = list(_sides(design, heel))
        yield from found or _holes(design, heel)


def _lean(design: Design) -> float:
    return math.tan(math.radians(design.neck.heel_slant))


def _shorter(design: Design) -> float:
    """How far the nearer corner of the neck's end lies before its middle, mm, at most."""
    widest = max(design.neck.heel_width, _block(design)[1]) / 2
    return abs(_lean(design)) * widest * (1 + abs(_lean(design)) * abs(_flare(design)))


def _flare(design: Design) -> float:
    neck = design.neck
    return (neck.heel_width - neck.nut_width) / 2 / design.place(neck.heel_end)


def _block(design: Design) -> tuple[float, float, float]:
    """Length of block or tenon, its width at the end, and the growth of its half width, in mm."""
    heel, own = design.neck.heel, design.neck.heel_width
    if heel is None:
        return 0.0, own, _flare(design)
    length = heel.length or 0.0
    if heel.width is None:
        return length, own, _flare(design)
    lean = math.tan(math.radians(heel.angle))
    return length, heel.width - 2 * length * lean, -lean


def _stations(design: Design) -> Iterator[str]:
    last = design.place(design.neck.heel_end) - _shorter(design)
    for number, station in enumerate(design.neck.stations):
        x = design.place(station.at)
        if x > last:
            yield (
                f"neck.stations[{number}].at: {station.at.show(design.units)} lies "
                f"{design.show(x - last)} beyond the nearer corner of the slanted heel end "
                f"({KEY}, {design.neck.heel_slant:g}°); move the station, or slant the end less"
            )


def _joint(design: Design) -> Iterator[str]:
    if design.joint is None:
        return
    edge, last = design.place(design.joint.at), design.place(design.neck.heel_end)
    last -= _shorter(design)
    if edge > last:
        yield (
            f"joint.at: {design.show(edge)} from the nut is {design.show(edge - last)} beyond the "
            f"nearer corner of the slanted heel end ({KEY}, {design.neck.heel_slant:g}°); let the "
            "body's edge lie before it, or slant the end less"
        )


def _channel(design: Design) -> Iterator[str]:
    rod, end = design.neck.truss_rod, design.place(design.neck.heel_end)
    if rod is None:
        return
    wide = rod.width
    if rod.access is not None and rod.access.at == "heel":
        wide = max(wide, rod.access.width)
    left, needed = end - design.place(rod.end), abs(_lean(design)) * wide / 2 + LEAST_WOOD
    if 1e-9 < left < needed:
        yield (
            f"neck.truss_rod.end: {design.show(left)} before a heel end that slants by "
            f"{design.neck.heel_slant:g}° ({KEY}) is not allowed; end the channel at the heel end, "
            f"or at least {design.show(needed)} before it"
        )


def _sides(design: Design, heel: Heel) -> Iterator[str]:
    """Both sides of the block are there, and the round corners find room on them."""
    (length, width, flare), lean = _block(design), _lean(design)
    halves = (width / 2 / (1 + flare * lean), width / 2 / (1 - flare * lean))
    sides = (length - lean * halves[0], length + lean * halves[1])
    openings = tuple(math.pi / 2 - math.atan(flare) + turn * math.atan(lean) for turn in (1, -1))
    taken = tuple(heel.corner_radius / math.tan(opening / 2) for opening in openings)
    across = sum(halves) * math.hypot(1.0, lean)
    for side, along, name in zip(sides, taken, ("bass", "treble"), strict=True):
        if side < LEAST_WOOD or along > SHARE * side:
            yield (
                f"{KEY}: {show_number(design.neck.heel_slant, 2)}° leaves the heel "
                f"{design.show(max(side, 0.0))} of its {name} side, of which its round corner "
                f"takes {design.show(along)}; slant it less, make the corner smaller or the heel "
                "longer"
            )
            return
    if sum(taken) > SHARE * across:
        yield (
            f"neck.heel.corner_radius: {design.show(heel.corner_radius)} is not allowed on an end "
            f"{design.show(across)} wide that slants by {design.neck.heel_slant:g}° ({KEY}); make "
            "it smaller"
        )


def _holes(design: Design, heel: Heel) -> Iterator[str]:
    turn = math.radians(design.neck.heel_slant)
    for number, hole in enumerate(heel.holes):
        away = (hole.from_end + math.tan(turn) * hole.aside) * math.cos(turn) - hole.diameter / 2
        if away < LEAST_WOOD:
            short = (LEAST_WOOD - away) / math.cos(turn)
            yield (
                f"neck.heel.holes[{number}].from_end: {design.show(hole.from_end)} is not allowed "
                f"beside a heel end that slants by {design.neck.heel_slant:g}° ({KEY}); at least "
                f"{design.show(hole.from_end + short)} there"
            )
