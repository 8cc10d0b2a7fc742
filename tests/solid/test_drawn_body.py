"""Bodies from drawings: the mesh against what other libraries read in the same files.

The outside readings are ezdxf's own paths and svgelements' own, flattened by them, and laid by
hand where the drawings' makers say that the body lies on the page.
"""

from pathlib import Path

import ezdxf
import ezdxf.path
import numpy as np
import pytest
import shapely
import svgelements
import trimesh
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from carve.design import load, with_values
from carve.design.drawing.read import read_drawing
from carve.design.drawing.source import DrawingFile
from carve.errors import DesignError
from carve.parts.body import BODY
from carve.parts.job import make, shape_of
from carve.parts.outbound import outbound_mesh, outbound_outlines
from carve.shape.body.thickness_map import wood_grid
from carve.solid.as_written import as_written
from carve.solid.body import BACK, TOP, surface_of
from carve.solid.mesh import soundness

EXAMPLES = Path(__file__).parents[2] / "examples"
OUTLINES = EXAMPLES / "outlines"
CHORD = 0.05  # mm
READ = 0.002  # mm, how finely the other libraries are asked to flatten


def without_wires(name):
    """An example whose drawn pockets have no bore and no channel for wires open into them."""
    design = load(EXAMPLES / f"{name}.toml")
    pockets = tuple(pocket for pocket in design.body.pockets if "wire" not in pocket.name)
    body = design.body.model_copy(update={"pockets": pockets, "bores": ()})
    return design.model_copy(update={"body": body})


def loaded(mesh):
    return trimesh.Trimesh(mesh.points, mesh.triangles, process=False)


def level(mesh, z):
    """The wood's level section at a height, by trimesh's own slices."""
    parts = trimesh.intersections.mesh_plane(loaded(mesh), [0, 0, 1], [0, 0, z])
    lines = shapely.set_precision(shapely.linestrings(np.round(parts[:, :, :2], 6)), 0)
    rings = shapely.get_parts(shapely.polygonize(lines))
    return shapely.MultiPolygon([shapely.Polygon(ring.exterior) for ring in rings])


# the other libraries' readings: lines in the body's frame, mm


def by_ezdxf(name, layer):
    """Chains of a layer of a DXF drawn with the neck up, so x runs down and y to the right."""
    document = ezdxf.readfile(OUTLINES / f"{name}.dxf")
    scale = {1: 25.4, 4: 1.0}[document.header["$INSUNITS"]]
    chains = []
    for entity in document.modelspace():
        if entity.dxf.layer.lower() != layer:
            continue
        inner = entity.virtual_entities() if entity.dxftype() == "INSERT" else [entity]
        for one in inner:
            flat = ezdxf.path.make_path(one).flattening(READ / scale)
            page = np.array([[point.x, point.y] for point in flat]) * scale
            chains.append(np.stack([-page[:, 1], page[:, 0]], 1))
    return chains


def by_svgelements(name, wanted, laid):
    """Points of the paths of an SVG whose ids are given, by places on the page in mm."""
    drawing = svgelements.SVG.parse(OUTLINES / f"{name}.svg", ppi=25.4, reify=False)
    chains = []
    for element in drawing.elements():
        if isinstance(element, svgelements.Shape) and element.id in wanted:
            path = svgelements.Path(element)
            many = np.linspace(0, 1, 60)
            # svgelements' own evaluation of each segment, then its own matrix
            points = [
                path.transform.point_in_matrix_space(segment.point(t))
                for segment in svgelements.Path(path.d(transformed=False))
                if not isinstance(segment, svgelements.Move)
                for t in many
            ]
            chains.append(laid(np.array([[float(p.x), float(p.y)] for p in points])))
    return chains


def dotterel_laid(page):
    return np.stack([page[:, 1] - 40.0, page[:, 0] - 190.0], 1)


def bittern_laid(page):
    """Its neck is to the right on the page, which counts y downward."""
    return np.stack([540.0 - page[:, 0], 240.0 - page[:, 1]], 1)


OUTSIDE = {
    "dotterel": lambda: by_svgelements("dotterel", ["rim"], dotterel_laid),
    "bittern": lambda: by_svgelements("bittern", ["rim"], bittern_laid),
    "merlin": lambda: by_ezdxf("merlin", "body"),
    "lapwing": lambda: by_ezdxf("lapwing", "body"),
    "wigeon": lambda: by_ezdxf("wigeon", "rim"),
}


@pytest.fixture(scope="module", params=OUTSIDE)
def body(request):
    """A body of each drawing, with the name of the drawing."""
    design = load(EXAMPLES / f"{request.param}.toml")
    (part,) = make(design, CHORD, only=["body"]).parts
    return request.param, part


