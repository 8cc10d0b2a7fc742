"""What the heel's keys must agree on among themselves and with the neck's.

Each rule yields one sentence for each contradiction, beginning with the key to change.
"""

import math
from collections.abc import Iterator
from itertools import combinations

from carve.design.derived.board_plan import board_plan
from carve.design.derived.heel_blend import longest_blend, shortest_blend
from carve.design.schema.design import Design
from carve.design.schema.heel import Heel, HeelKind
from carve.design.values.tolerances import LEAST_WOOD, TINY

NARROWEST_TENON = 8.0  # mm; a tenon's end, or half of what a tenon needs to be one
_TONGUE = "neck.heel.tongue"


NEEDED: dict[HeelKind, tuple[str, ...]] = {
    "bolted": ("length",),
    "tenon": ("length",),
    "carved": ("cap_length", "cap_width"),
    "through": (),
}
OTHERS: dict[HeelKind, tuple[str, ...]] = {
    "bolted": ("end_width", "cap_length", "cap_width", "flank", "tongue"),
    "tenon": ("end_width", "cap_length", "cap_width", "flank", "tongue"),
    "carved": ("length", "width", "end_width", "angle", "corner_radius", "holes"),
    "through": (
        *("length", "angle", "corner_radius", "holes"),
        *("cap_length", "cap_width", "flank", "tongue"),
    ),
}
"""Keys that belong to other kinds of heel."""

SAME_EDGE = 0.1  # mm between the body's edge in two tables; nobody saws closer


def heel_contradictions(design: Design) -> Iterator[str]:
    """Every contradiction; those of sizes only where the heel lies on the neck."""
    heel = design.neck.heel
    if heel is None:
        return
    found = [*_keys(heel), *(_through(design, heel) if heel.kind == "through" else ())]
    found = found or list(_place(design, heel))
    yield from found
    if not found:
        found = list(_width(design, heel))
        yield from found
    if not found:
        for rule in (_corner, _holes, _channel, _body_edge):
            yield from rule(design, heel)


def heel_start(design: Design) -> float:
    """Where block, tenon, tongue or core begin, mm from the nut; the heel end without one."""
    heel, end = design.neck.heel, design.place(design.neck.heel_end)
    if heel is None:
        return end
    if heel.kind == "carved":
        return end - (heel.tongue.length if heel.tongue else 0.0)
    if heel.kind == "through":
        return end if design.joint is None else design.place(design.joint.at)
    return end - (heel.length or 0.0)


def _keys(heel: Heel) -> Iterator[str]:
    """Which keys a kind of heel needs, and which belong to others."""
    for name in NEEDED[heel.kind]:
        if getattr(heel, name) is None:
            yield f'neck.heel.{name}: missing; neck.heel.kind is "{heel.kind}", which needs it'
    for name in OTHERS[heel.kind]:
        if getattr(heel, name):
            yield (
                f'neck.heel.{name}: not allowed where neck.heel.kind is "{heel.kind}"; leave it out'
            )


def _through(design: Design, heel: Heel) -> Iterator[str]:
    """What a core through the body needs to know of body and fretboard."""
    if design.joint is None:
        yield (
            'neck.heel.kind: "through" needs the table [joint], which says where the body\'s edge '
            "is and how the body's top lies; add it"
        )
        return
    if design.joint.pocket_width is not None:
        yield (
            'joint.pocket_width: not allowed where neck.heel.kind is "through"; the body is glued '
            "to the core's sides, so leave it out"
        )
    if design.fretboard.beyond_last_fret is None:
        yield (
            'fretboard.beyond_last_fret: missing; neck.heel.kind is "through", so say where the '
            "board ends on the core"
        )
        return
    ends, edge = board_plan(design).end, design.place(design.joint.at)
    if ends < edge:
        yield (
            f"joint.at: {design.show(edge)} from the nut is not allowed on a through-neck; the "
            f"fretboard ends before it, {design.show(ends)} from the nut "
            "(fretboard.beyond_last_fret)"
        )
    end = design.place(design.neck.heel_end)
    if end < ends + LEAST_WOOD:
        yield (
            f"neck.heel_end: {design.show(end)} from the nut is not allowed on a through-neck; it "
            f"goes on beyond the fretboard's end, {design.show(ends)} from the nut"
        )


