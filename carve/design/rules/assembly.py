"""What the keys of strings, action, bridge, joint and finish must agree on.

Each rule yields one sentence for each contradiction, beginning with the key to change.
"""

from collections.abc import Iterator
from itertools import pairwise

from carve.design.derived.bridge_reach import NEAREST_BRIDGE, OutOfReach, bridge_out_of_reach
from carve.design.schema.assembly import Face, Film
from carve.design.schema.design import Design
from carve.design.schema.fields import ROUNDING
from carve.design.values.units import Unit, show_length

NEAREST_BODY = 0.25  # of the scale; a neck held nearer to the nut has no length to bow over


def assembly_contradictions(design: Design) -> Iterator[str]:
    """Every contradiction among the keys of the assembly, in their order."""
    for rule in (
        _gauges,
        _nut,
        _bridge_strings,
        _action,
        _bow,
        _bridge,
        _joint,
        _films,
        _finished_neck,
    ):
        yield from rule(design)


def _gauges(design: Design) -> Iterator[str]:
    strings = design.strings
    if strings is None:
        return
    if strings.gauges is not None and len(strings.gauges) != strings.number:
        yield (
            f"strings.gauges: {len(strings.gauges)} diameters for {strings.number} strings "
            f"(strings.number); give {strings.number}, from bass to treble"
        )
    if strings.gauges is None:
        for key, spacing in (
            ("nut_spacing", strings.nut_spacing),
            ("bridge_spacing", strings.bridge_spacing),
        ):
            if spacing == "even gaps":
                yield (
                    f'strings.{key}: "even gaps" needs the strings\' diameters; give '
                    'strings.gauges, or write "even centres"'
                )


def _nut(design: Design) -> Iterator[str]:
    strings, width = design.strings, design.neck.nut_width
    if strings is None:
        return
    spread = width - strings.nut_edge_bass - strings.nut_edge_treble
    narrowest = _touching(design)
    if spread <= narrowest:
        yield (
            f"strings.nut_edge_bass: {design.show(strings.nut_edge_bass)}, with "
            f"{design.show(strings.nut_edge_treble)} on the treble side, leaves "
            f"{design.show(spread)} for {strings.number} strings on a nut {design.show(width)} "
            f"wide; more than {design.show(narrowest)} is needed"
        )


def _bridge_strings(design: Design) -> Iterator[str]:
    strings = design.strings
    if strings is None:
        return
    narrowest = _touching(design)
    if strings.bridge_spread <= narrowest:
        yield (
            f"strings.bridge_spread: {design.show(strings.bridge_spread)} is not allowed; "
            f"{strings.number} strings of these diameters need more than {design.show(narrowest)}"
        )


def _touching(design: Design) -> float:
    """Spread in mm, middle to middle, of strings that lie against each other."""
    strings = design.strings
    if strings is None or strings.gauges is None or len(strings.gauges) != strings.number:
        return 0.0
    return sum((one + other) / 2 for one, other in pairwise(strings.gauges))


def _action(design: Design) -> Iterator[str]:
    action = design.action
    if action is not None and action.nut_over == "1st fret" and not design.fretboard.ratios():
        yield (
            'action.nut_over: "1st fret" needs frets (fretboard.frets); write "board", or give '
            "the number of frets"
        )
    if action is not None and action.fret_height > 0 and not design.fretboard.ratios():
        yield (
            f"action.fret_height: {design.show(action.fret_height)} without frets "
            "(fretboard.frets); give their number, or write 0"
        )


def _bow(design: Design) -> Iterator[str]:
    """A neck with relief, known by its heel end where no joint says where the body holds it."""
    action, end = design.action, design.place(design.neck.heel_end)
    shortest = NEAREST_BODY * design.saddle_line.at
    if action is not None and action.relief > 0 and design.joint is None and end < shortest:
        yield (
            f"action.relief: {design.show(action.relief)} needs a neck to bow: it ends "
            f"{design.show(end)} from the nut (neck.heel_end), and a quarter of the scale, "
            f"{design.show(shortest)}, is the least; write 0"
        )


def _bridge(design: Design) -> Iterator[str]:
    bridge = design.bridge
    if bridge is None:
        return
    low, high = bridge.height_lowest, bridge.height_highest
    if high < low - ROUNDING:
        yield (
            f"bridge.height_highest: {design.show(high)} is less than bridge.height_lowest, "
            f"{design.show(low)}; exchange them"
        )
    elif bridge.height is not None and not low - ROUNDING <= bridge.height <= high + ROUNDING:
        yield (
            f"bridge.height: {design.show(bridge.height)} is not within the bridge's own range, "
            f"{design.show(low)} to {design.show(high)} (bridge.height_lowest, "
            "bridge.height_highest)"
        )


