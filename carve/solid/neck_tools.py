"""The volumes that are taken out of a neck: channels, holes, and what is sawn off at both ends.

Each stands out of the faces that it opens by ``OVERCUT``. The surface that it leaves on the neck
has its name.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from carve.shape.neck.carved_heel import CapShape
from carve.shape.neck.channel import Channel
from carve.shape.neck.headstock.shape import HeadShape
from carve.shape.neck.heel import BodyPlane, HeelShape
from carve.shape.neck.shape import NeckShape
from carve.solid.kit.boolean import OVERCUT, cut
from carve.solid.kit.drill import drill
from carve.solid.kit.prism import prism_across, prism_upright
from carve.solid.mesh import Mesh

LEAST_DEPTH = 1e-6  # mm below the glue plane; what lies higher counts as lying in it

FACE, TUNERS, HOLES = "headstock face", "tuner holes", "bolt holes"
CAP, HEEL_FACE, HEEL_END, BODY_TOP = "heel cap", "heel face", "heel end", "body top"
SHOULDERS, BLOCK = "shoulders", "heel back"


def neck_tools(shape: NeckShape, chord_error: float) -> tuple[list[Mesh], float]:
    """All volumes that are taken out of a neck, and how far the holes are from true cylinders, mm.

    chord_error: mm.
    """
    drilled = list(_holes(shape, chord_error))
    tools = [_channel(channel, shape) for channel in shape.channels]
    tools += _above_face(shape.head, chord_error) if shape.head is not None else []
    tools += _sawn_off(shape, shape.heel, chord_error) if shape.heel is not None else []
    tools += [tool for tool, _ in drilled]
    return tools, max((error for _, error in drilled), default=0.0)


def _sawn_off(shape: NeckShape, heel: HeelShape, chord_error: float) -> list[Mesh]:
    """What is taken away beside a tenon, below a cap, and above a core."""
    if heel.cap is not None:
        low = -heel.cap.uncut - OVERCUT
        level, out = -heel.cap.depth, heel.start + OVERCUT
        outline = [[heel.blend, low], [out, low], [out, level], [heel.blend, level]]
        under = prism_across(np.array(outline), heel.neck_half + OVERCUT, CAP)
        return [under, *_leaning_face(heel, heel.cap)]
    if heel.body is not None:
        return _above_core(heel, heel.body)
    if heel.kind != "tenon":
        return []
    out, end, start = heel.neck_half + OVERCUT, shape.furthest + OVERCUT, heel.start
    rim = heel.rim(chord_error)
    around = np.array([[start, out], [end, out], [end, -out], [start, -out]])
    bass, treble = np.array([[start, -heel.half]]), np.array([[start, heel.half]])
    plan = np.concatenate([around, bass, rim, treble])[::-1]
    return [prism_upright(plan, -heel.depth - OVERCUT, OVERCUT, SHOULDERS)]


def _leaning_face(heel: HeelShape, cap: CapShape) -> list[Mesh]:
    """What is taken away between a heel's face and the square end of its grid, but for the tongue.

    The wedge's edge is the glue face's and its end lies in the grid's, to the last bit, so that
    nothing is left between them.
    """
    if cap.lean == 0:
        return []
    deep = cap.depth + OVERCUT
    corners = [[cap.edge - deep * cap.lean, -deep], [cap.edge, -deep], [cap.edge, 0.0]]
    wedge = prism_across(np.array(corners), heel.neck_half + OVERCUT, HEEL_FACE)
    if heel.butts:
        return [wedge]
    near = cap.edge - deep * cap.lean - OVERCUT
    x = np.array([near, heel.start, heel.start + OVERCUT])
    half = np.array([float(heel.half_at(x[:1])[0]), heel.half, heel.half])
    plan = np.vstack([np.stack([x, -half], 1), np.stack([x, half], 1)[::-1]])
    tongue = prism_upright(plan, -heel.depth, OVERCUT, HEEL_END)
    floor = (tongue.corners[..., 2] <= -heel.depth).all(axis=1)
    named = replace(tongue, surface=np.where(floor, 1, 0), names=(HEEL_END, BLOCK))
    return [cut(wedge, [named])]


def _above_core(heel: HeelShape, body: BodyPlane) -> list[Mesh]:
    """What is taken away above a core, from the fretboard's end to the heel end."""
    x = np.array([body.board_end, heel.end + OVERCUT])
    near, far = (float(-z) for z in body.below(x))
    if max(-near, -far) <= LEAST_DEPTH:
        return []  # the body's top lies in the glue plane
    outline = [[x[0], OVERCUT], [x[0], near], [x[1], far], [x[1], OVERCUT]]
    wide = max(heel.half, heel.half_end, heel.neck_half) + OVERCUT
    return [prism_across(np.array(outline), wide, BODY_TOP)]


def _above_face(head: HeadShape, chord_error: float) -> list[Mesh]:
    """What is taken away above the headstock's face."""
    chain = head.face_chain(chord_error)
    if chain[-1, 1] >= 0:
        return []  # the face lies in the glue plane
    corners = np.array([[chain[-1, 0], OVERCUT], [chain[0, 0], OVERCUT]])
    outline = np.vstack([chain, corners])[::-1]
    return [prism_across(outline, head.widest + OVERCUT, FACE)]


def _holes(shape: NeckShape, chord_error: float) -> Iterator[tuple[Mesh, float]]:
    heel, head = shape.heel, shape.head
    if heel is not None:
        for hole in heel.holes:
            at = np.array([hole.x, hole.y, 0.0])
            yield drill(at, hole.radius, -heel.depth - OVERCUT, OVERCUT, chord_error, HOLES)
    if head is not None:
        for hole in head.holes:
            face = -float(head.face_depth(np.array([hole.x]))[0])
            at, through = np.array([hole.x, hole.y, face]), -head.thickness - OVERCUT
            yield drill(at, hole.radius, through, OVERCUT, chord_error, TUNERS, head.tilt)


def _channel(channel: Channel, shape: NeckShape) -> Mesh:
    """The volume to take out for a channel, standing out of every face that it opens."""
    floor = channel.floor.copy()
    start, end = floor[0].copy(), floor[-1].copy()
    if channel.start <= 1e-9 and shape.head is None:
        start[0] = -shape.before - OVERCUT
    if channel.end >= shape.length - 1e-9:
        end[0] = shape.furthest + OVERCUT
    chain = [floor]
    if start[0] < floor[0, 0]:
        chain.insert(0, start[None])
    if end[0] > floor[-1, 0]:
        chain.append(end[None])
    top = np.array([[end[0], OVERCUT], [start[0], OVERCUT]])
    return prism_across(np.vstack([*chain, top]), channel.half_width, channel.name)
