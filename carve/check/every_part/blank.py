"""Whether each part lies inside its blank, with wood to spare on every side."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from carve.arrays import Array
from carve.check.declare import EVERY_PART, looks_at
from carve.check.finding import Finding, Verdict, show_place
from carve.check.judge import at_least
from carve.check.reading.keys import PLACE
from carve.check.tolerances import BLANK
from carve.design.schema.blank import Blank
from carve.design.values.units import show_length, show_no_less, show_number
from carve.parts.job import Job, Part
from carve.shape.assembly.frames import INSTRUMENT
from carve.shop.laying import Laying, thinnest_laying

SAVED = 0.5  # mm of thickness; for less nobody lays a part askew
AHEAD = 0.5  # mm of width; less to one side than to the other is not worth a word

_DIRECTIONS = (("length", "along the part"), ("width", "across"), ("thickness", "top to bottom"))


@dataclass(frozen=True, eq=False)
class _Laid:
    """A part and what it takes.

    points: (n, 3) mm, of its mesh. sizes: length, width and thickness in mm that are needed.
    board: whether they are those of a board that is sawn and glued, and not the part's own.
    askew: how it lies in the thinnest blank, None where level is as good.
    """

    points: Array
    sizes: tuple[float, float, float]
    board: bool
    askew: Laying | None


@looks_at(each=EVERY_PART, keys=("{part}.blank", *PLACE))
def check(job: Job) -> Iterator[Finding]:
    """Three findings a part with a blank: the wood to spare, the part laid in the middle."""
    for part in job.parts:
        blank = part.blank(job.design)
        if blank is None:
            continue
        laid = _laid(part)
        for axis in range(3):
            yield _finding(job, part, blank, laid, axis)


def _laid(part: Part[object]) -> _Laid:
    points = part.mesh.points
    length, width, thickness = (float(size) for size in np.ptp(points, axis=0))
    board = part.type.board_to_saw(part.shape)
    if board is not None:
        return _Laid(points, (board[0], width, board[1]), True, None)
    askew = thinnest_laying(points[:, [0, 2]])
    worth = askew.thickness < thickness - SAVED
    return _Laid(points, (length, width, thickness), False, askew if worth else None)


def _finding(job: Job, part: Part[object], blank: Blank, laid: _Laid, axis: int) -> Finding:
    unit = job.design.units
    name, where = _DIRECTIONS[axis]
    size, available = laid.sizes[axis], float(getattr(blank, name))
    # half of the wood to spare lies on each side
    judged = at_least((available - size) / 2, blank.allowance, tolerance=BLANK)
    advice = said = ""
    if not judged.good:
        missing = size + 2 * blank.allowance - available
        out = max(size - available, 0.0) / 2
        said = f"it sticks out {show_length(out, unit)} on each side, " if out else ""
        advice = (
            f"take a blank {show_no_less(missing, unit)} larger in {name}, at least "
            f"{show_no_less(available + missing, unit)}, or make the part smaller"
        )
    failed = not judged.good
    if axis == 2 and failed and laid.askew is not None and _holds(blank, laid.askew):
        failed = False
        spare = (available - laid.askew.thickness) / 2
        judged = replace(judged, verdict=Verdict.WARNING, value=spare)
        where = f"{where}, laid askew"
        advice = f"saw the part out of the blank's side askew, or {advice}"
    spot = laid.points[_furthest(laid.points, axis)]
    furthest = said.removesuffix(", ") if failed else ""
    # places are told from the nut, where the part's own frame begins there
    if failed and part.type.frame == INSTRUMENT:
        furthest = f"{said}{_reach(job, laid, spot, axis)}"
    notes = (
        f"{'sawn and glued,' if laid.board and axis != 1 else 'part'} "
        f"{show_length(laid.sizes[axis], unit)}, blank {show_length(available, unit)}",
        f"smallest {show_no_less(laid.sizes[axis] + 2 * blank.allowance, unit)}",
        _centred(job, blank, laid) if axis == 1 else "",
        _askew(job, blank, laid.askew) if axis == 2 else "",
        furthest,
    )
    return judged.finding(
        part=part.name,
        name=f"blank-{name}",
        check=f"blank, {name}",
        place=f"{where}, on each side",
        point=spot if failed else None,
        source=f"{part.instance.key}.blank.allowance; common practice",
        advice=advice,
        detail="; ".join(note for note in notes if note),
    )


def _holds(blank: Blank, askew: Laying) -> bool:
    over = 2 * (blank.allowance - BLANK)
    return askew.thickness + over <= blank.thickness and askew.length + over <= blank.length


def _furthest(points: Array, axis: int) -> int:
    """Index of the point that is furthest out: toward the nut, to either side, or up or down."""
    along = points[:, axis]
    return int(np.argmin(along) if axis == 0 else np.argmax(np.abs(along)))


def _reach(job: Job, laid: _Laid, spot: Array, axis: int) -> str:
    unit, place = job.design.units, show_place(job.design, float(spot[0]))
    if axis == 0:
        end = show_place(job.design, float(laid.points[:, 0].max()))
        return f"its ends lie {place} and {end}"
    if axis == 1:
        side = "treble" if spot[1] > 0 else "bass"
        return f"furthest to the {side} side {place}, {show_length(abs(float(spot[1])), unit)} out"
    way = "above" if spot[2] > 0 else "below"
    return f"furthest {place}, {show_length(abs(float(spot[2])), unit)} {way} the glue face"


def _centred(job: Job, blank: Blank, laid: _Laid) -> str:
    """What a part that is not even about its centre line needs where that is the blank's."""
    whole = 2 * float(np.abs(laid.points[:, 1]).max())
    if whole - laid.sizes[1] < AHEAD:
        return ""
    needed = show_no_less(whole + 2 * blank.allowance, job.design.units)
    return f"{needed} with the centre line in its middle"


def _askew(job: Job, blank: Blank, askew: Laying | None) -> str:
    if askew is None:
        return ""
    over, unit = 2 * blank.allowance, job.design.units
    thick, long = (show_no_less(size + over, unit) for size in (askew.thickness, askew.length))
    end = "headstock" if askew.raised > 0 else "heel"
    return (
        f"laid askew by {show_number(abs(math.degrees(askew.raised)), 2)}°, its {end} end up, "
        f"{thick} and {long} long"
    )
