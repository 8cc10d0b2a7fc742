"""Draws the five outlines of this folder, each in another way a drawing program may have it.

Run it from the project's folder: ``python examples/outlines/draw.py``. The bodies are inventions:
a few measures each, made smooth by ``carve.shape.outlines.bouts``. The files hold real curves:
cubic
pieces, arcs of circles, bulged polylines and splines.
"""

import math
import random
from pathlib import Path

import ezdxf
import numpy as np
from ezdxf.document import Drawing as Document

from carve.arrays import Array
from carve.design.schema.bouts import Bouts, Cutaway
from carve.design.values.curve import Curve
from carve.design.values.units import MM_PER_INCH
from carve.shape.outlines.bouts import bouts_curve
from carve.shape.planar.outline import at

HERE = Path(__file__).parent
PARTS = 6  # biarcs to a piece; the arcs stay within 0.02 mm of the smooth curve

DOTTEREL = Bouts(
    length=432,
    upper=258,
    upper_at=78,
    waist=220,
    waist_at=172,
    lower=332,
    lower_at=305,
    treble=Cutaway(depth=96, horn=-14, notch=42),
)
MERLIN = Bouts(
    length=394,
    upper=302,
    upper_at=62,
    waist=232,
    waist_at=165,
    lower=320,
    lower_at=288,
    joint=72,
    bass=Cutaway(depth=58, horn=86, notch=40),
    treble=Cutaway(depth=82, horn=42, notch=44),
)
LAPWING = Bouts(
    length=406,
    upper=306,
    upper_at=62,
    waist=232,
    waist_at=170,
    lower=346,
    lower_at=300,
    offset=38,
    joint=72,
    bass=Cutaway(depth=48, horn=58, notch=38),
    treble=Cutaway(depth=74, horn=26, notch=40),
)
BITTERN = Bouts(
    length=492,
    upper=288,
    upper_at=102,
    waist=240,
    waist_at=196,
    lower=402,
    lower_at=356,
)
WIGEON = Bouts(
    length=368,
    upper=122,
    upper_at=40,
    waist=206,
    waist_at=140,
    lower=304,
    lower_at=248,
    joint=66,
)

Bulged = list[tuple[float, float, float]]
"""x and y of a corner, and the bulge of the side that begins there."""


def rounded_box(x: float, y: float, long: float, wide: float, radius: float) -> Bulged:
    """A pocket about (x, y), its corners as a cutter leaves them."""
    quarter = math.tan(math.pi / 8)
    a, b, r = long / 2, wide / 2, radius
    corners = [
        (a - r, -b, quarter),
        (a, -b + r, 0),
        (a, b - r, quarter),
        (a - r, b, 0),
        (-a + r, b, quarter),
        (-a, b - r, 0),
        (-a, -b + r, quarter),
        (-a + r, -b, 0),
    ]
    return [(x + dx, y + dy, bulge) for dx, dy, bulge in corners]


def slot(x: float, y: float, long: float, wide: float, turn: float) -> Bulged:
    """A pocket with round ends about (x, y), turned by degrees."""
    a, r = long / 2 - wide / 2, wide / 2
    cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    corners = [(-a, -r, 0.0), (a, -r, 1.0), (a, r, 0.0), (-a, r, 1.0)]
    return [
        (x + cosine * u - sine * v, y + sine * u + cosine * v, bulge) for u, v, bulge in corners
    ]


def biarcs(curve: Curve) -> Bulged:
    """A curve as arcs of circles that go over into one another without a corner.

    Two arcs between each two points with their tangents (Bolton 1975; from memory).
    """
    corners: Bulged = []
    for piece in np.array(curve.pieces):
        t = np.linspace(0, 1, PARTS + 1)
        points, ways = at(piece, t), _tangents(piece, t)
        for start, stop, out, into in zip(points, points[1:], ways, ways[1:], strict=False):
            v, both = stop - start, out + into
            bend = 2 * (1 - out @ into)
            d = (
                (math.sqrt((v @ both) ** 2 + bend * (v @ v)) - v @ both) / bend
                if bend > 1e-9
                else (v @ v) / (2 * (v @ both))
            )
            middle = (start + stop + d * (out - into)) / 2
            corners.append((*start, math.tan(_angle(out, middle - start) / 2)))
            corners.append((*middle, math.tan(_angle(stop - middle, into) / 2)))
    return corners


def _tangents(piece: Array, t: Array) -> Array:
    a, b, c = np.diff(piece, axis=0)
    s = (1 - t)[:, None]
    ways = s**2 * a + 2 * s * t[:, None] * b + t[:, None] ** 2 * c
    return np.asarray(ways / np.linalg.norm(ways, axis=1)[:, None])


