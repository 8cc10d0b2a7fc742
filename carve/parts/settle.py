"""What of a body depends on the neck, and of the neck on the body: the arch and the neck angle.

The arch's height under the bridge sets the neck angle, and a neck plane of the arch lies at that
angle: each hangs on the other, and both are found together.
"""

from typing import Literal

from carve.design.schema.body import BodyOutline
from carve.design.schema.design import Design
from carve.parts.cache import first_equal, kept
from carve.shape.assembly.neck_on_body import board_over_body, neck_on_body
from carve.shape.assembly.side_view import top_at_bridge
from carve.shape.body.outline import outline_of, require_simple
from carve.shape.planar.outline import Outline
from carve.shape.plate.carved_face import (
    CarvedFace,
    Foundation,
    RidgeWidth,
    foundation_key,
    make_foundation,
    neck_pad,
    pads_of,
    plate_request,
)
from carve.shape.plate.request import Lines


def resolve_top_height(design: Design) -> Design:
    """The design with what follows from its carved top filled in: ``bridge.top_height``.

    Raises ShapeError where no neck angle reaches the bridge on the arch.
    """
    body, bridge = design.body, design.bridge
    if body is None or body.top is None or bridge is None or bridge.top_height is not None:
        return design

    def height(at: float, angle: float, neck: float) -> float:
        face = carved_face(design, "top", (angle, neck))
        assert face is not None
        return face.on_centre_line(at)

    top = top_at_bridge(design, height)
    return design.model_copy(update={"bridge": bridge.model_copy(update={"top_height": top})})


def carved_face(
    design: Design, face: Literal["top", "back"], stands: tuple[float, float] | None = None
) -> CarvedFace | None:
    """A carved face of the body, None where it is flat.

    stands: the neck's angle in radians and its height in mm, where known.
    """
    body = design.body
    plate = None if body is None else getattr(body, face)
    if body is None or plate is None:
        return None
    outline = body_outline(body.outline)
    require_simple(outline)
    pads = pads_of(plate)
    if plate.neck_plane is not None:
        if stands is None:
            stood = neck_on_body(design)
            stands = stood.angle, stood.height
        pads = (*pads, neck_pad(plate.neck_plane, board_over_body(design), *stands))
    asked = plate_request(plate, f"body.{face}", pads)
    return first_equal(CarvedFace(_foundation(outline, foundation_key(asked)), asked, pads))


@kept
def body_outline(outline: BodyOutline) -> Outline:
    """The body's outline as one value: it takes as long as all pockets, and changes less often."""
    return outline_of(outline)


@kept
def _foundation(outline: Outline, asked: Lines | RidgeWidth) -> Foundation:
    return make_foundation(outline, asked)
