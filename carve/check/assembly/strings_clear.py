"""Each string clear of the frets: open, and pressed at any fret of the frets beyond it."""

from collections.abc import Iterator

from carve.check.declare import looks_at
from carve.check.finding import Finding
from carve.check.judge import at_least
from carve.check.reading.keys import STRING_HEIGHTS
from carve.check.reading.stringing import least, lengths, string_name
from carve.check.tolerances import STRING
from carve.design.schema.design import Design
from carve.design.values.units import show_length
from carve.parts.job import Job
from carve.shape.assembly.string_heights import StringHeights, string_heights


@looks_at(
    keys=("limits.first_fret_clearance", "limits.fretted_clearance", "units", *STRING_HEIGHTS)
)
def check(job: Job) -> Iterator[Finding]:
    """Two findings where the design has strings, action and frets: the least heights."""
    found = string_heights(job.design)
    if found is None or not len(found.frets):
        return
    yield _open(job.design, found)
    if len(found.frets) > 1:
        yield _pressed(job.design, found)


def _open(design: Design, found: StringHeights) -> Finding:
    limit, unit = design.limits.first_fret_clearance, design.units
    string, fret = least(found.open)
    judged = at_least(float(found.open[string, fret]), limit, tolerance=STRING)
    return judged.finding(
        part="assembly",
        name="open-strings",
        check="open strings over the frets",
        place=f"{string_name(string, found.layout.count)} over fret {fret + 1}, "
        f"{show_length(_from_nut(found, string, fret), unit)} from the nut",
        point=_point(found, string, fret),
        source="limits.first_fret_clearance; common practice",
        advice=f"raise the string {show_length(judged.missing, unit)} there: at the nut "
        "(action.nut_height), or over the 12th fret (action.bass, action.treble)",
        detail=f"over the 1st fret, bass to treble: {lengths(found.open[:, 0], unit)}",
    )


def _pressed(design: Design, found: StringHeights) -> Finding:
    limit = design.limits.fretted_clearance
    string, fret = least(found.pressed)
    judged = at_least(float(found.pressed[string, fret]), limit, tolerance=STRING)
    return judged.finding(
        part="assembly",
        name="pressed-strings",
        check="pressed strings over the frets beyond",
        place=f"{string_name(string, found.layout.count)} pressed at fret {fret + 1}, "
        f"{show_length(_from_nut(found, string, fret), design.units)} from the nut",
        point=_point(found, string, fret),
        source="limits.fretted_clearance; common practice",
        advice="ask for more action (action.bass, action.treble), for another relief "
        "(action.relief), or for a radius nearer to the strings' cone (fretboard.radius)",
    )


def _point(found: StringHeights, string: int, fret: int) -> tuple[float, float, float]:
    """The fret's top under a string."""
    x = found.crossings[:, [fret]]
    y = float(found.layout.y(x)[string, 0])
    return (float(x[string, 0]), y, float(found.tops[string, fret]))


def _from_nut(found: StringHeights, string: int, fret: int) -> float:
    """Mm along the neck from a string's own nut point to a fret."""
    return float(found.crossings[string, fret] - found.layout.starts[string])