def _angle(one: Array, other: Array) -> float:
    return math.atan2(one[0] * other[1] - one[1] * other[0], one @ other)


# SVG


def svg(name: str, wide: float, high: float, body: str) -> None:
    """An SVG of a page in mm."""
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" '
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"\n'
        f'     width="{wide:g}mm" height="{high:g}mm" viewBox="0 0 {wide:g} {high:g}">\n'
        f"<title>{name}</title>\n{body}</svg>\n"
    )
    (HERE / f"{name.lower()}.svg").write_text(text, encoding="utf-8")


def layer(label: str, inside: str, more: str = "") -> str:
    """A layer, as drawing programs keep it: a group with a label."""
    return (
        f'<g inkscape:groupmode="layer" inkscape:label="{label}" fill="none" stroke="black" '
        f'stroke-width="0.3"{more}>\n{inside}</g>\n'
    )


def cubic_path(name: str, curve: Curve, across: float, top: float) -> str:
    """A path of cubic pieces on a page with the neck up."""

    def spot(point: tuple[float, float]) -> str:
        return f"{point[1] + across:.3f},{point[0] + top:.3f}"

    ways = "".join(f"\n C {spot(b)} {spot(c)} {spot(d)}" for _, b, c, d in curve.pieces)
    return f'<path id="{name}" d="M {spot(curve.pieces[0][0])}{ways} Z"/>\n'