def test_the_meshs_outline_is_the_drawings_within_the_chord_error(body):
    name, part = body
    drawn = shapely.MultiLineString(OUTSIDE[name]())
    found = level(part.mesh, 0.7 - part.shape.thickness)
    cut = shapely.LinearRing(max(found.geoms, key=lambda one: one.area).exterior)
    assert part.chord_error <= CHORD
    # flattened at READ, and placed by the drawing's three decimals
    allowed = part.chord_error + 2 * READ
    for one, other in ((cut, drawn), (drawn, cut)):
        places = shapely.points(shapely.get_coordinates(shapely.segmentize(one, 1.0)))
        shapely.prepare(other)
        assert shapely.distance(other, places).max() < allowed
    if name != "wigeon":  # of loose lines, which have no area together
        (chain,) = OUTSIDE[name]()
        area = shapely.Polygon(chain).area
        assert shapely.Polygon(cut).area == pytest.approx(area, abs=allowed * cut.length)


def test_it_is_watertight_and_its_volume_is_the_shapes(body):
    name, part = body
    mesh = loaded(as_written(part.mesh))
    assert soundness(as_written(part.mesh)).sound
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(part.integral, abs=1.2 * CHORD * mesh.area), name


@pytest.mark.parametrize(
    ("name", "layer", "cuts", "depth"),
    [
        ("merlin", "pickups", ["pickup 1", "pickup 2"], 19.0),
        ("merlin", "jack", ["jack"], 30.0),
        ("lapwing", "pickups", ["pickup 1", "pickup 2"], 0.75 * 25.4),
    ],
)
def test_a_layer_is_cut_where_it_was_drawn_and_as_deep_as_asked(name, layer, cuts, depth):
    (part,) = make(without_wires(name), CHORD, only=["body"]).parts
    drawn = sorted((shapely.Polygon(chain) for chain in by_ezdxf(name, layer)), key=_middle)
    assert len(drawn) == len(cuts)
    taken = {cut.name: cut for cut in part.shape.cuts}
    for cut, ground in zip(cuts, drawn, strict=True):
        surface = part.mesh.only(surface_of(taken[cut]))
        floor = loaded(surface)
        level = np.abs(floor.face_normals[:, 2]) > 0.99
        assert surface.corners[level][..., 2] == pytest.approx(-depth)
        assert floor.area_faces[level].sum() == pytest.approx(
            ground.area, abs=CHORD * ground.length
        )
        rim = shapely.points(surface.points[:, :2])
        assert shapely.distance(ground.exterior, rim).max() < 3 * READ


def _middle(ground):
    return ground.centroid.x


def test_the_neck_pocket_runs_out_over_the_edge():
    (part,) = make(without_wires("dotterel"), CHORD, only=["body"]).parts
    (ground,) = by_svgelements("dotterel", ["tenon"], dotterel_laid)
    (rim,) = OUTSIDE["dotterel"]()
    inside = shapely.Polygon(ground).intersection(shapely.Polygon(rim))
    assert inside.area < shapely.Polygon(ground).area - 100  # it does run out
    top = loaded(part.mesh.only(TOP)).area
    others = sum(cut.polygon.area for cut in part.shape.cuts if cut.name.startswith("pickup"))
    expected = shapely.Polygon(rim).area - inside.area - others
    assert top == pytest.approx(expected, abs=CHORD * 2500)


# drawings made up for the purpose


def svg(*layers):
    """An SVG in mm of layers, each a name and paths; the neck is up, the centre line at x = 0.

    That is 450 mm from the page's left edge.
    """
    groups = "".join(f'<g id="{name}">{"".join(paths)}</g>' for name, paths in layers)
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" '
        f'viewBox="-450 -100 900 900">{groups}</svg>'
    ).encode()


def path(d):
    return f'<path d="{d}"/>'


BLOCK = path("M -150 0 H 150 V 380 H -150 Z")
"""380 mm long, 300 mm wide."""


def pocket(**keys):
    whole = {"name": "p", "shape": "drawing", "layer": "p", "depth": 20.0, **keys}
    return {name: value for name, value in whole.items() if value is not None}


def drawn(design, data, *pockets, **keys):
    """The design with a body by a made-up drawing, and the pockets."""
    file = DrawingFile("made-up.svg", data, read_drawing(data))
    outline = {"file": file, "layer": "body", "centre_at": 450.0, "length": 380.0, **keys}
    changes = {"body.outline": outline, "body.pockets": list(pockets), "body.bores": []}
    return with_values(design, {**changes, "body.thickness": 44.0, "body.blank": None})


