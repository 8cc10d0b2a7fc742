"""What the fretboard's keys must agree on among themselves and with the neck's.

Each rule yields one sentence for each contradiction, beginning with the key to change.
A rule that builds on what an earlier one found wrong is not asked: see ``contradictions``.
"""

import math
from collections.abc import Iterator

from carve.design.derived.board_plan import BoardPlan, board_plan
from carve.design.schema.design import Design
from carve.design.schema.fields import MOST_FRETS, ROUNDING
from carve.design.values.tolerances import LEAST_WOOD
from carve.design.values.units import show_number

LEAST_EDGE = 0.2  # mm; a board that thin at its edges is no solid worth meshing
MOST_SLANT = 0.8  # of a line across, along for across: 38.7 degrees, well beyond what is built
LEAST_HALF = 4.0  # mm; half the width of the narrowest board that is still one


def fretboard_contradictions(design: Design) -> Iterator[str]:
    """Every contradiction; those of sizes only where the keys themselves make sense."""
    found = [
        sentence
        for rule in (_temperament, _scales, _radius_keys, _nut_keys)
        for sentence in rule(design)
    ]
    yield from found
    if found:
        return
    plan = board_plan(design)
    found = [sentence for rule in (_length, _radius_fits) for sentence in rule(design, plan)]
    yield from found
    if found:
        return
    for rule in (_nut_slot, _slots, _markers):
        yield from rule(design, plan)


def _temperament(design: Design) -> Iterator[str]:
    board = design.fretboard
    if board.temperament is not None and len(board.temperament) != board.frets:
        yield (
            f"fretboard.temperament: {len(board.temperament)} ratios are not allowed for "
            f"{board.frets} frets (fretboard.frets); give one for each fret"
        )


def _scales(design: Design) -> Iterator[str]:
    board, key = design.fretboard, "fretboard.perpendicular_fret"
    treble, square = board.treble_scale_length, board.perpendicular_fret
    if treble is None:
        if square is not None:
            yield (
                f"{key}: {square} is not allowed without fretboard.treble_scale_length; all frets "
                "of one scale length stand square: leave it out, or give the treble side's scale"
            )
        return
    if design.strings is None:
        yield (
            f"fretboard.treble_scale_length: {design.show(treble)} is measured along the outer "
            "treble string, and no strings are laid; add [strings]"
        )
    if square is None:
        yield (
            f"{key}: missing; say which fret stands square to the centre line, from 0 (the nut) "
            f"to {board.frets or MOST_FRETS}"
        )
        return
    if square > board.frets > 0:
        yield (
            f"{key}: fret {square} is not on the board, which has {board.frets} "
            f"(fretboard.frets); from 0 (the nut) to {board.frets}"
        )
        return
    fan, same = design.fan, abs(treble - design.scale_length) <= ROUNDING
    if design.strings is None or same or (board.temperament and board.square_share() is None):
        return
    if fan is None:
        yield (
            "fretboard.treble_scale_length: two such scales cannot be laid between the strings' "
            "places at nut and bridge; bring strings.nut_edge_bass, strings.nut_edge_treble and "
            "strings.bridge_spread nearer to the neck's widths"
        )
        return
    ratios = (1.0, *board.ratios())
    slants = {
        **{f"fret {n}": fan.line(1 - 1 / ratios[n]).slant for n in range(1, len(ratios))},
        "the saddle": fan.saddle.slant,
        "the nut": fan.nut.slant,
    }
    where = max(slants, key=lambda name: abs(slants[name]))
    if abs(slants[where]) > MOST_SLANT:
        angle, most = (math.degrees(math.atan(s)) for s in (abs(slants[where]), MOST_SLANT))
        yield (
            f"fretboard.treble_scale_length: {design.show(treble)} is too far from scale_length, "
            f"{design.show(design.scale_length)}: {where} would slant {show_number(angle, 1)} "
            f"degrees; at most {show_number(most, 1)} are allowed, so bring the two closer or "
            "choose another fretboard.perpendicular_fret"
        )


def _radius_keys(design: Design) -> Iterator[str]:
    radius = design.fretboard.radius
    if radius is None or radius.follow is None:
        return
    if radius.end is not None:
        yield (
            "fretboard.radius.follow: not allowed beside fretboard.radius.end; the strings or "
            "the radius at the end decide, not both"
        )
    elif design.strings is None:
        yield "fretboard.radius.follow: there are no strings to follow; add [strings]"