def _place(design: Design, heel: Heel) -> Iterator[str]:
    before = heel.cap_length or 0.0
    start = heel_start(design)
    blend = shortest_blend(heel) if heel.blend is None else longest_blend(heel)
    if start - before - blend <= 0:
        key, long, reach, end = "length", heel.length or 0.0, start, "neck.heel_end"
        if heel.kind in ("carved", "through"):
            key, long, end = "blend", before, "its body's edge"
        else:
            reach = design.place(design.neck.heel_end)
        own = f"{design.show(long)} and " if long else ""
        yield (
            f"neck.heel.{key}: {own}the blend of {design.show(blend)} (neck.heel.blend) are "
            f"longer than the neck, {design.show(reach)} ({end}); make them shorter"
        )
        return
    last = start - before - shortest_blend(heel)
    number, first = min(enumerate(design.neck.stations), key=lambda one: design.place(one[1].at))
    x = design.place(first.at)
    if x > last + 1e-9:
        yield (
            f"neck.stations[{number}].at: the first station, {first.at.show(design.units)}, lies "
            f"{design.show(x - last)} within the heel; at least one station lies before it, at "
            f"most {design.show(last)} from the nut"
        )


def _width(design: Design, heel: Heel) -> Iterator[str]:
    own = _neck_width(design, heel_start(design))
    if heel.kind == "tenon" and heel.width is None:
        yield (
            'neck.heel.width: missing; neck.heel.kind is "tenon", so give its width at the '
            f"shoulders, less than the neck's {design.show(own)} there"
        )
        return
    if heel.kind == "bolted" and heel.angle:
        yield (
            f"neck.heel.angle: {heel.angle:g}° is not allowed where neck.heel.kind is "
            '"bolted"; a block\'s sides are parallel (neck.heel.width) or follow the taper'
        )
    cap = heel.cap_width
    if cap is not None and cap > own - 2 * LEAST_WOOD:
        yield (
            f"neck.heel.cap_width: {design.show(cap)} is not allowed; the neck is "
            f"{design.show(own)} wide at the body's edge, and its flanks come in to the cap by at "
            f"least {design.show(LEAST_WOOD)} on each side"
        )
    tenon = _tenon(heel)
    if tenon is None:
        return
    key, width, length, angle = tenon
    if width > own - 2 * LEAST_WOOD:
        yield (
            f"{key}.width: {design.show(width)} is not allowed; the neck is "
            f"{design.show(own)} wide at the tenon's shoulders, and a shoulder of at least "
            f"{design.show(LEAST_WOOD)} stands on each side"
        )
    end = width - 2 * length * math.tan(math.radians(angle))
    if end < NARROWEST_TENON:
        yield (
            f"{key}.angle: {angle:g}° a side leaves the tenon "
            f"{design.show(max(end, 0.0))} wide at the heel end; at least "
            f"{design.show(NARROWEST_TENON)} is needed"
        )
    if heel.tongue is not None and heel.tongue.depth > heel.depth - LEAST_WOOD:
        yield (
            f"neck.heel.tongue.depth: {design.show(heel.tongue.depth)} is not allowed; the cap "
            f"lies {design.show(heel.depth)} below the glue face (neck.heel.depth), and a shoulder "
            f"of at least {design.show(LEAST_WOOD)} stands under the tongue"
        )


def _tenon(heel: Heel) -> tuple[str, float, float, float] | None:
    """Key, width at the shoulders, length and angle of a tenon or a tongue, if it has one."""
    if heel.kind == "tenon":
        return "neck.heel", heel.width or 0.0, heel.length or 0.0, heel.angle
    tongue = heel.tongue
    return None if tongue is None else (_TONGUE, tongue.width, tongue.length, tongue.angle)


def _corner(design: Design, heel: Heel) -> Iterator[str]:
    key, radius = "neck.heel", heel.corner_radius
    if heel.tongue is not None:
        key, radius = _TONGUE, heel.tongue.corner_radius
    if 0 < radius < TINY:
        yield (
            f"{key}.corner_radius: {design.show(radius)} is not allowed; 0, or at "
            f"least {design.show(TINY)}"
        )
    length = design.place(design.neck.heel_end) - heel_start(design)
    largest = min(_width_at(design, heel, 0.0) / 2, length) * 0.9
    if radius > largest:
        yield (
            f"{key}.corner_radius: {design.show(radius)} is not allowed; at most "
            f"{design.show(largest)} on this heel, nine tenths of its half width or its length"
        )


