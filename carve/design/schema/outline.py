"""An outline as it stands in the design file: a drawing of the builder's own, or points.

The drawing is read once, when the design file is, and is part of the design from then on.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field, GetCoreSchemaHandler, StrictBool
from pydantic_core import PydanticCustomError, core_schema

from carve.design.drawing.source import DrawingFile, DrawingSource, no_drawings
from carve.design.schema.fields import Length, Points
from carve.design.schema.table import Table
from carve.design.values.curve import Point
from carve.design.values.quote import quoted
from carve.design.values.units import Unit

PageSide = Literal["up", "down", "left", "right"]
PageFace = Literal["front", "back"]
Hand = Literal["right", "left"]

DEFAULT_GAP = 0.1  # mm; what a hand-drawn corner misses, and no builder sees
WIDEST_GAP = 2.0  # mm; a wider one is no slip of the pen
LONGEST_OUTLINE = 2000.0  # mm; longer than any instrument that lies on such a machine


@dataclass(frozen=True)
class ADrawing:
    """The name of a drawing, SVG or DXF, in the folder of the design file."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.with_info_plain_validator_function(self._read)

    def _read(self, value: Any, info: core_schema.ValidationInfo) -> DrawingFile:
        if isinstance(value, DrawingFile):
            return value
        if not isinstance(value, str) or not value.strip():
            raise _sentence(f"{quoted(value)} is not the name of a file; {self.allowed()}")
        find: DrawingSource = (info.context or {}).get("drawings", no_drawings)
        try:
            return find(value)
        except ValueError as error:
            raise _sentence(str(error)) from None

    def allowed(self) -> str:
        """What may be written, in words."""
        return 'an SVG or DXF file beside the design file, such as "body.svg"'


def _sentence(text: str) -> PydanticCustomError:
    return PydanticCustomError("carve", "{text}", {"text": text})


class OutlineFile(Table):
    """An outline seen from above: one closed curve of a drawing, or points given here."""

    file: Annotated[DrawingFile, ADrawing()] | None = Field(
        default=None,
        description="a drawing of your own, SVG or DXF, beside the design file; left out "
        "where the outline comes from `points` or a body's from `bouts`",
    )
    layer: str | None = Field(
        default=None,
        description="of the drawing, where the outline lies; left out, it is looked for on all",
    )
    curve: str | None = Field(
        default=None,
        description="the outline's own id in the drawing, where a layer holds several; left "
        "out, it is the outer one",
    )
    unit: Unit | None = Field(
        default=None,
        description="of the drawing, mm or in; needed where the file doesn't say it, else left out",
    )
    length: Annotated[float, Length(5, LONGEST_OUTLINE)] | None = Field(
        default=None,
        description="of the outline along the instrument, as you measured it on paper; the "
        "drawing is held against it; needed with a drawing, else left out",
    )
    neck_toward: PageSide = Field(
        default="up", description='where on the page the neck is: "up", "down", "left" or "right"'
    )
    seen_from: PageFace = Field(
        default="front",
        description='what the page shows: the "front" with the strings or the "back"',
    )
    handed: Hand | None = Field(
        default=None,
        description='whose instrument the page shows, a "right"- or a "left"-handed one; left out, '
        "right, and needed where the design is left-handed",
    )
    centre_layer: str | None = Field(
        default=None,
        description="of the drawing, with one straight line that is the centre line; left "
        "out where `centre_at` is given; a drawing needs one of them",
    )
    centre_at: Annotated[float, Length(-1e5, 1e5)] | None = Field(
        default=None,
        description="where on the page the centre line runs, as the drawing program counts; "
        "left out where `centre_layer` is given",
    )
    edge_at: Annotated[float, Length(-1e5, 1e5)] | None = Field(
        default=None,
        description="where on the page, along the centre line, the edge lies that meets the neck; "
        "left out, it is where the centre line meets the outline",
    )
    gap: Annotated[float, Length(0, WIDEST_GAP)] = Field(
        default=DEFAULT_GAP,
        description="between two ends of the drawing that is closed and told of",
    )
    points: Annotated[tuple[Point, ...], Points(3)] | None = Field(
        default=None,
        description="instead of a drawing: x from the edge that meets the neck, y to the "
        "treble side, all around; left out with a drawing",
    )
    smooth: StrictBool = Field(
        default=False,
        description="whether a smooth curve runs through the points, not straight lines",
    )


def outlines_in(table: Table, prefix: str = "") -> Iterator[tuple[str, OutlineFile]]:
    """Every outline of a design, with its key."""
    for name in type(table).model_fields:
        value: Any = getattr(table, name)
        for number, item in enumerate(value) if isinstance(value, tuple) else [(None, value)]:
            key = f"{prefix}{name}" if number is None else f"{prefix}{name}[{number}]"
            if isinstance(item, OutlineFile):
                yield key, item
            elif isinstance(item, Table):
                yield from outlines_in(item, f"{key}.")


def drawings_in(table: Table) -> dict[str, DrawingFile]:
    """The drawings a design holds, by their names."""
    files = (outline.file for _, outline in outlines_in(table))
    return {file.name: file for file in files if file is not None}