def _joint(design: Design) -> Iterator[str]:
    joint, bridge = design.joint, design.bridge
    if joint is None:
        return
    for name, table in (("action", design.action), ("bridge", bridge)):
        if table is None:
            yield (
                f"joint: the side view needs the table [{name}] as well; add it, or leave "
                "[joint] out"
            )
    at, end = design.place(joint.at), design.place(design.neck.heel_end)
    heel = design.neck.heel
    butt = heel is not None and heel.kind == "carved" and heel.tongue is None
    if at >= end and not butt:
        yield (
            f"joint.at: {design.show(at)} from the nut is not allowed; the body's edge lies on "
            f"the neck, before the heel end at {design.show(end)} (neck.heel_end)"
        )
    nearest = NEAREST_BODY * design.saddle_line.at
    if at < nearest:
        yield (
            f"joint.at: {design.show(at)} from the nut is not allowed; the body's edge lies at "
            f"least a quarter of the scale from it, {design.show(nearest)}"
        )
    if joint.angle is None and joint.height is None:
        yield (
            "joint: neither angle nor height is given; give joint.height and the angle follows, "
            "or joint.angle and the height follows, or both and the bridge's height follows"
        )
    if bridge is None:
        return
    reach = design.saddle_line.at + bridge.compensation - at
    if reach < NEAREST_BRIDGE:
        yield (
            f"joint.at: {design.show(at)} from the nut leaves {design.show(reach)} to the "
            f"bridge; at least {design.show(NEAREST_BRIDGE)} is needed"
        )
    if bridge.top_height is not None or design.body is None or design.body.top is None:
        for away in bridge_out_of_reach(design, bridge.top_height or 0.0):
            yield said_out_of_reach(away, design.units)


def said_out_of_reach(bridge: OutOfReach, unit: Unit) -> str:
    """The sentence to a bridge that no neck angle reaches."""
    return (
        f"joint.height: {show_length(bridge.height, unit)} leaves the bridge "
        f"{show_length(bridge.away, unit)} {bridge.way} the neck's glue face, more than the "
        f"{show_length(bridge.reach, unit)} from the body's edge to it; no neck angle reaches that"
    )


def _films(design: Design) -> Iterator[str]:
    finish = design.finish
    if finish is None:
        return
    owner: dict[Face | None, int] = {}
    for number, film in enumerate(finish.films):
        key = f"finish.films[{number}]"
        yield from _film(key, film)
        for face in film.on if film.on is not None else (None,):
            said = f'"{face}"' if face else "every other face"
            if face is not None and face in (finish.masked or ()):
                yield (
                    f"{key}.on: {said} is masked (finish.masked); take it out of one of the two "
                    "lists"
                )
            if face in owner:
                yield (
                    f"{key}.on: {said} has its film from finish.films[{owner[face]}]; a face "
                    "has one film"
                )
            else:
                owner[face] = number


def _film(key: str, film: Film) -> Iterator[str]:
    schedule = {
        name: getattr(film, name)
        for name in ("coats", "dry", "wet", "solids")
        if getattr(film, name) is not None
    }
    how = "coats and dry, or coats, wet and solids"
    if film.thickness is not None and schedule:
        yield (
            f"{key}.thickness: given together with {', '.join(schedule)}; give the thickness "
            f"alone, or {how} without it"
        )
    elif film.thickness is None and set(schedule) not in (
        {"coats", "dry"},
        {"coats", "wet", "solids"},
    ):
        given = f"only {', '.join(schedule)} given" if schedule else "no thickness given"
        yield f"{key}: {given}; give thickness, or {how}"


def _finished_neck(design: Design) -> Iterator[str]:
    """A back whose wood is cut thinner by the film still has wood under board and channel."""
    finish, board, rod = design.finish, design.fretboard.thickness, design.neck.truss_rod
    if finish is None:
        return
    films = finish.on("neck back") + finish.on("fretboard top")
    for number, station in enumerate(design.neck.stations):
        depth = 0.0
        if rod is not None:
            start, end = design.place(rod.start), design.place(rod.end)
            share = (design.place(station.at) - start) / max(end - start, ROUNDING)
            depth = rod.depth_along(share) if 0 <= share <= 1 else 0.0
        # without the finish it is another rule's business
        if board + depth < station.thickness <= board + depth + films:
            yield (
                f"neck.stations[{number}].thickness: {design.show(station.thickness)} is no more "
                f"than fretboard, channel and finish together ({design.show(board)} + "
                f"{design.show(depth)} + {design.show(films)}); make it thicker"
            )
