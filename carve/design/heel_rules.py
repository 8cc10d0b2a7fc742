"""What the heel's keys must agree on among themselves and with the neck's.

Each rule yields one sentence for each contradiction, beginning with the key to change.
"""

import math
from collections.abc import Iterator
from itertools import combinations

from carve.design.heel import Heel
from carve.design.models import Design
from carve.design.units import show_length

LEAST_WOOD = 1.0  # mm; less between two cuts, or between a cut and an edge, breaks away
TINY = 0.2  # mm or degrees; what is not nothing is at least this
NARROWEST = 8.0  # mm; a tenon's end, or half of what a tenon needs to be one


def heel_contradictions(design: Design) -> Iterator[str]:
    """Every contradiction; those of sizes only where the heel lies on the neck."""
    heel = design.neck.heel
    if heel is None:
        return
    found = list(_place(design, heel))
    yield from found
    if not found:
        found = list(_width(design, heel))
        yield from found
    if not found:
        for rule in (_corner, _holes, _channel):
            yield from rule(design, heel)


def _place(design: Design, heel: Heel) -> Iterator[str]:
    end = design.place(design.neck.heel_end)
    blend = end - heel.length - heel.blend
    if blend <= 0:
        yield (
            f"neck.heel.length: {_mm(design, heel.length)} and the blend of "
            f"{_mm(design, heel.blend)} (neck.heel.blend) are longer than the neck, "
            f"{_mm(design, end)} (neck.heel_end); make them shorter"
        )
        return
    for number, station in enumerate(design.neck.stations):
        x = design.place(station.at)
        if x > blend + 1e-9:
            yield (
                f"neck.stations[{number}].at: {station.at.show(design.units)} lies "
                f"{_mm(design, x - blend)} within the heel, which begins to flow out of the shaft "
                f"{_mm(design, blend)} from the nut; move the station, or make neck.heel.blend or "
                "neck.heel.length shorter"
            )


def _width(design: Design, heel: Heel) -> Iterator[str]:
    own = _neck_width(design, heel.length)
    if heel.kind == "tenon" and heel.width is None:
        yield (
            'neck.heel.width: missing; neck.heel.kind is "tenon", so give its width at the '
            f"shoulders, less than the neck's {_mm(design, own)} there"
        )
        return
    if heel.kind == "bolted":
        if heel.angle:
            yield (
                f"neck.heel.angle: {heel.angle:g}° is not allowed where neck.heel.kind is "
                '"bolted"; a block\'s sides are parallel (neck.heel.width) or follow the taper'
            )
        return
    width = heel.width or 0.0
    if width > own - 2 * LEAST_WOOD:
        yield (
            f"neck.heel.width: {_mm(design, width)} is not allowed; the neck is "
            f"{_mm(design, own)} wide at the tenon's shoulders, and a shoulder of at least "
            f"{_mm(design, LEAST_WOOD)} stands on each side"
        )
    end = width - 2 * heel.length * math.tan(math.radians(heel.angle))
    if end < NARROWEST:
        yield (
            f"neck.heel.angle: {heel.angle:g}° a side leaves the tenon "
            f"{_mm(design, max(end, 0.0))} wide at the heel end; at least "
            f"{_mm(design, NARROWEST)} is needed"
        )


def _corner(design: Design, heel: Heel) -> Iterator[str]:
    if 0 < heel.corner_radius < TINY:
        yield (
            f"neck.heel.corner_radius: {_mm(design, heel.corner_radius)} is not allowed; 0, or at "
            f"least {_mm(design, TINY)}"
        )
    largest = min(_width_at(design, heel, 0.0) / 2, heel.length) * 0.9
    if heel.corner_radius > largest:
        yield (
            f"neck.heel.corner_radius: {_mm(design, heel.corner_radius)} is not allowed; at most "
            f"{_mm(design, largest)} on this heel, nine tenths of its half width or its length"
        )


