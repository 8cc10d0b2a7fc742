"""What is wrong with a body, in words. ``where`` is the key of a pocket, a bore or the chamber."""

from carve.design.values.quote import quoted
from carve.design.values.units import Unit, show_length
from carve.parts.sentences.dispatch import sentence
from carve.shape.body.problems import (
    BoreBesideBody,
    ChamberLow,
    CornersWithoutRoom,
    CutOutside,
    FloorOutOfWood,
    HeelBeforeBody,
    HoleBesideChamber,
    NeckPocketParted,
    NoChamber,
    OutlineTouchesItself,
    PolygonCrosses,
    PolygonNarrow,
    SameName,
    SeveralNeckPockets,
    SkinBetweenCuts,
    SkinUnderFace,
    WallThin,
)

OUTLINE = "body.outline"


@sentence.register
def _(problem: OutlineTouchesItself, unit: Unit) -> str:
    return f"{OUTLINE}: the outline touches itself, or all but; draw it further apart there"


@sentence.register
def _(problem: PolygonCrosses, unit: Unit) -> str:
    return f"{problem.where}.points: the polygon crosses itself; give its corners in turn"


@sentence.register
def _(problem: PolygonNarrow, unit: Unit) -> str:
    least = show_length(problem.least, unit)
    return f"{problem.where}.points: the polygon is nowhere wider than {least}"


@sentence.register
def _(problem: CornersWithoutRoom, unit: Unit) -> str:
    return (
        f"{problem.where}.corner_radius: {show_length(problem.radius, unit)} finds no room between "
        "the polygon's corners; make it less, or the sides longer"
    )


@sentence.register
def _(problem: HeelBeforeBody, unit: Unit) -> str:
    return (
        f"{problem.where}.shape: the neck's heel ends before the body's edge; bring joint.at "
        "nearer to the nut, or neck.heel_end nearer to the bridge"
    )


@sentence.register
def _(problem: SeveralNeckPockets, unit: Unit) -> str:
    return (
        f"{problem.where}.layer: {quoted(problem.layer)} holds {problem.count} closed curves; a "
        "body has one pocket for the neck"
    )


@sentence.register
def _(problem: BoreBesideBody, unit: Unit) -> str:
    return f"{problem.where}.angle: its axis passes by the body; move it, or turn it"


@sentence.register
def _(problem: NoChamber, unit: Unit) -> str:
    return f"{problem.where}.rim: nothing is left of the room; make it thinner"


@sentence.register
def _(problem: ChamberLow, unit: Unit) -> str:
    return (
        f"{problem.where}.rim: floor and ceiling of the {problem.name} come within "
        f"{show_length(problem.height, unit)} of each other; make the plates thinner or the body "
        f"thicker, {show_length(problem.least, unit)} at least is needed"
    )


@sentence.register
def _(problem: SameName, unit: Unit) -> str:
    return (
        f'{problem.where}.name: "{problem.name}" is what one of {problem.other} is called; rename '
        "one"
    )


@sentence.register
def _(problem: HoleBesideChamber, unit: Unit) -> str:
    return (
        f"{problem.where}: {problem.name} lies not over a chamber alone; move it clear of rim and "
        "centre block, or make it smaller"
    )


@sentence.register
def _(problem: NeckPocketParted, unit: Unit) -> str:
    return (
        f"{problem.where}.shape: the neck's pocket meets the body in {problem.places} places; it "
        "must be one, without cutting a horn beside the neck"
    )


@sentence.register
def _(problem: CutOutside, unit: Unit) -> str:
    return (
        f"{problem.where}: {problem.name} runs {show_length(problem.out, unit)} out of the "
        "outline; move it inward or make it smaller"
    )


@sentence.register
def _(problem: WallThin, unit: Unit) -> str:
    return (
        f"{problem.where}: {problem.name} leaves {show_length(problem.wall, unit)} to the outline; "
        f"at least {show_length(problem.least, unit)} is needed for there to be a wall"
    )


@sentence.register
def _(problem: FloorOutOfWood, unit: Unit) -> str:
    return (
        f"{problem.where}.depth: {show_length(problem.depth, unit)} where its floor is "
        f"{show_length(problem.x, unit)} from the body's edge is not allowed; from "
        f"{show_length(problem.least, unit)} to {show_length(problem.most, unit)}"
    )


@sentence.register
def _(problem: SkinUnderFace, unit: Unit) -> str:
    return (
        f"{problem.where}: {problem.name} leaves {show_length(problem.skin, unit)} to the carved "
        f"{problem.face} (body.{problem.face}); at least {show_length(problem.least, unit)} is "
        "needed, or open it there"
    )


@sentence.register
def _(problem: SkinBetweenCuts, unit: Unit) -> str:
    return (
        f"{problem.where}: {problem.name} and {problem.other} ({problem.other_where}) leave "
        f"{show_length(problem.skin, unit)} between them; let them open into each other, or leave "
        f"at least {show_length(problem.least, unit)}"
    )
