"""The carved heel against hand trigonometry, shapely and scipy, and the shaft left alone by it."""

import numpy as np
import pytest
import shapely
from scipy.interpolate import KroghInterpolator
from shapely import LineString, Polygon

from carve.design import load, with_values
from carve.errors import DesignError
from carve.parts.sentences.said import in_sentences
from carve.shape.neck.build import neck_shape

BUTT = {"neck.heel.tongue": None, "neck.heel_end": 352.0, "joint.pocket_width": None}


def shape_of(design):
    with in_sentences(design.units):
        return neck_shape(design.neck, design.scale_length, design.fretboard.thickness)


def from_either_side(line, x, order, step=1.0, points=9):
    """A derivative of a line at x by polynomials through its points just before and just after.

    reference: scipy's Krogh interpolation, which knows nothing of the pieces of the curve.
    """
    found = []
    for way in (-1, 1):
        at = x + way * step * (np.arange(points) + 1e-9)
        found.append(KroghInterpolator(at, line(at)).derivative(x, order))
    return found


@pytest.fixture(scope="module")
def redstart(request):
    return load(request.config.rootpath / "examples" / "redstart.toml")


def test_the_shaft_before_the_blend_is_that_of_a_neck_without_heel(redstart):
    bare = redstart.model_copy(
        update={"neck": redstart.neck.model_copy(update={"heel": None}), "joint": None}
    )
    shape, plain = shape_of(redstart), shape_of(bare)
    x, t = np.linspace(0, shape.heel.blend, 60), np.linspace(-1, 1, 41)
    assert shape.surface(x, t) == pytest.approx(plain.surface(x, t), abs=1e-12)


def test_the_sections_at_the_stations_are_exactly_as_asked(redstart):
    shape = shape_of(redstart)
    asked = [station.thickness for station in redstart.neck.stations]
    assert shape.thickness(shape.stations) == pytest.approx(asked, abs=1e-12)


def test_the_cap_begins_and_ends_where_asked(redstart):
    # by hand: the body's edge is 382 - 30 = 352 mm from the nut, the cap is 15 mm long
    shape = shape_of(redstart)
    assert shape.heel.start == pytest.approx(352.0)
    x = np.array([336.9, 337.0, 345.0, 351.9])
    depth = shape.depth(x)
    assert depth[0] < 84.0 - 0.2
    assert depth[1:] == pytest.approx(84.0)


@pytest.mark.parametrize(("length", "width"), [(15.0, 30.0), (6.0, 16.0), (25.0, 40.0)])
@pytest.mark.parametrize("flank", [-1.0, 0.0, 1.0])
def test_the_cap_is_as_wide_as_asked_at_the_bodys_edge(redstart, length, width, flank):
    # shapely: the section at the edge, not yet cut, level with the cap
    changes = {"neck.heel.cap_length": length, "neck.heel.cap_width": width}
    shape = shape_of(with_values(redstart, {**BUTT, **changes, "neck.heel.flank": flank}))
    edge = np.array([np.nextafter(shape.heel.start, 0)])
    section = Polygon(shape.surface(edge, np.linspace(-1, 1, 4001))[0, :, 1:])
    level = section.intersection(LineString([(-99, -84), (99, -84)]))
    assert level.length == pytest.approx(width, abs=2e-3)


def test_slope_and_curvature_of_the_keel_run_on_at_blend_and_cap(redstart):
    shape = shape_of(redstart)
    cap, keel = shape.heel.cap, shape.depth_curve
    for x in (cap.blend, cap.nose):
        before, after = np.nextafter(x, 0), np.nextafter(x, 999)
        for order in (0, 1, 2):
            one, other = (
                keel.derivative(order)(np.array([before, after]))
                if order
                else keel(np.array([before, after]))
            )
            assert one == pytest.approx(other, abs=1e-9)
            mine, theirs = from_either_side(keel, x, order)
            assert mine == pytest.approx(theirs, abs=2e-5)


@pytest.mark.parametrize("t", [-1.0, -0.85, -0.6, -0.3, 0.0, 0.3, 0.6, 0.85, 1.0])
def test_the_flanks_and_the_glue_edge_run_on_with_slope_and_curvature(redstart, t):
    lopsided = {"bass": "D", "treble": {"shoulder": 0.3, "keel": 0.5}}
    shape = shape_of(with_values(redstart, {"neck.stations[1].shape": lopsided}))
    cap = shape.heel.cap
    for x in (cap.blend, cap.nose):
        for axis in (1, 2):
            for order in (0, 1, 2):
                mine, theirs = from_either_side(
                    lambda at, axis=axis: shape.surface(at, np.array([t]))[:, 0, axis], x, order
                )
                assert mine == pytest.approx(theirs, abs=2e-4)