@pytest.fixture(scope="module")
def linnet():
    return load(EXAMPLES / "linnet.toml")


CIRCLES = [
    '<circle cx="40" cy="120" r="9"/>',
    # four cubics, as drawing programs write a circle; 0.2733 permille of the radius off
    path(
        "M 49 120 C 49 124.97056 44.97056 129 40 129 C 35.02944 129 31 124.97056 31 120 "
        "C 31 115.02944 35.02944 111 40 111 C 44.97056 111 49 115.02944 49 120 Z"
    ),
    path("M 49 120 A 9 9 0 0 1 31 120 A 9 9 0 0 1 49 120 Z"),
]


@pytest.mark.parametrize("circle", CIRCLES)
def test_a_drawn_circle_is_a_circle_in_the_drawings_of_the_body(linnet, circle, tmp_path):
    design = drawn(linnet, svg(("body", [BLOCK]), ("p", [circle])), pocket(depth="through"))
    (cut,) = shape_of(BODY, design).cuts
    assert cut.plan.circle == pytest.approx((120, 40, 9), abs=0.003)
    (part,) = make(design, CHORD, only=["body"]).parts
    (found,) = outbound_outlines(design, part)["from-above"].circles
    assert (found.x, found.y, found.radius) == pytest.approx((120, 40, 9), abs=0.003)


@pytest.mark.parametrize(
    "nearly",
    [
        '<ellipse cx="40" cy="120" rx="9" ry="9.03"/>',
        path("M 49 120 A 9 9 0 0 1 31 120 L 31 119.9 A 9 9 0 0 1 49 119.9 Z"),
    ],
)
def test_what_is_not_quite_a_circle_stays_what_it_is(linnet, nearly):
    design = drawn(linnet, svg(("body", [BLOCK]), ("p", [nearly])), pocket())
    (cut,) = shape_of(BODY, design).cuts
    assert cut.plan.circle is None


def test_the_map_has_the_depth_of_a_drawn_pocket_and_nothing_beside_it(linnet):
    shape = path("M -60 100 C -60 60 60 60 60 100 L 60 200 Q 0 260 -60 200 Z")
    design = drawn(linnet, svg(("body", [BLOCK]), ("p", [shape])), pocket(depth=20.0))
    values, _ = wood_grid(shape_of(BODY, design), 2.0)
    area = 120 * 100 + _bezier_area()
    pocket_cells = np.isclose(values, 24.0).sum() * 4.0
    assert pocket_cells == pytest.approx(area, rel=0.01)
    assert np.isclose(values, 44.0).sum() * 4.0 == pytest.approx(380 * 300 - area, rel=0.01)


def _bezier_area():
    """Beyond the rectangle's two ends, by svgelements' points and shapely."""
    above = svgelements.Path("M -60 100 C -60 60 60 60 60 100 Z")
    below = svgelements.Path("M 60 200 Q 0 260 -60 200 Z")
    return sum(
        shapely.Polygon([(p.x, p.y) for p in map(one.point, np.linspace(0, 1, 4001))]).area
        for one in (above, below)
    )


def test_a_left_handed_drawing_comes_out_as_it_was_drawn_and_a_right_handed_one_mirrored(linnet):
    left = svg(("body", [BLOCK]), ("p", [path("M 20 100 H 80 V 150 H 20 Z")]))
    for hand, side in (("left", 1.0), ("right", -1.0)):
        design = drawn(linnet, left, pocket(), handed=hand)
        design = with_values(design, {"handed": "left"})
        (part,) = make(design, CHORD, only=["body"]).parts
        mesh = outbound_mesh(design, part)
        y = mesh.only(surface_of(part.shape.cuts[0])).points[:, 1]
        # seen from the front with the neck up the page's right is where y grows
        assert sorted(side * y)[0] == pytest.approx(20, abs=1e-3)
        assert sorted(side * y)[-1] == pytest.approx(80, abs=1e-3)


def test_a_left_handed_design_must_say_whose_hand_its_drawing_is_for(linnet):
    data = svg(("body", [BLOCK]), ("p", [CIRCLES[0]]))
    with pytest.raises(DesignError, match=r"^body\.outline\.handed: missing; the instrument is l"):
        with_values(drawn(linnet, data, pocket()), {"handed": "left"})


