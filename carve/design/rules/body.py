"""What the body's keys must agree on among themselves and with the neck's.

Each rule yields one sentence for each contradiction, beginning with the key to change.
Whether pockets lie within the outline is known only once there are shapes.
"""

from collections.abc import Iterator, Sequence

from carve.design.derived.outline_choice import hold_layer, page_of
from carve.design.rules.cover import cover_contradictions
from carve.design.rules.outline import too_near
from carve.design.rules.plate import carved_plate_contradictions
from carve.design.schema.body import Body, Bore, Pocket
from carve.design.schema.design import Design
from carve.design.schema.graduation import Graduation
from carve.design.values.tolerances import LEAST_CHAMBER, TINY
from carve.errors import DesignError

SIZES: dict[str, tuple[str, ...]] = {
    "rectangle": ("length", "width"),
    "slot": ("length", "width"),
    "circle": ("diameter",),
    "polygon": ("points",),
    "heel": (),
    "drawing": ("layer",),
}
"""The sizes that each shape of a pocket has, and no others."""


def body_contradictions(design: Design) -> Iterator[str]:
    """Every contradiction among the body's keys."""
    body = design.body
    if body is None:
        return
    yield from _names("body.pockets", [pocket.name for pocket in body.pockets])
    yield from _names("body.bores", [bore.name for bore in body.bores])
    for number, pocket in enumerate(body.pockets):
        key = f"body.pockets[{number}]"
        found = list(_sizes(design, key, pocket))
        yield from found
        if not found:
            yield from _layer(design, body, key, pocket)
            yield from _corner(design, key, pocket)
            yield from too_near(f"{key}.points", pocket.points or (), design.units)
        yield from _kind(design, key, pocket)
        yield from _depth(design, body, key, pocket)
        yield from cover_contradictions(design, body, key, pocket)
    for number, bore in enumerate(body.bores):
        yield from _bore(design, body, f"body.bores[{number}]", bore)
    yield from carved_plate_contradictions(design, body)
    yield from _neck(design, body)
    yield from _hollow(design, body)
    yield from _blank(design, body)


def _names(key: str, names: Sequence[str]) -> Iterator[str]:
    for number, name in enumerate(names):
        if name in names[:number]:
            yield (
                f'{key}[{number}].name: "{name}" is the name of {key}[{names.index(name)}] too; '
                "give each its own"
            )


def _sizes(design: Design, key: str, pocket: Pocket) -> Iterator[str]:
    wanted = SIZES[pocket.shape]
    for name in ("length", "width", "diameter", "points", "layer"):
        given = getattr(pocket, name) is not None
        if name in wanted and not given:
            yield f'{key}.{name}: missing; {key}.shape is "{pocket.shape}", which needs it'
        elif given and name not in wanted:
            yield f'{key}.{name}: not allowed where {key}.shape is "{pocket.shape}"; leave it out'
    if pocket.bolts is not None:
        if pocket.shape != "heel":
            yield f'{key}.bolts: only a pocket of shape "heel" has them; leave it out'
        elif design.neck.heel is not None and not design.neck.heel.holes:
            yield f"{key}.bolts: the heel has no holes to put them under; add [[neck.heel.holes]]"
    if pocket.shape in ("heel", "drawing"):
        for name in ("x", "y", "angle"):
            if getattr(pocket, name) is not None:
                yield (
                    f'{key}.{name}: not allowed where {key}.shape is "{pocket.shape}"; leave it out'
                )
    if pocket.shape == "drawing" and design.body is not None and design.body.outline.file is None:
        yield f'{key}.shape: "drawing" needs an outline from a drawing; give body.outline.file'
    if pocket.shape == "heel":
        if pocket.kind != "neck":
            yield f'{key}.kind: "{pocket.kind}" is not allowed for a "heel"; write "neck"'
        if design.neck.heel is None:
            yield f'{key}.shape: "heel" needs a heel to follow; add [neck.heel]'
        elif design.neck.heel.kind == "through":
            yield f'{key}.shape: "heel" is for a neck that ends in the body, not for one through it'
        elif design.neck.heel.kind == "carved" and design.neck.heel.tongue is None:
            yield (
                f'{key}.shape: "heel" has nothing to take in where a carved heel butts against the '
                "side; add [neck.heel.tongue] or leave the pocket out"
            )
        elif design.neck.heel_slant:
            yield (
                f'{key}.shape: "heel" is made for a square heel end, and neck.heel_slant is '
                f"{design.neck.heel_slant:g}°; give the pocket as a polygon"
            )
        if design.joint is None:
            yield f'{key}.shape: "heel" needs the place of the neck on the body; add [joint]'


def _layer(design: Design, body: Body, key: str, pocket: Pocket) -> Iterator[str]:
    """What its layer must hold. Where the outline's own keys are wrong, those come first."""
    file = body.outline.file
    if pocket.layer is None or file is None or file.drawn is None:
        return
    try:
        page = page_of(body.outline, "body.outline")
    except DesignError:
        return
    try:
        hold_layer(page, pocket.layer, f"{key}.layer", design.units)
    except DesignError as error:
        yield from error.problems


def _corner(design: Design, key: str, pocket: Pocket) -> Iterator[str]:
    radius = pocket.corner_radius
    if pocket.shape not in ("rectangle", "polygon"):
        if radius is not None:
            yield (
                f'{key}.corner_radius: not allowed where {key}.shape is "{pocket.shape}"; leave '
                "it out"
            )
        return
    radius = radius or 0.0
    if 0 < radius < TINY:
        yield (
            f"{key}.corner_radius: {design.show(radius)} is not allowed; 0, or at least "
            f"{design.show(TINY)}"
        )
    if pocket.shape == "rectangle":
        half = min(pocket.length or 0.0, pocket.width or 0.0) / 2
        if radius > half:
            yield (
                f"{key}.corner_radius: {design.show(radius)} is not allowed; at most "
                f"{design.show(half)}, half of the shorter side"
            )


