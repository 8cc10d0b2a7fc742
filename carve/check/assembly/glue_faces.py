"""The fretboard's glue face against the neck's: width, centre line and length, on the meshes."""

import math
from collections.abc import Iterator

import numpy as np

from carve.arrays import Array
from carve.check.declare import looks_at
from carve.check.finding import OUR_FAULT, Finding, Verdict, show_place
from carve.check.judge import Judged, at_most
from carve.check.reading.keys import PLACE
from carve.check.reading.meeting import NUDGE, Meeting, edges_at, meetings, nut_line
from carve.check.tolerances import MEASURED
from carve.design.schema.design import Design
from carve.design.values.units import show_length, show_number
from carve.parts.job import Job
from carve.shape.fretboard.shape import FretboardShape
from carve.shape.neck.shape import NeckShape
from carve.solid.fretboard import NUT_END as BOARD_NUT
from carve.solid.neck import NUT_END as NECK_NUT


@looks_at(
    together=(NeckShape, FretboardShape), keys=("limits.glue_face", "fretboard.behind", *PLACE)
)
def check(job: Job) -> Iterator[Finding]:
    """Three findings where there are a neck and a fretboard, four where the nut slants."""
    for meeting in meetings(job):
        film = meeting.neck_part.shape.film
        neck, board = np.ptp(meeting.neck, axis=1), np.ptp(meeting.board, axis=1)
        off = board - neck - 2 * film.narrower
        yield _worst(
            job.design,
            meeting,
            "glue-face-width",
            "width of the glue faces",
            off,
            f"the neck's wood stands back {show_length(film.narrower, job.design.units)} on each "
            "side for its finish"
            if film.narrower
            else "",
        )
        aside = meeting.board.mean(axis=1) - meeting.neck.mean(axis=1)
        said = "centre lines of the glue faces"
        yield _worst(job.design, meeting, "glue-face-centre", said, aside, "")
        yield _length(job.design, meeting)
        if meeting.board_part.shape.plan.nut.slant:
            ends = _nut_ends if meeting.neck_part.shape.head is None else _nut_corners
            yield ends(job.design, meeting)


def _worst(
    design: Design, meeting: Meeting, name: str, said: str, off: Array, detail: str
) -> Finding:
    """The place that is furthest off.

    name: of the finding. said: what is checked, in words. off: (n,) mm at the meeting's places.
    """
    at = int(np.argmax(np.abs(off)))
    judged = _off(design, float(abs(off[at])))
    return judged.finding(
        part="assembly",
        name=name,
        check=said,
        place=show_place(design, float(meeting.x[at])),
        point=(float(meeting.x[at]), float(meeting.board[at].mean()), 0.0),
        source="fretboard against neck, limits.glue_face; common practice",
        advice=OUR_FAULT,
        detail=detail,
    )


def _off(design: Design, off: float) -> Judged:
    """How far the faces are off in mm, against what they may be."""
    return at_most(off, design.limits.glue_face, tolerance=MEASURED).rounded(9)


def _length(design: Design, meeting: Meeting) -> Finding:
    """How much of the neck's glue face no fretboard covers, at either end."""
    limit, unit = design.limits.glue_face, design.units
    board = meeting.board_part.shape.plan
    # where the neck's end slants, its further corner counts
    neck_end = float(meeting.neck_part.mesh.only("glue face").points[:, 0].max())
    # of a slanted nut's end this is the place on the centre line; _nut_ends looks at its slant
    bare_nut, bare_heel = max(board.start, 0.0), max(neck_end - board.end, 0.0)
    bare = max(bare_nut, bare_heel)
    beyond = board.end - neck_end
    return at_most(bare, limit, tolerance=MEASURED, missed=Verdict.WARNING).finding(
        part="assembly",
        name="glue-face-length",
        check="length of the glue faces",
        place="at the nut" if bare_nut > bare_heel else show_place(design, neck_end),
        point=(0.0 if bare_nut > bare_heel else neck_end, 0.0, 0.0),
        source="neck's glue face without fretboard, limits.glue_face; common practice",
        advice=f"let the fretboard go {show_length(bare, unit)} further "
        "(fretboard.beyond_last_fret), or end the neck earlier (neck.heel_end)",
        detail=f"the fretboard goes {show_length(beyond, unit)} beyond the heel end"
        if beyond > limit
        else "",
    )


def _nut_ends(design: Design, meeting: Meeting) -> Finding:
    """How far the slanted ends at the nut are from one line, at both corners of the neck."""
    unit = design.units
    neck = nut_line(meeting.neck_part.mesh.only(NECK_NUT))
    board = nut_line(meeting.board_part.mesh.only(BOARD_NUT))
    behind = design.fretboard.behind
    (x0, y0), (x1, y1) = board
    slant = (x1 - x0) / (y1 - y0)
    off = neck[:, 0] - (x0 + behind + slant * (neck[:, 1] - y0))
    at = int(np.argmax(np.abs(off)))
    judged = _off(design, float(abs(off[at])))
    return judged.finding(
        part="assembly",
        name="glue-face-nut-ends",
        check="slanted nut ends of the glue faces",
        place=f"at the nut, {('bass', 'treble')[at]} edge",
        point=(float(neck[at, 0]), float(neck[at, 1]), 0.0),
        source="fretboard against neck, limits.glue_face; common practice",
        advice=OUR_FAULT,
        detail=f"{show_number(math.degrees(math.atan(slant)), 2)} degrees from square, bass edge "
        f"{show_length(float(neck[0, 0]), unit)} and treble edge "
        f"{show_length(float(neck[1, 0]), unit)} from the nut on the centre line",
    )


def _nut_corners(design: Design, meeting: Meeting) -> Finding:
    """How far the neck's edges are from the board's at both corners of a slanted nut.

    Where the glue face goes on into a headstock, the neck has no end there to compare.
    """
    unit = design.units
    board, plan = meeting.board_part, meeting.board_part.shape.plan
    y = plan.edges(plan.nut)
    x = np.array([plan.nut.x(aside) for aside in y]) + NUDGE
    binding = board.shape.finished_half_width(x) - board.shape.half_width(x)
    faces = (part.mesh.only("glue face") for part in (board, meeting.neck_part))
    on_board, on_neck = (np.abs(np.diag(edges_at(face, x))) for face in faces)
    off = on_board + binding - on_neck - meeting.neck_part.shape.film.narrower
    at = int(np.argmax(np.abs(off)))
    judged = _off(design, float(abs(off[at])))
    return judged.finding(
        part="assembly",
        name="glue-face-nut-corners",
        check="slanted nut's corners of the glue faces",
        place=f"at the nut, {('bass', 'treble')[at]} edge",
        point=(float(x[at]), float(y[at]), 0.0),
        source="fretboard against neck, limits.glue_face; common practice",
        advice=OUR_FAULT,
        detail=f"{show_number(math.degrees(math.atan(plan.nut.slant)), 2)} degrees from square, "
        f"bass corner {show_length(float(x[0]), unit)} and treble corner "
        f"{show_length(float(x[1]), unit)} from the nut on the centre line",
    )
