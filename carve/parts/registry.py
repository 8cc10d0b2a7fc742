"""The register of parts. Whatever stands here is checked, exported and shown in the lab.

A part joins by one ``Kind`` in ``KINDS``: what of the design it needs, how that becomes
a shape, how the shape becomes a solid, and what people want to see of it.
"""

from collections.abc import Callable, Collection, Hashable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any, Generic, Literal, TypeVar

import numpy as np

from carve.arrays import Array
from carve.design.derived.board_plan import board_plan
from carve.design.schema.blank import Blank
from carve.design.schema.body import BodyOutline, Hollow
from carve.design.schema.design import Design
from carve.design.values.units import Place, Unit
from carve.parts.mirror import leaving
from carve.shape.assembly.frames import BODYS, INSTRUMENT, backward
from carve.shape.assembly.neck_on_body import board_over_body, heel_in_body, neck_on_body
from carve.shape.assembly.side_view import body_plane, top_at_bridge
from carve.shape.body.chambers import Inside, Room
from carve.shape.body.outline import outline_of, require_simple
from carve.shape.body.shape import BodyShape, body_shape
from carve.shape.body.thickness_map import wood_grid
from carve.shape.fretboard.frets import fret_places
from carve.shape.fretboard.shape import FretboardShape, fretboard_shape
from carve.shape.neck.finish import neck_film
from carve.shape.neck.shape import NeckShape, neck_shape
from carve.shape.planar.outline import Outline
from carve.shape.plate.carved_face import (
    Bed,
    Carving,
    Softness,
    bed,
    lies_on,
    neck_pad,
    pads_of,
    plate_asked,
)
from carve.shape.plate.request import Lines
from carve.shape.views.body_drawings import body_outlines
from carve.shape.views.body_faces import body_shades, relief_maps, relief_outlines
from carve.shape.views.body_sections import body_cuts
from carve.shape.views.body_thickness import wood_map
from carve.shape.views.curvature_drawing import curvature_drawing
from carve.shape.views.fret_table import fret_sheet
from carve.shape.views.fretboard_drawings import end_views, plan_drawing
from carve.shape.views.kit.colour_fields import Shade
from carve.shape.views.kit.drawing import Drawing, PlanMap
from carve.shape.views.kit.section_cuts import Cut, Cuts
from carve.shape.views.kit.table import Sheet
from carve.shape.views.neck_colours import neck_shades
from carve.shape.views.neck_drawings import gauges, plan_view, side_view
from carve.shape.views.neck_sections import neck_cuts, section_drawing
from carve.solid.body import BACK as BODY_BACK
from carve.solid.body import TOP, body_faces, body_solid
from carve.solid.faces import Faces
from carve.solid.fretboard import FACES as BOARD_FACES
from carve.solid.fretboard import fretboard_solid
from carve.solid.kit.carved_plan import Laid, laid_for_many
from carve.solid.kit.chamber_plan import RoomLaid, room_laid_for_many
from carve.solid.mesh import Mesh, Soundness, as_written, soundness
from carve.solid.neck import BACK, neck_solid
from carve.solid.neck import FACES as NECK_FACES

S = TypeVar("S")

EXPORT_CHORD = 0.02  # mm
PREVIEW_CHORD = 0.08  # mm; finer than a pixel of a neck that fills a screen


@dataclass(frozen=True)
class Kind:
    """How a part comes to be.

    needs: the values of the design the part depends on and nothing else: the key under
    which a result is kept. shape: from these to the shape. solid: shape and chord error
    to mesh and measured chord error. volume: of the shape in mm^3, without any mesh.
    faces: which of the mesh's surfaces are cut from the front, which from the back.
    blank: the wood it is cut from, None where the builder says nothing of it. board: length
    and thickness in mm that it needs of that wood, None where those are the part's own.
    outlines, sheets: by name, what the shop gets at true scale and as tables; each becomes
    files beside the mesh. colour: of its wood where nothing shades it, as ``#rrggbb``.
    asked: whether a design has the part at all. frame: in words, the frame of the part's shape,
    mesh and drawings. placed: (4, 4), from that frame to the instrument's. maps: by name, figures
    over the part as seen from above. shades: by name, figures that its surfaces may be coloured
    by. cuts: where it may be cut open to look at the section, None where nowhere.
    """

    name: str
    needs: Callable[[Design], tuple[Hashable, ...]]
    shape: Callable[..., Any]
    solid: Callable[[Any, float], tuple[Mesh, float]]
    volume: Callable[[Any], float]
    blank: Callable[[Design], Blank | None]
    drawings: Callable[[Design, Any], tuple[Drawing, ...]]
    faces: Callable[[Any], Faces]
    board: Callable[[Any], tuple[float, float] | None] = lambda shape: None
    outlines: Callable[[Design, Any], Mapping[str, Drawing]] = lambda design, shape: {}
    sheets: Callable[[Design, Any], Mapping[str, Sheet]] = lambda design, shape: {}
    colour: str = "#d9b27c"
    asked: Callable[[Design], bool] = lambda design: True
    frame: str = INSTRUMENT
    placed: Callable[[Design], Array] = lambda design: np.eye(4)
    maps: Callable[[Design, Any], Mapping[str, PlanMap]] = lambda design, shape: {}
    shades: Callable[[Design, Any], Mapping[str, Shade]] = lambda design, shape: {}
    cuts: Callable[[Design, Any], Cuts | None] = lambda design, shape: None


