"""What the keys of a design must agree on among themselves.

Each rule looks at a design whose single values are in range and yields one sentence
for each contradiction, beginning with the key to change.
"""

from collections.abc import Iterator
from itertools import pairwise

from carve.design.rules.assembly import assembly_contradictions
from carve.design.rules.body import body_contradictions
from carve.design.rules.fretboard import fretboard_contradictions
from carve.design.rules.headstock import headstock_contradictions
from carve.design.rules.heel import heel_contradictions
from carve.design.rules.heel_slant import heel_slant_contradictions
from carve.design.rules.outline import outline_contradictions
from carve.design.schema.design import Design
from carve.design.schema.fields import ROUNDING
from carve.design.values.tolerances import NEAREST_STATIONS


def contradictions(design: Design) -> tuple[str, ...]:
    """Every contradiction in the design, in the order of its keys."""
    rules = (_heel_end, _stations, _thicknesses, _truss_rod, _access, _widths, _gauges, _limits)
    neck = [sentence for rule in rules for sentence in rule(design)]
    if any(sentence.startswith(("neck.heel_end", "joint.at")) for sentence in neck):
        return tuple(neck)  # what lies on the neck cannot be judged without its end
    heel = tuple(heel_contradictions(design))
    return (
        *neck,
        *headstock_contradictions(design),
        *(heel or heel_slant_contradictions(design)),
        *fretboard_contradictions(design),
        *assembly_contradictions(design),
        *outline_contradictions(design),
        *body_contradictions(design),
    )


def _heel_end(design: Design) -> Iterator[str]:
    end, heel = design.place(design.neck.heel_end), design.neck.heel
    through = heel is not None and heel.kind == "through"  # it may go on to the tail
    if end < 50 or (not through and end >= design.saddle_line.at):
        yield (
            f"neck.heel_end: {design.show(end)} from the nut is not allowed; "
            f"from {design.show(50)} to less than the scale length, "
            f"{design.show(design.saddle_line.at)}"
        )
    elif through and design.joint is not None and design.place(design.joint.at) < 50:
        yield (
            f"joint.at: {design.show(design.place(design.joint.at))} from the nut is not allowed "
            f"on a through-neck; its taper is measured there, at least {design.show(50)} from it"
        )


def _stations(design: Design) -> Iterator[str]:
    end = design.place(design.neck.heel_end)
    placed = []
    for number, station in enumerate(design.neck.stations):
        x = design.place(station.at)
        placed.append((x, number))
        if x > end:
            yield (
                f"neck.stations[{number}].at: {station.at.show(design.units)} is "
                f"{design.show(x - end)} beyond the heel end (neck.heel_end); "
                "a station lies on the neck"
            )
    for (x1, first), (x2, second) in pairwise(sorted(placed)):
        if x2 - x1 < NEAREST_STATIONS:
            yield (
                f"neck.stations[{max(first, second)}].at: two stations at one place "
                f"(neck.stations[{min(first, second)}] is {design.show(x2 - x1)} away); "
                f"keep them at least {design.show(NEAREST_STATIONS)} apart or leave one out"
            )


def _thicknesses(design: Design) -> Iterator[str]:
    rod, board = design.neck.truss_rod, design.fretboard.thickness
    for number, station in enumerate(design.neck.stations):
        key = f"neck.stations[{number}].thickness"
        if station.thickness <= board:
            yield (
                f"{key}: {design.show(station.thickness)} is no more than the fretboard alone "
                f"(fretboard.thickness, {design.show(board)}); make it thicker"
            )
        elif rod is not None:
            start, end = design.place(rod.start), design.place(rod.end)
            x = design.place(station.at)
            if not start <= x <= end or start == end:
                continue
            depth = rod.depth_along((x - start) / (end - start))
            if station.thickness <= board + depth:
                yield (
                    f"{key}: {design.show(station.thickness)} is no more than fretboard and "
                    f"channel together ({design.show(board)} + {design.show(depth)}), so the "
                    "channel would cut through the back; make the neck thicker or the channel "
                    "shallower"
                )


def _truss_rod(design: Design) -> Iterator[str]:
    rod = design.neck.truss_rod
    if rod is None:
        return
    start, end = design.place(rod.start), design.place(rod.end)
    heel_end = design.place(design.neck.heel_end)
    if end - start < 10:
        yield (
            f"neck.truss_rod.end: {design.show(end)} from the nut is not allowed; the channel "
            f"starts at {design.show(start)} and must be at least {design.show(10)} long"
        )
    if end > heel_end + 1e-9:
        yield (
            f"neck.truss_rod.end: {design.show(end)} from the nut is {design.show(end - heel_end)} "
            "beyond the heel end (neck.heel_end); end the channel on the neck"
        )
    if rod.width >= min(design.neck.nut_width, design.neck.heel_width):
        yield (
            f"neck.truss_rod.width: {design.show(rod.width)} is not allowed; "
            "the channel must be narrower than the neck"
        )
    shallowest = min(rod.depth_along(n / 16) for n in range(17))
    if shallowest <= 0:
        yield (
            "neck.truss_rod.depth_middle: the floor through the three depths rises above the "
            "glue face; bring the depths closer together"
        )


def _access(design: Design) -> Iterator[str]:
    rod = design.neck.truss_rod
    if rod is None or rod.access is None:
        return
    length = design.place(rod.end) - design.place(rod.start)
    if rod.access.length >= length:
        yield (
            f"neck.truss_rod.access.length: {design.show(rod.access.length)} is not allowed; "
            f"the pocket must be shorter than the channel, {design.show(length)}"
        )
    if rod.access.width >= min(design.neck.nut_width, design.neck.heel_width):
        yield (
            f"neck.truss_rod.access.width: {design.show(rod.access.width)} is not allowed; "
            "the pocket must be narrower than the neck"
        )


def _widths(design: Design) -> Iterator[str]:
    blank = design.neck.blank.width
    for key, width in (
        ("nut_width", design.neck.nut_width),
        ("heel_width", design.neck.heel_width),
    ):
        if width > blank:
            yield (
                f"neck.{key}: {design.show(width)} is wider than the blank "
                f"(neck.blank.width, {design.show(blank)}); make the neck narrower or take a "
                "wider blank"
            )


def _gauges(design: Design) -> Iterator[str]:
    end = design.place(design.neck.heel_end)
    for number, place in enumerate(design.neck.gauges or ()):
        x = design.place(place)
        if x > end + 1e-9:
            yield (
                f"neck.gauges[{number}]: {place.show(design.units)} is {design.show(x - end)} "
                "beyond the heel end (neck.heel_end); a gauge fits the neck"
            )


def _limits(design: Design) -> Iterator[str]:
    limits = design.limits
    if limits.wood_under_channel_good < limits.wood_under_channel - ROUNDING:
        yield (
            f"limits.wood_under_channel_good: {design.show(limits.wood_under_channel_good)} is "
            f"less than limits.wood_under_channel, {design.show(limits.wood_under_channel)}; "
            "the warning must come before the failure"
        )