def _kind(design: Design, key: str, pocket: Pocket) -> Iterator[str]:
    if pocket.shape == "slot" and (pocket.length or 0.0) < (pocket.width or 0.0) + TINY:
        yield (
            f"{key}.length: {design.show(pocket.length or 0.0)} is not allowed for a slot "
            f"{design.show(pocket.width or 0.0)} wide; at least {design.show(TINY)} more, "
            'or write shape = "circle"'
        )
    if pocket.slope is not None:
        if pocket.kind != "neck":
            yield f'{key}.slope: only a neck\'s pocket slopes; leave it out, or write kind = "neck"'
        elif pocket.depth == "through":
            yield f"{key}.slope: a hole through the body has no floor; leave it out"
    if pocket.kind == "neck" and pocket.face == "back":
        yield f'{key}.face: "back" is not allowed for the neck\'s pocket; write "front"'
    if pocket.kind == "sound hole":
        if design.body is None or design.body.hollow is None:
            yield f'{key}.kind: a "sound hole" needs a hollow body; add [body.hollow]'
        if pocket.depth != "through":
            yield f'{key}.depth: a sound hole goes through the top; write "through"'
        if pocket.face == "back":
            yield f'{key}.face: "back" is not allowed for a sound hole; write "front"'


def _depth(design: Design, body: Body, key: str, pocket: Pocket) -> Iterator[str]:
    if not isinstance(pocket.depth, float):
        return
    if pocket.depth > body.thickness - TINY:
        yield (
            f"{key}.depth: {design.show(pocket.depth)} is not allowed in a body of "
            f"{design.show(body.thickness)} (body.thickness); at least {design.show(TINY)} less, "
            'or "through"'
        )


def _bore(design: Design, body: Body, key: str, bore: Bore) -> Iterator[str]:
    radius = bore.diameter / 2
    lowest, highest = radius + TINY, body.thickness - radius - TINY
    if highest < lowest:
        yield (
            f"{key}.diameter: {design.show(bore.diameter)} is not allowed in a body of "
            f"{design.show(body.thickness)} (body.thickness); at most "
            f"{design.show(body.thickness - 2 * TINY)}"
        )
    elif not lowest <= bore.below <= highest:
        yield (
            f"{key}.below: {design.show(bore.below)} is not allowed for a bore of "
            f"{design.show(bore.diameter)}; from {design.show(lowest)} to {design.show(highest)}"
        )


def _neck(design: Design, body: Body) -> Iterator[str]:
    necks = [number for number, pocket in enumerate(body.pockets) if pocket.kind == "neck"]
    for number in necks[1:]:
        yield (
            f"body.pockets[{number}].kind: body.pockets[{necks[0]}] is the neck's pocket already; "
            "a body has one"
        )
    joint = design.joint
    if necks and joint is not None and joint.pocket_width is not None:
        yield (
            f"joint.pocket_width: {design.show(joint.pocket_width)} is given, and "
            f"body.pockets[{necks[0]}] says the pocket's size too; leave one of them out"
        )


def _hollow(design: Design, body: Body) -> Iterator[str]:
    hollow = body.hollow
    if hollow is None:
        return
    for face in ("top", "back"):
        plain, graded = getattr(hollow, face), getattr(hollow, f"{face}_graduation")
        if plain is None and graded is None:
            yield (
                f"body.hollow.{face}: missing; give the plate's thickness, or "
                f"body.hollow.{face}_graduation where body.{face} is carved"
            )
        elif plain is not None and graded is not None:
            yield (
                f"body.hollow.{face}: {design.show(plain)} is given, and "
                f"body.hollow.{face}_graduation too; leave one of them out"
            )
        elif graded is not None:
            yield from _graduation(design, body, face, graded)
    most = body.thickness - LEAST_CHAMBER
    if (hollow.top or 0.0) + (hollow.back or 0.0) > most:
        yield (
            f"body.hollow.back: top and back together, {design.show(hollow.top or 0.0)} + "
            f"{design.show(hollow.back or 0.0)}, leave no chamber in a body of "
            f"{design.show(body.thickness)} (body.thickness); at most {design.show(most)}"
        )


def _graduation(design: Design, body: Body, face: str, graded: Graduation) -> Iterator[str]:
    key = f"body.hollow.{face}_graduation"
    if getattr(body, face) is None:
        yield f"{key}: only a carved plate has one; add [body.{face}], or give body.hollow.{face}"
    if graded.centre < graded.recurve + LEAST_CHAMBER:
        yield (
            f"{key}.centre: {design.show(graded.centre)} from the outline is not allowed; at least "
            f"{design.show(LEAST_CHAMBER)} more than {key}.recurve, {design.show(graded.recurve)}"
        )
    if graded.edge > body.thickness - LEAST_CHAMBER:
        yield (
            f"{key}.edge: {design.show(graded.edge)} leaves no room in a body of "
            f"{design.show(body.thickness)} (body.thickness)"
        )


def _blank(design: Design, body: Body) -> Iterator[str]:
    blank = body.blank
    if blank is not None and blank.joint == "centre line" and blank.boards % 2:
        yield (
            f"body.blank.boards: {blank.boards} is not allowed where body.blank.joint is "
            '"centre line"; an even number puts a glue line there'
        )