@dataclass(frozen=True, eq=False)
class Built(Generic[S]):
    """A part that has been made.

    chord_bound, chord_error: mm, what was asked and what was measured.
    """

    kind: Kind
    shape: S
    mesh: Mesh
    chord_bound: float
    chord_error: float

    @property
    def name(self) -> str:
        """The part's name, as in ``neck``."""
        return self.kind.name

    # what follows from the mesh and is asked at every turn of a dial, also of parts that stay

    @cached_property
    def written(self) -> Mesh:
        """The mesh as a file has it, with 32-bit coordinates."""
        return as_written(self.mesh)

    @cached_property
    def state(self) -> Soundness:
        """What is wrong with the mesh as written."""
        return soundness(self.written)

    @cached_property
    def integral(self) -> float:
        """Volume in mm^3 by the shape's sections, without the mesh."""
        return float(self.kind.volume(self.shape))


@dataclass(frozen=True, eq=False)
class Job:
    """A design with all of its parts made."""

    design: Design
    parts: tuple[Built[Any], ...]

    def having(self, shape: type[S]) -> list[Built[S]]:
        """The parts whose shape is of a type: ``job.having(NeckShape)``."""
        return [part for part in self.parts if isinstance(part.shape, shape)]


def preview_chord(design: Design) -> float:
    """Chord error in mm for a picture: never coarser than what the checks hold profiles to."""
    return min(PREVIEW_CHORD, 0.8 * design.limits.profile)


def make(
    design: Design, chord_error: float = EXPORT_CHORD, only: Collection[str] | None = None
) -> Job:
    """Make the parts that a design has. chord_error: mm. only: names of parts, by default all.

    The job's design is ``settled``.
    """
    design = settled(design)
    kinds = [kind for kind in KINDS if kind.asked(design) and (only is None or kind.name in only)]
    return Job(design, tuple(_built(kind, kind.needs(design), chord_error) for kind in kinds))


def mesh_leaving(design: Design, part: Built[Any]) -> Mesh:
    """A part's mesh as files have it."""
    return leaving(design, part.written)


def outlines_leaving(design: Design, part: Built[Any]) -> Mapping[str, Drawing]:
    """A part's drawings at true scale, by name, as files and screens have them."""
    drawn = part.kind.outlines(design, part.shape)
    return {name: leaving(design, drawing) for name, drawing in drawn.items()}


def drawings_leaving(design: Design, part: Built[Any]) -> tuple[Drawing, ...]:
    """A part's small drawings, as screens have them."""
    return tuple(leaving(design, drawing) for drawing in part.kind.drawings(design, part.shape))


def cut_leaving(design: Design, part: Built[Any], cut: Cut) -> Drawing | None:
    """The section that a cut opens, as screens have it; None where the part shows none."""
    cuts = part.kind.cuts(design, part.shape)
    return None if cuts is None else leaving(design, cuts.drawn(cuts.within(cut)))


def maps_leaving(design: Design, part: Built[Any]) -> Mapping[str, PlanMap]:
    """A part's maps, by name, as screens have them."""
    found = part.kind.maps(design, part.shape)
    return {name: leaving(design, plan) for name, plan in found.items()}


def shape_of(kind: Kind, design: Design) -> Any:
    """A part's shape alone, the same one that ``make`` gives the part."""
    return _shaped(kind, kind.needs(settled(design)))


# The one cache of the house, of shapes and of what is made of them: a part is made again only
# when what it needs has changed, and an outline, which takes as long as all pockets, with itself.


@lru_cache(maxsize=16)
def _outlined(outline: BodyOutline, unit: Unit) -> Outline:
    return outline_of(outline, unit)


@lru_cache(maxsize=16)
def _bedded(outline: Outline, asked: Lines | Softness) -> Bed:
    return bed(outline, asked)


