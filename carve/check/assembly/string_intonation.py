"""Multi-scale: how truly each string is divided by the slots as they stand in the mesh.

The outer strings' frets are laid by their own scale lengths, and a fret is straight between
them. A string between plays as truly where it stands at one share of the spread at nut and
saddle; with spaces that differ there ("even gaps" at one end only) it misses by a little, and
this says by how much.
"""

import math
from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding, Verdict
from carve.check.judge import at_most
from carve.check.reading.board import fret_slots
from carve.check.reading.keys import SCALE
from carve.check.reading.stringing import string_name
from carve.check.tolerances import MEASURED
from carve.design.values.units import show_number
from carve.parts.job import Job
from carve.shape.fretboard.shape import FretboardShape
from carve.shape.fretboard.strings import strings_of_design


@looks_at(each=FretboardShape, keys=("limits.fret_places", *SCALE))
def check(job: Job) -> Iterator[Finding]:
    """One finding where slots are cut on a multi-scale board: the fret furthest from true."""
    design = job.design
    if design.fan is None or design.strings is None:
        return
    limit = design.limits.fret_places
    layout = strings_of_design(design, design.strings)
    for part in job.parts_with_shape(FretboardShape):
        ratios = np.array(design.fretboard.ratios())
        slots = fret_slots(part.mesh)[-len(ratios) :] if len(ratios) else ()
        if not slots or len(slots) != len(ratios):
            continue
        x = layout.crossings([slot.line for slot in slots])
        share = (x - layout.starts[:, None]) / (layout.ends - layout.starts)[:, None]
        off = (share - (1 - 1 / ratios)) * layout.scales[:, None]
        string, fret = np.unravel_index(int(np.argmax(np.abs(off))), off.shape)
        value = abs(float(off[string, fret]))
        # a string of which 1 - share sounds is sharp by the ratio of that to what should sound
        cents = 1200 * math.log2(1 / float(ratios[fret]) / float(1 - share[string, fret]))
        y = float(layout.y(x)[string, fret])
        yield at_most(value, limit, tolerance=MEASURED, missed=Verdict.WARNING).finding(
            part=part.name,
            name="intonation",
            check="frets under each string",
            place=f"{string_name(int(string), layout.count)}, fret {int(fret) + 1}",
            point=(float(x[string, fret]), y, part.shape.thickness),
            source="each string's own length times 1 - 1/ratio, limits.fret_places; common "
            "practice",
            advice="give the strings the same spacing at nut and bridge (strings.nut_spacing, "
            "strings.bridge_spacing), or live with it",
            detail=f"{show_number(cents, 2)} cents there; own scale lengths, bass to treble: "
            + ", ".join(show_number(float(scale), 2) for scale in layout.scales)
            + " mm",
        )
