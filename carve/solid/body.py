"""The body as a closed mesh: its outline extruded, everything else taken out of it.

Tools stand out of the faces that they open, so that no two faces coincide. A chamber without an
opening is a closed surface of its own within the body's.
"""

import math
from collections.abc import Sequence
from itertools import zip_longest

import numpy as np

from carve.shape.body.chambers import Chamber, InnerSurface
from carve.shape.body.cuts import Cut, RoundBore
from carve.shape.body.shape import BodyShape
from carve.shape.plate.carved_face import CarvedFace
from carve.solid.faces import Faces
from carve.solid.kit.boolean import OVERCUT, cut
from carve.solid.kit.detach import PLACEHOLDER, DetachedPatch, detach_beside, reattach
from carve.solid.kit.drill import circle
from carve.solid.kit.prism import flat_skin, solid_between
from carve.solid.kit.reusable_plan import ReusablePlan, chamber_plan, face_plan, lift_or_remesh
from carve.solid.kit.triangulated_plan import plate_solid
from carve.solid.mesh import Mesh, bounds

LID_CLEARANCE = 2.0  # mm between the lid of a placeholder and any face

TOP, BACK, SIDES = "top", "back", "sides"


def body_solid(
    shape: BodyShape,
    chord_error: float,
    plan: ReusablePlan[CarvedFace] | None = None,
    chamber_plans: Sequence[ReusablePlan[InnerSurface] | None] = (),
) -> tuple[Mesh, float]:
    """Mesh a body. chord_error: mm, the bound on its faces' distance from the shape.

    plan, chamber_plans: for the carved faces and for each chamber, a plan that may serve; where
    one does not, or is not given, it is meshed for this body alone. Returns the closed mesh and
    the greatest distance in mm that was measured. Its surfaces are ``TOP``, ``BACK``, ``SIDES``,
    and one for each cut, by the cut's name.
    """
    block, carved = _block(shape, chord_error, plan)
    chambers = [
        _chamber(chamber, chord_error, may_serve)
        for chamber, may_serve in zip_longest(
            [one for one in shape.cuts if isinstance(one, Chamber)], chamber_plans
        )
    ]
    tools = [_cutter(shape, one, chord_error) for one in shape.cuts if not isinstance(one, Chamber)]
    bores = [_bore(bore, chord_error) for bore in shape.bores]
    tools += [tool for tool, _ in bores]
    errors = [shape.outline.error(chord_error), carved]
    errors += [one.plan.error(chord_error) for one in shape.cuts]
    errors += [error for _, error in (*chambers, *bores)]
    return _cut(block, tools, [mesh for mesh, _ in chambers], shape.thickness), max(errors)


def _cut(block: Mesh, tools: Sequence[Mesh], chambers: Sequence[Mesh], thickness: float) -> Mesh:
    """The block without tools and chambers; what lies clear of the tools is detached meanwhile."""
    if not tools and not chambers:
        return block
    low, high = bounds(block)[:, 2]
    outer = detach_beside(block, tools, {TOP: high + LID_CLEARANCE, BACK: low - LID_CLEARANCE})
    inner = [_detach_inside(chamber, tools, -thickness / 2) for chamber in chambers]
    kept = [] if outer is None else [outer]
    removed = [patch for patch in inner if patch is not None]
    if kept or removed:
        body = block if outer is None else outer.remainder
        taken_out = [
            chamber if patch is None else patch.remainder
            for chamber, patch in zip(chambers, inner, strict=True)
        ]
        mesh = reattach(cut(body, [*tools, *taken_out], PLACEHOLDER), kept, removed)
        if mesh is not None:
            return mesh
    return cut(block, [*tools, *chambers])


def _detach_inside(chamber: Mesh, tools: Sequence[Mesh], middle: float) -> DetachedPatch | None:
    """A chamber without the parts of its ceiling and floor that lie clear of the tools.

    The lids of their placeholders lie inside the chamber, on both sides of its middle, so that
    they meet no face. middle: height in mm. None where ceiling or floor come too near to it.
    """
    ceiling, floor = chamber.names[:2]
    over, under = (chamber.only(name).points[:, 2] for name in (ceiling, floor))
    if over.min() < middle + LID_CLEARANCE or under.max() > middle - LID_CLEARANCE:
        return None
    half = LID_CLEARANCE / 2
    return detach_beside(chamber, tools, {ceiling: middle + half, floor: middle - half})