def _nut_keys(design: Design) -> Iterator[str]:
    board = design.fretboard
    if board.nut == "slot" and board.nut_slot is None:
        yield (
            'fretboard.nut_slot: missing; fretboard.nut is "slot", so give the slot\'s width '
            "and depth"
        )
    if board.nut != "slot" and board.nut_slot is not None:
        yield (
            f'fretboard.nut_slot: not allowed where fretboard.nut is "{board.nut}"; leave it out '
            'or make fretboard.nut "slot"'
        )
    if board.nut == "ledge" and board.behind > 0:
        yield (
            f"fretboard.behind: {design.show(board.behind)} is not allowed where fretboard.nut "
            'is "ledge": the board starts at the nut\'s front face; leave it out'
        )
    tool = board.slots.width / 2 if board.slots else 0.0
    across = board.nut_slot.width if board.nut_slot else tool
    needed = (LEAST_WOOD + across) * design.nut_line.stretch()
    if board.nut != "ledge" and board.behind < needed:
        yield (
            f"fretboard.behind: {design.show(board.behind)} is not allowed where fretboard.nut "
            f'is "{board.nut}"; at least {design.show(needed)}, so that wood stands behind the '
            f"{'slot' if board.nut == 'slot' else 'fret'}"
        )


def _length(design: Design, plan: BoardPlan) -> Iterator[str]:
    board = design.fretboard
    key = "neck.heel_end" if board.beyond_last_fret is None else "fretboard.beyond_last_fret"
    cut = board.slots.width / 2 if board.slots and board.frets else 0.0
    needed = 50.0
    if plan.lines:  # a slanted fret runs further at one of its ends
        last = plan.lines[-1]
        furthest = max(last.at, *(last.x(y) for y in plan.edges(last)))
        needed = max(furthest + (cut + LEAST_WOOD) * last.stretch(), LEAST_WOOD)
    if plan.core_end < needed:
        binding = plan.end - plan.core_end
        what = f"fret {board.frets} and its slot" if board.frets else "a board"
        said = f", {design.show(binding)} of it binding," if binding else ""
        yield (
            f"{key}: the board ends {design.show(plan.end)} from the nut{said} too soon for "
            f"{what}; let it end at {design.show(needed + binding)} or beyond"
        )
    saddle = min(plan.saddle.x(y) for y in plan.edges(plan.saddle))
    if plan.end >= saddle:
        yield (
            f"{key}: the board ends {design.show(plan.end)} from the nut, which is not allowed; "
            f"it must end before the bridge, {design.show(saddle)}"
        )
    narrow = min(plan.half_at(plan.start), plan.half_at(plan.core_end))
    if narrow < LEAST_HALF:
        yield (
            f"neck.heel_width: the taper leaves {design.show(2 * narrow)} of the board's width "
            f"at its end, binding taken off; at least {design.show(2 * LEAST_HALF)}"
        )


def _radius_fits(design: Design, plan: BoardPlan) -> Iterator[str]:
    """The first end of the board that the radius does not suit, if any."""
    thickness = plan.board.thickness
    start = plan.nut_end
    corners = [("start", start.x(y)) for y in plan.edges(start)]
    for name, x in (*corners, ("end", plan.core_end)):
        radius, half = plan.radius_at(x), plan.half_at(x)
        if radius is None:
            return
        said = (
            f"fretboard.radius: {design.show(radius)} at the board's {name}, where it is "
            f"{design.show(2 * half)} wide,"
        )
        if radius <= 1.02 * half:
            yield f"{said} is not allowed; more than half of the width, {design.show(half)}"
            return
        fall = plan.fall_at(x, half)
        if thickness - fall < LEAST_EDGE:
            yield (
                f"{said} falls {design.show(fall)} to the edges, and the board is "
                f"{design.show(thickness)} thick (fretboard.thickness); make it flatter or thicker"
            )
            return


def _nut_slot(design: Design, plan: BoardPlan) -> Iterator[str]:
    slot = plan.board.nut_slot
    if slot is not None and slot.depth >= plan.board.thickness:
        yield (
            f"fretboard.nut_slot.depth: {design.show(slot.depth)} cuts the board in two; less "
            f"than its thickness, {design.show(plan.board.thickness)}"
        )


