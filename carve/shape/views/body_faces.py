"""A body's carved faces as views: heights, gauges, and what they can be coloured by."""

from collections.abc import Iterator, Mapping

from carve.design.values.units import Unit
from carve.shape.body.shape import BodyShape
from carve.shape.plate.carved_face import CarvedFace
from carve.shape.plate.relief import Heights
from carve.shape.views.kit.colour_fields import ColourField, OutsideFace, face_shades
from carve.shape.views.kit.drawing import Drawing, PlanMap
from carve.shape.views.plate_contours import height_drawing, height_plan
from carve.shape.views.plate_gauges import cross_gauges, long_gauge


def relief_outlines(shape: BodyShape, title: str, unit: Unit) -> dict[str, Drawing]:
    """Of each carved face its contour lines, and gauges where the builder tells its heights."""
    drawn = {}
    for name, face in _faces(shape):
        heights, called = _heights(face), f"{title}, {name}"
        points, places = heights.outline, _places(face, heights)
        drawn[f"{name}-heights"] = height_drawing(heights, f"{called} by its heights", unit)
        drawn[f"{name}-long-gauge"] = long_gauge(
            face.surface, points, places, f"{called}, gauge along the centre line", unit
        )
        drawn[f"{name}-cross-gauges"] = cross_gauges(
            face.surface, points, places, f"{called}, gauges across", unit
        )
    return drawn


def relief_maps(shape: BodyShape, unit: Unit) -> dict[str, PlanMap]:
    """Of each carved face the map of its heights."""
    return {
        f"{name}, height": height_plan(_heights(face), f"{name} by its heights", unit)
        for name, face in _faces(shape)
    }


def body_shades(shape: BodyShape, top: str, back: str) -> Mapping[str, ColourField]:
    """What the carved faces can be coloured by. top, back: names of these faces on the mesh."""
    faces = {}
    if shape.top is not None:
        faces[top] = OutsideFace(shape.top.surface)
    if shape.back is not None:
        faces[back] = OutsideFace(shape.back.surface, -1.0, -shape.thickness)
    return face_shades(faces, shape.carvings[0].foundation.points) if faces else {}


def _faces(shape: BodyShape) -> Iterator[tuple[str, CarvedFace]]:
    for name, face in (("top", shape.top), ("back", shape.back)):
        if face is not None:
            yield name, face


def _heights(face: CarvedFace) -> Heights:
    """From the grid on which the face's heights are known already."""
    return Heights(face.foundation.points, *face.foundation.lines, face.map)


def _places(face: CarvedFace, heights: Heights) -> list[float]:
    """Where gauges stand across, x in mm: where heights are given, else at the highest place."""
    return sorted({x for x, _ in face.explicit_points}) or [heights.crown.at[0]]
