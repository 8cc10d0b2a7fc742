"""Neck and fretboard flush at the glue line once finished, measured on the meshes."""

from collections.abc import Iterator

import numpy as np

from carve.check.declare import looks_at
from carve.check.finding import Finding, show_place
from carve.check.judge import at_most
from carve.check.reading.keys import PLACE
from carve.check.reading.meeting import meetings
from carve.check.tolerances import MEASURED
from carve.design.schema.assembly import FACES, Finish
from carve.design.values.units import Unit, show_length
from carve.parts.job import Job
from carve.shape.fretboard.shape import FretboardShape
from carve.shape.neck.finish import bare_faces
from carve.shape.neck.shape import NeckShape


@looks_at(together=(NeckShape, FretboardShape), keys=("limits.flush", "finish", *PLACE))
def check(job: Job) -> Iterator[Finding]:
    """Two findings where there are a neck and a fretboard: the step at either edge.

    Wood on the meshes and film together, neck against board; a positive step is the neck's.
    """
    design = job.design
    limit, unit = design.limits.flush, design.units
    for meeting in meetings(job):
        film = meeting.neck_part.shape.film
        for column, (name, sign) in enumerate((("bass", -1.0), ("treble", 1.0))):
            neck = sign * meeting.neck[:, column] + film.sides
            board = sign * meeting.board[:, column] + film.board_sides
            step = neck - board
            at = int(np.argmax(np.abs(step)))
            proud = "neck" if step[at] > 0 else "fretboard"
            judged = at_most(float(abs(step[at])), limit, tolerance=MEASURED).rounded(9)
            yield judged.finding(
                part="assembly",
                name=f"flush:{name}",
                check=f"neck and fretboard flush, {name} edge",
                place=show_place(design, float(meeting.x[at])),
                point=(float(meeting.x[at]), float(meeting.neck[at, column]), 0.0),
                source="wood on the meshes and film, limits.flush; common practice",
                advice=f"the {proud} stands proud; please report it as a fault of the program",
                detail=faces_said(design.finish, unit) if column == 0 else "",
            )


def faces_said(finish: Finish | None, unit: Unit) -> str:
    """Which faces are finished, masked and bare, in words."""
    if finish is None:
        return "no finish"
    masked = set(finish.masked or ())
    bare = [face for face in bare_faces(finish) if face not in masked]
    finished = [f"{f} {show_length(finish.on(f), unit)}" for f in FACES if finish.on(f) > 0]
    said = [
        f"{word}: {', '.join(faces)}"
        for word, faces in (
            ("finish", finished),
            ("masked", [face for face in FACES if face in masked]),
            ("bare", bare),
        )
        if faces
    ]
    return "; ".join(said)
