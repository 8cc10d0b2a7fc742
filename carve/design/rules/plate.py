"""What the keys of a carved top or back must agree on among themselves.

Whether heights and lines find room on the outline is known only once there are shapes.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from carve.design.schema.body import Body
from carve.design.schema.design import Design
from carve.design.schema.plate import CarvedPlate
from carve.design.values.tolerances import NEAREST_STATIONS

LEAST_COVE = 2.0  # mm from the ledge to the recurve's line
BY_ARCH = ("recurve", "recurve_depth", "falloff", "neck_plane")


def carved_plate_contradictions(design: Design, body: Body) -> Iterator[str]:
    """Every contradiction among the keys of top and back."""
    for face, plate in (("top", body.top), ("back", body.back)):
        if plate is not None:
            yield from _plate(design, f"body.{face}", plate)
    if body.back is not None and body.back.neck_plane is not None:
        yield "body.back.neck_plane: only the top has one; leave it out"
    if body.top is not None and body.top.neck_plane is not None and design.joint is None:
        yield (
            "body.top.neck_plane: it follows from how the neck stands on the body; add [joint], or "
            "leave it out"
        )


def _plate(design: Design, key: str, plate: CarvedPlate) -> Iterator[str]:
    if plate.contours:
        yield from _contours(design, key, plate)
        return
    if plate.softness is not None:
        yield f"{key}.softness: only contour lines have it; leave it out, or give {key}.contours"
    if not plate.stations:
        yield (
            f"{key}.stations: none is given; give a height of the long arch at least, or "
            f"{key}.contours"
        )
    if plate.recurve is None:
        yield f"{key}.recurve: missing; an arch needs it"
    elif plate.recurve < plate.ledge + LEAST_COVE:
        yield (
            f"{key}.recurve: {design.show(plate.recurve)} is not allowed; at least "
            f"{design.show(LEAST_COVE)} more than {key}.ledge, {design.show(plate.ledge)}"
        )
    names = [pad.name for pad in plate.pads]
    for number, name in enumerate(names):
        if name in names[:number]:
            yield (
                f'{key}.pads[{number}].name: "{name}" is the name of '
                f"{key}.pads[{names.index(name)}] too; give each its own"
            )
    depth = plate.recurve_depth or 0.0
    for number, station in enumerate(plate.stations):
        if station.height < -depth:
            yield (
                f"{key}.stations[{number}].height: {design.show(station.height)} is below the "
                f"recurve, {design.show(-depth)} ({key}.recurve_depth); the recurve is lowest"
            )
    yield from _apart(design, f"{key}.stations", [station.x for station in plate.stations])
    yield from _apart(design, f"{key}.templates", [template.x for template in plate.templates])
    for number, template in enumerate(plate.templates):
        if not template.heights:
            yield f"{key}.templates[{number}].heights: none is given; give one at least"


def _apart(design: Design, key: str, places: Sequence[float]) -> Iterator[str]:
    for number, x in enumerate(places):
        for other, before in enumerate(places[:number]):
            if abs(x - before) < NEAREST_STATIONS:
                yield (
                    f"{key}[{number}].x: {design.show(x)} is {design.show(abs(x - before))} from "
                    f"{key}[{other}]; at least {design.show(NEAREST_STATIONS)}"
                )


def _contours(design: Design, key: str, plate: CarvedPlate) -> Iterator[str]:
    for name in BY_ARCH:
        if getattr(plate, name) is not None:
            yield f"{key}.{name}: not allowed together with {key}.contours; leave one of them out"
    for name in ("stations", "templates", "pads"):
        if getattr(plate, name):
            yield f"{key}.{name}: not allowed together with {key}.contours; leave one of them out"
    distances = [plate.ledge, *(distance for distance, _ in plate.contours)]
    for number, (before, here) in enumerate(pairwise(distances)):
        if here <= before:
            yield (
                f"{key}.contours[{number}]: {design.show(here)} from the outline is not allowed; "
                f"more than {design.show(before)}, "
                + (f"{key}.ledge" if number == 0 else "the one before it")
            )