@lru_cache(maxsize=16)
def _carved(carving: Carving) -> Carving:
    """The first of all equal ones, whose surface is there already."""
    return carving


@lru_cache(maxsize=16)
def _inside(inside: Inside) -> Inside:
    """The first of all equal ones, whose spline is there already."""
    return inside


@lru_cache(maxsize=16)
def _laid(carvings: tuple[Carving, ...], outline: Outline, chord_error: float) -> Laid | None:
    return laid_for_many(carvings, outline, chord_error)


@lru_cache(maxsize=16)
def _room_laid(
    around: tuple[tuple[float, float], ...], insides: tuple[Inside, Inside], chord_error: float
) -> RoomLaid | None:
    return room_laid_for_many(np.array(around), insides, chord_error)


@lru_cache(maxsize=16)
def wood_of(shape: BodyShape) -> tuple[Array, tuple[float, float]]:
    """How much wood is left through a body, as ``wood_grid`` has it."""
    return wood_grid(shape)


@lru_cache(maxsize=16)
def _shaped(kind: Kind, needs: tuple[Hashable, ...]) -> Any:
    return kind.shape(*needs)


@lru_cache(maxsize=16)
def _built(kind: Kind, needs: tuple[Hashable, ...], chord_error: float) -> Built[Any]:
    shape = _shaped(kind, needs)
    mesh, measured = kind.solid(shape, chord_error)
    return Built(kind, shape, mesh, chord_error, measured)


def _neck_shades(design: Design, shape: NeckShape) -> Mapping[str, Shade]:
    thin, good = design.limits.wood_under_channel, design.limits.wood_under_channel_good
    return neck_shades(shape, BACK, thin, max(2 * good, thin + 1.0))


def _neck_drawings(design: Design, shape: NeckShape) -> tuple[Drawing, ...]:
    return tuple(
        section_drawing(shape, x, title, design.units)
        for title, fret in (("1st fret", 1), ("12th fret", 12))
        if (x := design.place(Place(fret=fret))) <= shape.length
    )


def _neck_outlines(design: Design, shape: NeckShape) -> Mapping[str, Drawing]:
    title, unit = f"{design.title}, neck", design.units
    asked = design.neck.gauges
    places = [station.at for station in design.neck.stations] if asked is None else list(asked)
    named = [(place.show(unit), design.place(place)) for place in places]
    drawn = {
        "from-above": plan_view(shape, title, unit),
        "from-the-side": side_view(shape, f"{title} from the side", unit),
    }
    if named:
        drawn["gauges"] = gauges(shape, named, f"{title}, gauges for its back", unit)
    drawn["curvature"] = curvature_drawing(shape, f"{title}, curvature", unit)
    return drawn


def _fret_sheets(design: Design, shape: FretboardShape) -> Mapping[str, Sheet]:
    if not len(shape.frets):
        return {}
    step, fan = design.fretboard.table_step, design.fan
    sides = None
    if fan is not None:
        ratios = np.array(design.fretboard.ratios())
        sides = {
            f"outer {name} string": fret_places(ratios, course.length)
            for name, course in (("bass", fan.bass), ("treble", fan.treble))
        }
    return {"frets": fret_sheet(shape.frets, step, design.units, sides)}


NECK = Kind(
    name="neck",
    needs=lambda design: (
        design.placed_neck(),
        design.saddle_line.at,
        design.fretboard.thickness,
        neck_film(design.finish),
        design.nut_line.slant,
        body_plane(design),
    ),
    shape=neck_shape,
    solid=neck_solid,
    volume=NeckShape.volume,
    blank=lambda design: design.neck.blank,
    board=NeckShape.board_to_saw,
    drawings=_neck_drawings,
    faces=lambda shape: NECK_FACES,
    outlines=_neck_outlines,
    shades=_neck_shades,
    cuts=lambda design, shape: neck_cuts(shape, design.units),
)

FRETBOARD = Kind(
    name="fretboard",
    needs=lambda design: (board_plan(design),),
    shape=fretboard_shape,
    solid=fretboard_solid,
    volume=FretboardShape.volume,
    blank=lambda design: design.fretboard.blank,
    drawings=lambda design, shape: end_views(shape, design.units),
    faces=lambda shape: BOARD_FACES,
    outlines=lambda design, shape: {
        "from-above": plan_drawing(shape, f"{design.title}, fretboard", design.units)
    },
    sheets=_fret_sheets,
    colour="#8b6347",
)


