"""The fretboard's glue face against the neck's: width, centre line and length, on the meshes."""

from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.check.finding import Finding, Verdict, show_place
from carve.check.meeting import Meeting, meetings
from carve.design.models import Design
from carve.design.units import show_length
from carve.solid.parts import Job

ORDER = 66


def check(job: Job) -> Iterator[Finding]:
    """Three findings where there are a neck and a fretboard."""
    for meeting in meetings(job):
        film = meeting.neck_part.shape.film
        neck, board = np.ptp(meeting.neck, axis=1), np.ptp(meeting.board, axis=1)
        off = board - neck - 2 * film.narrower
        yield _worst(
            job.design,
            meeting,
            "width of the glue faces",
            off,
            f"the neck's wood stands back {show_length(film.narrower, job.design.units)} on each "
            "side for its finish"
            if film.narrower
            else "",
        )
        aside = meeting.board.mean(axis=1) - meeting.neck.mean(axis=1)
        yield _worst(job.design, meeting, "centre lines of the glue faces", aside, "")
        yield _length(job.design, meeting)


def _worst(design: Design, meeting: Meeting, name: str, off: Array, detail: str) -> Finding:
    at = int(np.argmax(np.abs(off)))
    limit = design.limits.glue_face
    good = abs(off[at]) <= limit
    return Finding(
        part="assembly",
        check=name,
        verdict=Verdict.GOOD if good else Verdict.FAILED,
        value=round(float(abs(off[at])), 9),
        limit=limit,
        sense="at most",
        place=show_place(design, float(meeting.x[at])),
        point=(float(meeting.x[at]), float(meeting.board[at].mean()), 0.0),
        source="fretboard against neck, limits.glue_face; common practice",
        advice="" if good else "please report this design as a fault of the program",
        detail=detail,
    )


def _length(design: Design, meeting: Meeting) -> Finding:
    """How much of the neck's glue face no fretboard covers, at either end."""
    limit, unit = design.limits.glue_face, design.units
    board = meeting.board_part.shape.plan
    neck_end = meeting.neck_part.shape.length
    bare_nut, bare_heel = max(board.start, 0.0), max(neck_end - board.end, 0.0)
    bare = max(bare_nut, bare_heel)
    good = bare <= limit
    beyond = board.end - neck_end
    return Finding(
        part="assembly",
        check="length of the glue faces",
        verdict=Verdict.GOOD if good else Verdict.WARNING,
        value=bare,
        limit=limit,
        sense="at most",
        place="at the nut" if bare_nut > bare_heel else show_place(design, neck_end),
        point=(0.0 if bare_nut > bare_heel else neck_end, 0.0, 0.0),
        source="neck's glue face without fretboard, limits.glue_face; common practice",
        advice=""
        if good
        else f"let the fretboard go {show_length(bare, unit)} further "
        "(fretboard.beyond_last_fret), or end the neck earlier (neck.heel_end)",
        detail=f"the fretboard goes {show_length(beyond, unit)} beyond the heel end"
        if beyond > limit
        else "",
    )