SQUARE = path("M 20 100 H 80 V 150 H 20 Z")
WRONG = [
    # layers of the drawing, keys of the pocket, what is said
    ([("p", [SQUARE])], {"layer": "q"}, '.layer: no layer "q" in the drawing; there are'),
    ([("p", [path("M 20 100 H 80 V 150 H 20")])], {}, '.layer: layer "p" is open at x 470 mm'),
    ([("p", [SQUARE, path("M 30 110 H 70 V 140 H 30 Z")])], {}, "lies within or upon another"),
    ([("p", [SQUARE, path("M 20 100 H 80 V 150.004 H 20 Z")])], {}, "lies within or upon another"),
    ([("p", [path("M 400 100 H 430 V 150 H 400 Z")])], {}, "lies outside the outline"),
    ([("p", [path("M 100 100 H 160 V 150 H 100 Z")])], {}, "p runs 10 mm out of the outline"),
    ([("p", [path("M 20 100 L 80 150 H 20 L 80 100 Z")])], {}, "crosses or touches itself at"),
    ([("p", [path("M 20 100 h 0.4 v 0.4 h -0.4 Z")])], {}, "one from 1 mm to 2000 mm long"),
    ([("p", [SQUARE, path("M 20 200 H 80 V 250 H 20 Z")])], {"kind": "neck"}, "holds 2 closed"),
    ([("p", [])], {}, "holds no lines and no curves"),
    ([("p", [path("M 20 100 h 0.15 v 40 h -0.15 Z")])], {}, "is nowhere wider than 0.2 mm"),
    ([("p", [SQUARE])], {"layer": "body"}, "holds nothing but the outline"),
    ([("p", [SQUARE])], {"layer": None}, '.layer: missing; body.pockets[0].shape is "drawing"'),
    ([("p", [SQUARE])], {"shape": "circle", "diameter": 9.0}, ".layer: not allowed where"),
    ([("p", [SQUARE])], {"x": 3.0}, '.x: not allowed where body.pockets[0].shape is "drawing"'),
    ([("p", [SQUARE])], {"corner_radius": 3.0}, ".corner_radius: not allowed where"),
    ([("p", [SQUARE])], {"depth": 44.0}, ".depth: 44 mm is not allowed in a body of 44 mm"),
]


@pytest.mark.parametrize(("layers", "keys", "said"), WRONG)
def test_what_is_wrong_with_a_drawn_pocket_is_one_sentence(linnet, layers, keys, said):
    with pytest.raises(DesignError) as caught:
        shape_of(BODY, drawn(linnet, svg(("body", [BLOCK]), *layers), pocket(**keys)))
    (problem,) = caught.value.problems
    assert problem.startswith("body.pockets[0]")
    assert said in problem
    assert len(problem) < 250


def test_a_drawn_pocket_needs_a_drawing_and_a_name_of_its_own(linnet):
    with pytest.raises(DesignError, match=r'^body\.pockets\[0\]\.shape: "drawing" needs an out'):
        with_values(linnet, {"body.pockets": [pocket()]})
    two = [SQUARE, path("M 20 200 H 80 V 250 H 20 Z")]
    other = {"name": "p 2", "shape": "circle", "x": 300.0, "diameter": 9.0, "depth": 5.0}
    with pytest.raises(DesignError, match=r'body\.pockets\[1\]\.name: "p 2" is what one of body'):
        shape_of(BODY, drawn(linnet, svg(("body", [BLOCK]), ("p", two)), pocket(), other))


def test_curves_of_a_layer_are_numbered_from_the_neck_to_the_tail(linnet):
    far, near = path("M 20 250 H 80 V 290 H 20 Z"), path("M 20 100 H 80 V 150 H 20 Z")
    shape = shape_of(BODY, drawn(linnet, svg(("body", [BLOCK]), ("p", [far, near])), pocket()))
    assert [(cut.name, round(cut.polygon.bounds[0])) for cut in shape.cuts] == [
        ("p 1", 100),
        ("p 2", 250),
    ]


# as many kinds of curves as drawing programs write


def blob(rng, number, x, y, size):
    """A smooth closed path of cubics around (x, y) on the page."""
    turn = (np.arange(number) + 0.5 * rng.uniform(0, 1, number)) / number * 2 * np.pi
    out = size * rng.uniform(0.6, 1.0, number)
    points = np.stack([x + out * np.cos(turn), y + out * np.sin(turn)], 1)
    ways = (np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)) / 6
    text = f"M {points[0][0]:.4f} {points[0][1]:.4f}"
    for n in range(number):
        m = (n + 1) % number
        a, b, c = points[n] + ways[n], points[m] - ways[m], points[m]
        text += " C " + " ".join(f"{v:.4f}" for p in (a, b, c) for v in p)
    return path(text + " Z")