def arc_path(name: str, corners: Bulged, across: float, top: float, *, upright: bool) -> str:
    """A path of arcs and lines.

    upright: on a page with the neck up, else in the body's own x and y.
    """
    words = []
    for (ax, ay, bulge), (bx, by, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        spot = f"{by + across:.3f},{bx + top:.3f}" if upright else f"{bx:.3f},{by:.3f}"
        if abs(bulge) < 1e-4:
            words.append(f"L {spot}")
            continue
        turn = 4 * math.atan(abs(bulge))
        radius = math.hypot(bx - ax, by - ay) / 2 / math.sin(turn / 2)
        # from below the page an arc runs the other way round
        sweep = int((bulge > 0) != upright)
        words.append(f"A {radius:.4f} {radius:.4f} 0 {int(turn > math.pi)} {sweep} {spot}")
    x, y, _ = corners[0]
    first = f"{y + across:.3f},{x + top:.3f}" if upright else f"{x:.3f},{y:.3f}"
    joined = "\n ".join(words)
    return f'<path id="{name}" d="M {first}\n {joined} Z"/>\n'


def dotterel() -> None:
    """One cutaway: an SVG in mm, the body of cubic pieces, the pockets of lines and arcs."""
    across, top = 190.0, 40.0
    curve = bouts_curve(DOTTEREL, "dotterel")

    def pocket(name: str, corners: Bulged) -> str:
        return arc_path(name, corners, across, top, upright=True)

    svg(
        "Dotterel",
        380,
        500,
        layer("body", cubic_path("rim", curve, across, top))
        + layer("neck pocket", pocket("tenon", rounded_box(34, 0, 84, 44, 6)))
        + layer(
            "pickups",
            pocket("front", rounded_box(142, 0, 40, 92, 4))
            + pocket("back", rounded_box(218, 0, 40, 92, 4)),
        )
        + layer("controls", pocket("bay", slot(330, 92, 118, 46, -28)))
        + layer(
            "centre line",
            f'<line x1="{across:g}" y1="10" x2="{across:g}" y2="490" stroke-dasharray="9 3"/>\n',
        ),
    )


def bittern() -> None:
    """A hollow body: an SVG whose page lies on its side, all its curves under transforms."""
    curve = biarcs(bouts_curve(BITTERN, "bittern"))
    holes = "".join(
        f'<ellipse id="{name}" rx="52" ry="11" '
        f'transform="translate(312 {side * 104}) rotate({side * 12})"/>\n'
        for name, side in (("sound-hole-bass", -1), ("sound-hole-treble", 1))
    )
    # the body's x runs to the left on this page, its y upward
    turned = ' transform="translate(540 240) scale(-1 -1)"'
    svg(
        "Bittern",
        580,
        480,
        layer("body", arc_path("rim", curve, 0, 0, upright=False), turned)
        + layer("sound holes", holes, turned)
        + layer(
            "pickup", arc_path("front", rounded_box(150, 0, 38, 76, 4), 0, 0, upright=False), turned
        )
        + layer("centre", '<path d="M 10 240 H 570"/>\n'),
    )


# DXF


def dxf(unit: int) -> Document:
    """A new DXF R2010 in a unit: 1 for inches, 4 for mm; without a date, so that drawing it
    again gives the same file.
    """
    ezdxf.options.write_fixed_meta_data_for_testing = True
    document = ezdxf.new("R2010")
    document.units = unit
    return document


def upright(corners: Bulged, scale: float = 1.0) -> Bulged:
    """Corners on a page with y upward and the neck up; a quarter turn keeps every bulge."""
    return [(y * scale, -x * scale, bulge) for x, y, bulge in corners]


def save(document: Document, name: str) -> None:
    """Write it into this folder."""
    document.saveas(HERE / f"{name}.dxf")


def merlin() -> None:
    """Two cutaways: a DXF in mm, the body one spline, the pockets bulged polylines."""
    document = dxf(4)
    space = document.modelspace()
    curve = bouts_curve(MERLIN, "merlin")
    chain = [curve.pieces[0][0], *(point for piece in curve.pieces for point in piece[1:])]
    knots = [0.0, *(float(n) for n in range(len(curve.pieces) + 1) for _ in range(3)), 0.0]
    knots[-1] = knots[-2]
    spline = space.add_spline(degree=3, dxfattribs={"layer": "BODY"})
    spline.control_points = [(y, -x, 0) for x, y in chain]
    spline.knots = knots
    for name, corners in (
        ("NECK", rounded_box(30, 0, 76, 56, 6)),
        ("PICKUPS", rounded_box(132, 0, 24, 90, 8)),
        ("PICKUPS", rounded_box(204, 0, 40, 92, 4)),
        ("CONTROLS", slot(292, 88, 128, 48, -24)),
        ("JACK", rounded_box(352, 16, 40, 26, 8)),
    ):
        space.add_lwpolyline(upright(corners), format="xyb", close=True, dxfattribs={"layer": name})
    space.add_line((0, 110), (0, -420), dxfattribs={"layer": "CENTRE"})
    save(document, "merlin")


def lapwing() -> None:
    """An offset waist: a DXF in inches, all of it bulged polylines, one pocket in a block."""
    document = dxf(1)
    space = document.modelspace()
    inch = 1 / MM_PER_INCH
    curve = biarcs(bouts_curve(LAPWING, "lapwing"))
    space.add_lwpolyline(
        upright(curve, inch), format="xyb", close=True, dxfattribs={"layer": "Body"}
    )
    pickup = document.blocks.new("PICKUP")
    pickup.add_lwpolyline(upright(slot(0, 0, 92, 40, 90), inch), format="xyb", close=True)
    for x in (140, 212):
        space.add_blockref("PICKUP", (0, -x * inch), dxfattribs={"layer": "Pickups"})
    bay = upright(slot(302, 90, 120, 46, -18), inch)
    space.add_lwpolyline(bay, format="xyb", close=True, dxfattribs={"layer": "Controls"})
    tenon = upright(rounded_box(32, 0, 80, 56, 6), inch)
    space.add_lwpolyline(tenon, format="xyb", close=True, dxfattribs={"layer": "Neck"})
    space.add_line((0, 4), (0, -17), dxfattribs={"layer": "Centre"})
    save(document, "lapwing")


def wigeon() -> None:
    """A pear: a DXF in mm of loose lines and arcs, in no order, as a drawing grows at a desk."""
    document = dxf(4)
    space = document.modelspace()
    corners = upright(biarcs(bouts_curve(WIGEON, "wigeon")))
    sides = list(zip(corners, corners[1:] + corners[:1], strict=True))
    random.Random(7).shuffle(sides)
    for (ax, ay, bulge), (bx, by, _) in sides:
        if abs(bulge) < 1e-5:
            space.add_line((ax, ay), (bx, by), dxfattribs={"layer": "RIM"})
            continue
        centre, first, last, radius = ezdxf.math.bulge_to_arc((ax, ay), (bx, by), bulge)
        space.add_arc(
            centre, radius, math.degrees(first), math.degrees(last), dxfattribs={"layer": "RIM"}
        )
    space.add_circle((0, -176), 42, dxfattribs={"layer": "SOUND HOLE"})
    space.add_ellipse((0, -176), (0, 50), 0.98, dxfattribs={"layer": "ROSETTE"})
    space.add_line((0, 20), (0, -390), dxfattribs={"layer": "CENTRE"})
    save(document, "wigeon")


if __name__ == "__main__":
    for draw in (dotterel, merlin, lapwing, bittern, wigeon):
        draw()