def _block(
    shape: BodyShape, chord_error: float, plan: ReusablePlan[CarvedFace] | None
) -> tuple[Mesh, float]:
    """The body without its cuts, and the carved faces' distance from it in mm."""
    names = (TOP, BACK, SIDES)
    if not shape.carvings:
        rim = shape.outline.points(chord_error)
        skins = flat_skin(rim, 0.0), flat_skin(rim, -shape.thickness)
        return solid_between(len(rim), *skins, names), 0.0
    lifted = lift_or_remesh(face_plan, shape.carvings, shape.outline, chord_error, plan)
    heights = dict(zip(shape.carvings, lifted.heights, strict=True))
    found = lifted.plan
    top = found.flat(0.0) if shape.top is None else found.lifted(heights[shape.top])
    back = (
        found.flat(-shape.thickness)
        if shape.back is None
        else found.lifted(-shape.thickness - heights[shape.back])
    )
    return solid_between(found.rim, top, back, names), lifted.error


def _chamber(
    chamber: Chamber, chord_error: float, plan: ReusablePlan[InnerSurface] | None
) -> tuple[Mesh, float]:
    """The closed mesh of a chamber, and its distance from it in mm."""
    assert chamber.ceiling is not None
    assert chamber.under is not None
    insides, around = (chamber.ceiling, chamber.under), chamber.plan.points(chord_error)
    lifted = lift_or_remesh(chamber_plan, insides, around, chord_error, plan)
    ceiling, under = lifted.heights
    mesh = plate_solid(lifted.plan, ceiling, -chamber.thickness - under, inside_of(chamber))
    return mesh, lifted.error


def body_faces(shape: BodyShape) -> Faces:
    """Which surfaces are machined from the front and which from the back.

    A chamber's floor is the back plate's inside and cut from the front, its ceiling the top
    plate's and cut from the back. Sides, holes that go through and bores are neither's alone.
    """
    front, back = (
        {surface_of(one) for one in shape.cuts if one.opens == face} for face in ("front", "back")
    )
    chambers = [inside_of(one) for one in shape.cuts if one.opens == "nowhere"]
    return Faces(
        front=frozenset({TOP, *front, *(floor for _, floor, _ in chambers)}),
        back=frozenset({BACK, *back, *(ceiling for ceiling, _, _ in chambers)}),
    )


def surface_of(taken: Cut | RoundBore) -> str:
    """The name of the surface that a cut leaves: its own, which no face of the body has.

    A chamber leaves three (``inside_of``).
    """
    return f"{taken.name} ({taken.kind})" if isinstance(taken, Cut) else f"{taken.name} (bore)"


def inside_of(chamber: Cut) -> tuple[str, str, str]:
    """The names of a chamber's ceiling, floor and walls."""
    return f"{chamber.name}'s ceiling", f"{chamber.name}'s floor", f"{chamber.name}'s walls"


def _cutter(shape: BodyShape, one: Cut, chord_error: float) -> Mesh:
    around = one.plan.points(chord_error)
    lowest, highest = shape.reach
    high = one.high if math.isfinite(one.high) else highest + OVERCUT
    low = one.floor(around[:, 0]) if math.isfinite(one.low) else lowest - OVERCUT
    name = surface_of(one)
    names = inside_of(one) if one.opens == "nowhere" else (name, name, name)
    skins = flat_skin(around, high), flat_skin(around, low)
    return solid_between(len(around), *skins, names)


def _bore(bore: RoundBore, chord_error: float) -> tuple[Mesh, float]:
    """The volume to take out for a bore, and how far its wall is from a true cylinder in mm."""
    # half a side's turn: no corner lies level with the axis
    ring, error = circle(bore.radius, chord_error, first=0.5)
    name = surface_of(bore)
    skins = flat_skin(ring, bore.before), flat_skin(ring, -bore.depth)
    upright = solid_between(len(ring), *skins, (name, name, name))
    # its own z runs out along the axis; aside, up and out are right-handed in this order
    out = np.array([*-bore.along, 0.0])
    aside = np.array([*-bore.aside, 0.0])
    up = np.cross(out, aside)
    points = upright.points @ np.stack([aside, up, out])
    return upright.moved(points + np.array([*bore.start, bore.axis])), error