def crowded(rng, number, x, y, size):
    """A polygon with many needless points: in a line, nearly upon one another, upon one another."""
    corners = [(x - size, y - size), (x + size, y - size), (x + size, y + size), (x, y + size / 2)]
    text = f"M {corners[0][0]:.6f} {corners[0][1]:.6f}"
    for n, (ax, ay) in enumerate(corners):
        bx, by = corners[(n + 1) % 4]
        for share in np.sort(rng.uniform(0, 1, number)):
            tiny = 10.0 ** rng.uniform(-8, -1)
            px, py = ax + (bx - ax) * share, ay + (by - ay) * share
            qx, qy = px + (bx - ax) * tiny / 300, py + (by - ay) * tiny / 300
            text += f" L {px:.6f} {py:.6f} L {qx:.6f} {qy:.6f}"
        text += f" L {bx:.6f} {by:.6f}"
    return path(text + " Z")


def arcs(rng, number, x, y, size):
    """A slot of lines and arcs, turned."""
    turn = rng.uniform(0, 180)
    half, r = 0.6 * size, 0.4 * size
    d = f"M {-half} {-r} H {half} A {r} {r} 0 0 1 {half} {r} H {-half} A {r} {r} 0 0 1 {-half} {-r}"
    return f'<path transform="translate({x} {y}) rotate({turn})" d="{d} Z"/>'


KINDS = (blob, crowded, arcs)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    seed=st.integers(0, 10**6),
    number=st.integers(3, 9),
    chord=st.sampled_from([0.3, 0.08, 0.02]),
    faces=st.lists(st.sampled_from(["front", "back", "through"]), min_size=1, max_size=3),
    outline=st.sampled_from([0, 1]),
    apart=st.sampled_from([0.0, 20.0, 80.0]),
)
@example(seed=0, number=9, chord=0.02, faces=["front", "back", "through"], outline=1, apart=80.0)
def test_any_drawing_is_a_sound_body(linnet, seed, number, chord, faces, outline, apart):
    rng = np.random.default_rng(seed)
    rim = BLOCK if outline == 0 else blob(rng, 4 + number, 0, 190, 210)
    layers = [("body", [rim])]
    pockets = []
    for n, face in enumerate(faces):
        holes = [
            KINDS[int(rng.integers(3))](
                rng, number, x, 110 + apart * n, 0.5 + 24 * rng.uniform(0, 1)
            )
            for x in (-35.0, 35.0)
        ]
        layers.append((f"p{n}", holes))
        depth = "through" if face == "through" else float(rng.uniform(5, 38))
        where = {} if face == "through" else {"face": face}
        pockets.append(pocket(name=f"n{n}", layer=f"p{n}", depth=depth, **where))
    data = svg(*layers)
    _, top, _, bottom = svgelements.Path(rim.split('"')[1]).bbox()
    length = bottom - top
    try:
        design = drawn(linnet, data, *pockets, length=length)
        (part,) = make(design, chord, only=["body"]).parts
    except DesignError as error:
        assert all(": " in problem and len(problem) < 300 for problem in error.problems)  # noqa: PT017
        return
    mesh = loaded(as_written(part.mesh))
    assert soundness(as_written(part.mesh)).sound
    assert mesh.is_watertight
    assert part.chord_error <= chord
    assert mesh.volume == pytest.approx(part.integral, abs=1.2 * chord * mesh.area + 20)
    assert {TOP, BACK} <= set(part.mesh.names)


@pytest.mark.parametrize("face", ["front", "back"])
@pytest.mark.parametrize(
    "other",
    [
        SQUARE,
        path("M 20 100 H 80 V 200 H 20 Z"),
        path("M 30 100 H 70 V 150 H 30 Z"),
        path("M 20 100 H 80 V 150 C 80 190 20 190 20 150 Z"),
    ],
)
def test_pockets_of_two_layers_may_share_walls(linnet, other, face):
    # as a cover's recess shares them with the bay under it; volume by shapely's areas
    data = svg(("body", [BLOCK]), ("p", [SQUARE]), ("q", [other]))
    depth = 10.0 if face == "front" else 30.0
    second = pocket(name="q", layer="q", depth=depth, face=face)
    (part,) = make(drawn(linnet, data, pocket(), second), 0.02, only=["body"]).parts
    assert soundness(as_written(part.mesh)).sound
    one, two = (cut.polygon for cut in part.shape.cuts)
    shared = one.intersection(two).area
    taken = 20.0 * one.area + (10.0 if face == "front" else 30.0) * two.area
    taken -= shared * (10.0 if face == "front" else 20.0 + 30.0 - 44.0)
    assert loaded(part.mesh).volume == pytest.approx(380 * 300 * 44 - taken, abs=25.0)