def test_a_lopsided_heel_has_one_curvature_at_its_keel(redstart):
    # k = (y' z'' - z' y'') / |r'|^3, from either side of the keel
    lopsided = {"bass": "U", "treble": "V"}
    shape = shape_of(
        with_values(redstart, {f"neck.stations[{n}].shape": lopsided for n in range(2)})
    )
    x, t = np.linspace(shape.heel.blend, shape.heel.start - 1e-6, 25), np.array([-1e-12, 1e-12])
    first, second = (shape.surface(x, t, order)[..., 1:] for order in (1, 2))
    bend = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    curvature = bend / np.linalg.norm(first, axis=-1) ** 3
    assert curvature[:, 0] == pytest.approx(curvature[:, 1], rel=1e-6)


def test_seen_from_the_side_it_bends_one_way_and_is_steepest_at_the_cap(redstart):
    # by hand: a slope that grows evenly from s0 to s1 over 56 mm goes down (s0 + s1) / 2 * 56 mm
    shape = shape_of(redstart)
    cap, keel = shape.heel.cap, shape.depth_curve
    x = np.linspace(cap.blend, cap.edge - 1e-9, 400)
    assert keel.derivative(2)(x).min() > -1e-9
    start, stop = float(keel.derivative()(cap.blend)), float(keel.derivative()(cap.nose))
    down = 84.0 - float(keel(cap.blend))
    assert (start + stop) / 2 * 56.0 == pytest.approx(down, abs=1e-9)
    assert keel.derivative()(x).max() == pytest.approx(stop, abs=1e-9)
    # and the cap's plane takes off what goes straight on: 15 mm further at that slope
    assert cap.deepest == pytest.approx(84.0 + 15.0 * stop)


def hollow(shape):
    """Greatest distance in mm from any section of the heel to its convex hull."""
    cap = shape.heel.cap
    deepest = 0.0
    for x in np.linspace(cap.blend, np.nextafter(cap.edge, 0), 25):
        section = shape.section(float(x), 201)
        rim = Polygon(section).convex_hull.exterior
        deepest = max(deepest, float(shapely.distance(rim, shapely.points(section)).max()))
    return deepest


@pytest.mark.parametrize("profile", ["V", "C", "D", "U"])
def test_the_flanks_are_as_hollow_as_the_dial_asks_and_never_else(redstart, profile):
    asked = {f"neck.stations[{n}].shape": profile for n in range(2)}
    found = [
        hollow(shape_of(with_values(redstart, {**asked, "neck.heel.flank": flank})))
        for flank in (1.0, 0.0, -0.5, -1.0)
    ]
    assert max(found[:2]) < 1e-4
    assert 0.2 < found[2] < found[3]


def test_a_fuller_flank_leaves_more_wood(redstart):
    areas = [
        Polygon(shape_of(with_values(redstart, {"neck.heel.flank": f})).section(351.0)).area
        for f in (-1.0, -0.5, 0.0, 0.5, 1.0)
    ]
    assert np.diff(areas).min() > 5.0


@pytest.mark.parametrize("flank", [-1.0, 0.0, 1.0])
def test_a_cutter_from_the_back_reaches_all_of_it(redstart, flank):
    # over each point of the plan there is one point of the back: y grows from edge to edge
    shape = shape_of(with_values(redstart, {"neck.heel.flank": flank}))
    x = np.linspace(0.0, np.nextafter(shape.heel.start, 0), 200)
    y = shape.surface(x, np.linspace(-1, 1, 401))[..., 1]
    assert np.diff(y, axis=1).min() >= -1e-9
    slope = shape.depth_curve.derivative()(x)
    assert slope.max() <= 6.0


@pytest.mark.parametrize(
    ("changes", "key", "held"),
    [
        ({**BUTT, "neck.heel.depth": 17.0}, "neck.heel.depth", ["17 mm", "deep"]),
        ({"neck.heel.blend": 15.0}, "neck.heel.blend", ["15 mm", "81°", "at least"]),
        ({"neck.heel.cap_width": 52.0}, "neck.heel.cap_width", ["52 mm", "from", "15 mm"]),
        ({"neck.heel.tongue.width": 40.0}, "neck.heel.tongue.width", ["40 mm", "68 mm", "1 mm"]),
    ],
)
def test_what_finds_no_room_is_one_sentence(redstart, changes, key, held):
    with pytest.raises(DesignError) as caught:
        shape_of(with_values(redstart, {**changes, "joint.pocket_width": None}))
    (sentence,) = caught.value.problems
    assert sentence.startswith(f"{key}: ")
    for part in held:
        assert part in sentence


def test_following_what_the_sentences_say_gives_a_heel(redstart):
    def said(changes):
        with pytest.raises(DesignError) as caught:
            shape_of(with_values(redstart, {**BUTT, **changes}))
        return [float(word) for word in caught.value.problems[0].split() if _number(word)]

    shortest = max(said({"neck.heel.blend": 15.0})[2:])
    shape_of(
        with_values(redstart, {**BUTT, "neck.heel.blend": shortest, "neck.heel.cap_width": 36.0})
    )
    low, high = said({"neck.heel.cap_width": 52.0})[2:4]
    for width in (low + 0.01, high - 0.01):
        shape_of(with_values(redstart, {**BUTT, "neck.heel.cap_width": width}))


def _number(word):
    return word.replace(".", "", 1).isdigit()