def _wood_map(design: Design, shape: BodyShape) -> Mapping[str, PlanMap]:
    limits = design.limits
    least = min(limits.wood_under_pockets, limits.wood_over_pockets)
    if any(cut.opens == "nowhere" for cut in shape.cuts):
        least = min(least, limits.hollow_plate)
    wood = wood_map(shape, wood_of(shape), design.units, least, 3 * least)
    return {"wood left": wood, **relief_maps(shape, design.units)}


def _body_drawn(design: Design, shape: BodyShape) -> Mapping[str, Drawing]:
    title, unit = design.title, design.units
    return {**body_outlines(shape, title, unit), **relief_outlines(shape, title, unit)}


def settled(design: Design) -> Design:
    """The design with what follows from its carved top filled in: ``bridge.top_height``.

    Raises DesignError where no neck angle reaches the bridge on the arch.
    """
    body, bridge = design.body, design.bridge
    if body is None or body.top is None or bridge is None or bridge.top_height is not None:
        return design

    def height(at: float, angle: float, neck: float) -> float:
        face = _face(design, "top", (angle, neck))
        assert face is not None
        return face.on_centre_line(at)

    top = top_at_bridge(design, height)
    return design.model_copy(update={"bridge": bridge.model_copy(update={"top_height": top})})


def _face(
    design: Design, face: Literal["top", "back"], stands: tuple[float, float] | None = None
) -> Carving | None:
    """A carved face. stands: the neck's angle in radians and its height in mm, where known."""
    body = design.body
    plate = None if body is None else getattr(body, face)
    if body is None or plate is None:
        return None
    outline = _outlined(body.outline, design.units)
    require_simple(outline)
    pads = pads_of(plate)
    if plate.neck_plane is not None:
        if stands is None:
            stood = neck_on_body(design)
            stands = stood.angle, stood.height
        pads = (*pads, neck_pad(plate.neck_plane, board_over_body(design), *stands))
    asked = plate_asked(plate, f"body.{face}", pads)
    return _carved(Carving(_bedded(outline, lies_on(asked)), asked, pads))


def _body_needs(design: Design) -> tuple[Hashable, ...]:
    body = design.body
    assert body is not None  # asked says so
    heel = None
    if any(pocket.shape == "heel" for pocket in body.pockets):
        heel = heel_in_body(design)
    if heel is not None:  # its pocket is the same however high the neck stands
        heel = replace(heel, height=0.0)
    top, back = _face(design, "top"), _face(design, "back")
    insides = None if body.hollow is None else _insides(body.hollow, top, back)
    return body, _outlined(body.outline, design.units), heel, design.units, top, back, insides


def _insides(
    hollow: Hollow, top: Carving | None, back: Carving | None
) -> tuple[Inside, Inside] | None:
    """Those of top and back, where one of the plates at least is graduated."""
    if hollow.top_graduation is None and hollow.back_graduation is None:
        return None
    on = next(face.bed for face in (top, back) if face is not None)
    rim = hollow.rim
    ceiling = _inside(Inside(top, hollow.top_graduation, rim, hollow.top or 0.0, on))
    under = _inside(Inside(back, hollow.back_graduation, rim, hollow.back or 0.0, on))
    return ceiling, under


def _body_solid(shape: BodyShape, chord_error: float) -> tuple[Mesh, float]:
    # what is made once, for a file, is not worth a plan that serves other heights too
    if not shape.carvings or chord_error <= EXPORT_CHORD:
        return body_solid(shape, chord_error)
    roughly = tuple(carving.roughly() for carving in shape.carvings)
    rooms = [
        _room_laid(
            tuple(map(tuple, room.plan.points(chord_error).tolist())),
            (_inside(room.ceiling.roughly()), _inside(room.under.roughly())),
            chord_error,
        )
        for room in shape.cuts
        if isinstance(room, Room) and room.ceiling is not None and room.under is not None
    ]
    return body_solid(shape, chord_error, _laid(roughly, shape.outline, chord_error), rooms)


BODY = Kind(
    name="body",
    asked=lambda design: design.body is not None,
    needs=_body_needs,
    shape=body_shape,
    solid=_body_solid,
    volume=BodyShape.volume,
    blank=lambda design: None if design.body is None else design.body.blank,
    drawings=lambda design, shape: (),
    faces=body_faces,
    outlines=_body_drawn,
    colour="#c08a55",
    frame=BODYS,
    placed=lambda design: backward(neck_on_body(design).to_body()),
    maps=_wood_map,
    shades=lambda design, shape: body_shades(shape, TOP, BODY_BACK),
    cuts=lambda design, shape: body_cuts(shape, design.units),
)

KINDS: tuple[Kind, ...] = (NECK, FRETBOARD, BODY)