def _slots(design: Design, plan: BoardPlan) -> Iterator[str]:
    slots, board = plan.board.slots, plan.board
    if slots is None:
        return
    if not plan.frets and board.nut != "zero fret":
        yield "fretboard.slots: there are no frets to cut slots for; leave it out or say how many"
        return
    if slots.depth >= board.thickness:
        yield (
            f"fretboard.slots.depth: {design.show(slots.depth)} cuts the board in two; less than "
            f"its thickness, {design.show(board.thickness)}"
        )
    if slots.floor == "flat" and slots.blind > 0:
        narrow = min(plan.half_at(x) for x in (plan.start, plan.core_end)) - slots.blind
        deepest = max(plan.fall_at(x, max(narrow, 0)) for x in (plan.start, plan.core_end))
        if narrow > 0 and deepest >= slots.depth:
            yield (
                f"fretboard.slots.depth: {design.show(slots.depth)} with a flat floor does not "
                f"reach the slots' ends, where the surface lies {design.show(deepest)} below the "
                'crown; make it deeper or fretboard.slots.floor "radius"'
            )
    narrowest = min(plan.half_at(plan.start), plan.half_at(plan.core_end))
    if slots.blind > narrowest - LEAST_HALF / 2:
        yield (
            f"fretboard.slots.blind: {design.show(slots.blind)} on each side leaves no slot on a "
            f"board {design.show(2 * narrowest)} wide; at most "
            f"{design.show(narrowest - LEAST_HALF / 2)}"
        )
    gaps = plan.gaps()
    if gaps:
        fret = min(range(len(gaps)), key=lambda n: plan.least_gap(*gaps[n]))
        gap = plan.least_gap(*gaps[fret])
        if slots.width + LEAST_WOOD > gap:
            yield (
                f"fretboard.slots.width: {design.show(slots.width)} leaves no wood between fret "
                f"{fret} and fret {fret + 1}, which are {design.show(gap)} apart; at most "
                f"{design.show(max(gap - LEAST_WOOD, 0))}"
            )


def _markers(design: Design, plan: BoardPlan) -> Iterator[str]:
    markers, board = plan.board.markers, plan.board
    if markers is None:
        return
    if markers.frets and markers.frets[-1] > board.frets:
        yield (
            f"fretboard.markers.frets: fret {markers.frets[-1]} is not on the board, which has "
            f"{board.frets} (fretboard.frets)"
        )
        return
    if markers.depth >= board.thickness:
        yield (
            f"fretboard.markers.depth: {design.show(markers.depth)} cuts through the board; less "
            f"than its thickness, {design.show(board.thickness)}"
        )
    doubles = set(markers.frets) & set(markers.double)
    if doubles and markers.spacing < markers.diameter + LEAST_WOOD:
        yield (
            f"fretboard.markers.spacing: {design.show(markers.spacing)} is not allowed; two "
            f"markers of {design.show(markers.diameter)} need at least "
            f"{design.show(markers.diameter + LEAST_WOOD)} from middle to middle"
        )
    slot = board.slots.width if board.slots else 0.0
    for fret in markers.frets:
        gap = plan.gaps()[fret - 1]
        aside = markers.spacing / 2 if fret in doubles else 0.0
        room = plan.least_gap(*gap, aside) - slot - 2 * LEAST_WOOD
        if markers.diameter > room:
            yield (
                f"fretboard.markers.diameter: {design.show(markers.diameter)} does not fit in the "
                f"space before fret {fret}, which has room for {design.show(max(room, 0))}"
            )
            break
    for fret in markers.frets:
        before, after = plan.gaps()[fret - 1]
        out = markers.diameter / 2 + (markers.spacing / 2 if fret in doubles else 0.0)
        half = plan.half_at((before.at + after.at) / 2)
        if out + LEAST_WOOD > half:
            key = "spacing" if fret in doubles else "diameter"
            yield (
                f"fretboard.markers.{key}: the marker at fret {fret} reaches "
                f"{design.show(out)} from the centre line, and the board is only "
                f"{design.show(half)} wide on each side there; keep "
                f"{design.show(LEAST_WOOD)} of wood outside it"
            )
            break