def _holes(design: Design, heel: Heel) -> Iterator[str]:
    if heel.kind == "tenon" and heel.holes:
        yield 'neck.heel.holes: not allowed where neck.heel.kind is "tenon"; leave them out'
        return
    for number, hole in enumerate(heel.holes):
        key, radius = f"neck.heel.holes[{number}]", hole.diameter / 2
        lowest, highest = radius + LEAST_WOOD, heel.length - radius - LEAST_WOOD
        if not lowest <= hole.from_end <= highest:
            yield (
                f"{key}.from_end: {_mm(design, hole.from_end)} is not allowed for a hole of "
                f"{_mm(design, hole.diameter)}; from {_mm(design, lowest)} to "
                f"{_mm(design, highest)}, so that it stands in the block"
            )
            continue
        widest = _room_beside(design, heel, hole.from_end - radius) - radius - LEAST_WOOD
        if abs(hole.aside) > widest:
            yield (
                f"{key}.aside: {_mm(design, hole.aside)} is not allowed for a hole of "
                f"{_mm(design, hole.diameter)}; at most {_mm(design, max(widest, 0.0))} to either "
                "side, so that it stands in the block"
            )
    for (first, one), (second, other) in combinations(enumerate(heel.holes), 2):
        apart = math.hypot(one.from_end - other.from_end, one.aside - other.aside)
        least = (one.diameter + other.diameter) / 2 + LEAST_WOOD
        if apart < least:
            yield (
                f"neck.heel.holes[{second}].from_end: {_mm(design, apart)} from "
                f"neck.heel.holes[{first}] is not allowed; at least {_mm(design, least)} from "
                "middle to middle"
            )


def _channel(design: Design, heel: Heel) -> Iterator[str]:
    """Holes stand clear of the truss rod's channel, and a tenon holds it between its sides."""
    rod, end = design.neck.truss_rod, design.place(design.neck.heel_end)
    if rod is None:
        return
    reach, half = design.place(rod.end), rod.width / 2
    wide, from_x = half, reach
    if rod.access is not None and rod.access.at == "heel":
        wide, from_x = rod.access.width / 2, reach - rod.access.length
    for number, hole in enumerate(heel.holes):
        x, radius = end - hole.from_end, hole.diameter / 2
        for stop_half, start in ((half, design.place(rod.start)), (max(half, wide), from_x)):
            along = max(start - x, x - reach, 0.0)
            if math.hypot(along, max(abs(hole.aside) - stop_half, 0.0)) < radius + LEAST_WOOD:
                yield (
                    f"neck.heel.holes[{number}].aside: {_mm(design, hole.aside)} is not allowed; "
                    "the hole would meet the truss rod's channel, and at least "
                    f"{_mm(design, LEAST_WOOD)} of wood stands between them"
                )
                break
    if heel.kind == "tenon" and reach > end - heel.length:
        narrowest = min(_width_at(design, heel, end - reach), _width_at(design, heel, 0.0))
        widest = max(half, wide) * 2
        if widest > narrowest - 2 * LEAST_WOOD:
            yield (
                f"neck.heel.width: the tenon is {_mm(design, narrowest)} wide where the truss "
                f"rod's channel of {_mm(design, widest)} runs in it; at least "
                f"{_mm(design, LEAST_WOOD)} of wood stands on each side"
            )


def _neck_width(design: Design, from_end: float) -> float:
    neck = design.neck
    growth = (neck.heel_width - neck.nut_width) / design.place(neck.heel_end)
    return neck.heel_width - growth * from_end


def _width_at(design: Design, heel: Heel, from_end: float) -> float:
    """Width of the block or the tenon in mm at a distance from the heel end."""
    if heel.width is None:
        return _neck_width(design, from_end)
    lean = math.tan(math.radians(heel.angle))
    return heel.width - 2 * (heel.length - from_end) * lean


def _room_beside(design: Design, heel: Heel, from_end: float) -> float:
    """Half width in mm at a distance from the heel end, its corners' roundness taken off."""
    half, radius = _width_at(design, heel, from_end) / 2, heel.corner_radius
    if from_end >= radius:
        return half
    return half - radius + math.sqrt(radius**2 - (radius - from_end) ** 2)


def _mm(design: Design, length: float) -> str:
    return show_length(length, design.units)