def _holes(design: Design, heel: Heel) -> Iterator[str]:
    if heel.kind == "tenon" and heel.holes:
        yield 'neck.heel.holes: not allowed where neck.heel.kind is "tenon"; leave them out'
        return
    for number, hole in enumerate(heel.holes):
        key, radius = f"neck.heel.holes[{number}]", hole.diameter / 2
        lowest, highest = radius + LEAST_WOOD, (heel.length or 0.0) - radius - LEAST_WOOD
        if not lowest <= hole.from_end <= highest:
            yield (
                f"{key}.from_end: {design.show(hole.from_end)} is not allowed for a hole of "
                f"{design.show(hole.diameter)}; from {design.show(lowest)} to "
                f"{design.show(highest)}, so that it stands in the block"
            )
            continue
        widest = _room_beside(design, heel, hole.from_end - radius) - radius - LEAST_WOOD
        if abs(hole.aside) > widest:
            yield (
                f"{key}.aside: {design.show(hole.aside)} is not allowed for a hole of "
                f"{design.show(hole.diameter)}; at most {design.show(max(widest, 0.0))} to either "
                "side, so that it stands in the block"
            )
    for (first, one), (second, other) in combinations(enumerate(heel.holes), 2):
        apart = math.hypot(one.from_end - other.from_end, one.aside - other.aside)
        least = (one.diameter + other.diameter) / 2 + LEAST_WOOD
        if apart < least:
            yield (
                f"neck.heel.holes[{second}].from_end: {design.show(apart)} from "
                f"neck.heel.holes[{first}] is not allowed; at least {design.show(least)} from "
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
                    f"neck.heel.holes[{number}].aside: {design.show(hole.aside)} is not allowed; "
                    "the hole would meet the truss rod's channel, and at least "
                    f"{design.show(LEAST_WOOD)} of wood stands between them"
                )
                break
    tenon = _tenon(heel)
    if tenon is not None and reach > heel_start(design):
        narrowest = min(_width_at(design, heel, end - reach), _width_at(design, heel, 0.0))
        widest = max(half, wide) * 2
        if widest > narrowest - 2 * LEAST_WOOD:
            yield (
                f"{tenon[0]}.width: the tenon is {design.show(narrowest)} wide where the truss "
                f"rod's channel of {design.show(widest)} runs in it; at least "
                f"{design.show(LEAST_WOOD)} of wood stands on each side"
            )


def _body_edge(design: Design, heel: Heel) -> Iterator[str]:
    """A carved heel stands against the body's edge, and what the joint says agrees with it."""
    joint = design.joint
    if joint is None or heel.kind != "carved":
        return
    at, edge = design.place(joint.at), heel_start(design)
    if abs(at - edge) > SAME_EDGE:
        own = "neck.heel_end, less neck.heel.tongue.length" if heel.tongue else "neck.heel_end"
        yield (
            f"joint.at: {design.show(at)} from the nut is not allowed; the carved heel stands "
            f"against the body's edge {design.show(edge)} from it ({own})"
        )
    if joint.pocket_width is not None and heel.tongue is None:
        yield (
            "joint.pocket_width: not allowed with a carved heel that butts against the body's "
            "side; leave it out, or add [neck.heel.tongue]"
        )


def _neck_width(design: Design, x: float) -> float:
    """Width of the neck's taper in mm at x mm from the nut."""
    neck = design.neck
    growth = (neck.heel_width - neck.nut_width) / design.place(design.taper_to)
    return neck.nut_width + growth * x


def _width_at(design: Design, heel: Heel, from_end: float) -> float:
    """Width of the block, the tenon or the tongue in mm at a distance from the heel end."""
    tenon = _tenon(heel)
    if tenon is not None:
        _, width, length, angle = tenon
        return width - 2 * (length - from_end) * math.tan(math.radians(angle))
    if heel.width is None:
        return _neck_width(design, design.place(design.neck.heel_end) - from_end)
    return heel.width


def _room_beside(design: Design, heel: Heel, from_end: float) -> float:
    """Half width in mm at a distance from the heel end, its corners' roundness taken off."""
    half, radius = _width_at(design, heel, from_end) / 2, heel.corner_radius
    if from_end >= radius:
        return half
    return half - radius + math.sqrt(radius**2 - (radius - from_end) ** 2)
