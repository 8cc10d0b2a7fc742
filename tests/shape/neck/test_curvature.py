"""Curvature along the neck's lines, against scipy's derivatives and circles by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import BPoly

from carve.check.neck.smoothness import worst_jump
from carve.design import load, with_values
from carve.errors import DesignError
from carve.parts.job import shape_of
from carve.parts.neck import NECK
from carve.shape.neck.curvature import curvatures

HEADED = ["siskin", "wheatear", "dunlin"]
ALL = [*HEADED, "wren", "heron", "plover", "kite"]


def example(request, name):
    return load(request.config.rootpath / "examples" / f"{name}.toml")


@pytest.fixture(params=ALL)
def shape(request):
    return shape_of(NECK, example(request, request.param))


@pytest.fixture(params=HEADED)
def headed(request):
    return shape_of(NECK, example(request, request.param))


def one_sided(curve: BPoly, at: float) -> tuple[float, float]:
    """Curvature just before and just after a knot, from scipy's derivatives of each piece."""
    k = int(np.argmin(np.abs(curve.x - at)))
    found = []
    for piece in (k - 1, k):
        alone = BPoly(curve.c[:, piece : piece + 1], curve.x[piece : piece + 2])
        slope, bend = (float(alone.derivative(order)(at)) for order in (1, 2))
        found.append(bend / (1 + slope**2) ** 1.5)
    return found[0], found[1]


def test_no_curvature_jumps_on_any_example(shape):
    name, x, most, count = worst_jump(curvatures(shape))
    assert count == 0, f"{name} at {x}: {most}"


def test_at_every_break_scipys_one_sided_curvatures_agree(shape):
    # an independent road to the same claim: each piece's own analytic derivatives
    looked_at = 0
    for curve in (shape.depth_curve, shape.squared, *shape.edges):
        for at in curve.x[1:-1]:
            before, after = one_sided(curve, float(at))
            assert before == pytest.approx(after, abs=1e-9)
            looked_at += 1
    assert looked_at >= 2


def test_the_keels_curvature_is_scipys(headed):
    keel = curvatures(headed)[0]
    volute = headed.volute
    for x, found in zip(keel.x[1:], keel.values[1:], strict=True):
        x, found = x[1:-1], found[1:-1]
        slope, bend = (headed.depth_curve.derivative(order)(x) for order in (1, 2))
        if volute is not None:
            # (1 - s^2)^3 differentiated by hand: 6 (1 - s^2) (5 s^2 - 1) / a^2
            a = volute.length / 2
            s = np.clip((x - volute.middle) / a, -1, 1)
            slope = slope - 6 * volute.height * s * (1 - s**2) ** 2 / a
            bend = bend + 6 * volute.height * (1 - s**2) * (5 * s**2 - 1) / a**2
        assert found == pytest.approx(-bend / (1 + slope**2) ** 1.5, abs=1e-8)


def test_a_line_between_is_as_curved_as_circles_through_its_points(headed):
    # the circle through three near points: 4 area / (product of sides); any geometry text
    lines = {line.name: line for line in curvatures(headed)}
    name = next(name for name in lines if name.startswith("0.5") and "treble" not in name)
    x = lines[name].x.ravel()
    inside = x[(np.abs(x[:, None] - headed.breaks()).min(axis=1) > 0.6)]
    for at in inside[::9]:
        near = at + np.array([-0.2, 0.0, 0.2])
        a, b, c = np.stack([near, headed.surface(near, np.array([-0.5]))[:, 0, 2]], 1)
        sides = np.prod([np.linalg.norm(p - q) for p, q in ((a, b), (b, c), (c, a))])
        doubled = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        found = float(np.interp(at, x, lines[name].values.ravel()))
        assert found == pytest.approx(2 * doubled / sides, abs=2e-4)


def turns(line, low, high):
    """How often curvature turns between two places, and how often it changes its sign."""
    x, values = line.x.ravel(), line.values.ravel()
    values = values[(x >= low - 1e-6) & (x <= high + 1e-6)]
    most = np.abs(values).max()
    steps = np.diff(values)
    steps, bent = steps[np.abs(steps) > 1e-4 * most], values[np.abs(values) > 1e-3 * most]
    return tuple(int((np.diff(np.sign(v)) != 0).sum()) for v in (steps, bent))


def test_no_blend_wiggles(headed):
    # what an S needs: out of one line, into another beside it: curvature turns twice and
    # changes its sign once; a volute (up, over its crest, down) adds a sign and two turns
    keel, edge = curvatures(headed)[:2]
    swollen = headed.volute is not None
    found, signs = turns(keel, headed.start, 0.0)
    assert (found, signs) == (2, 1) or (swollen and found <= 4 and signs <= 2)
    assert turns(keel, headed.heel.blend, headed.heel.start) == (2, 1)
    run_out = max(x for x in headed.edges[0].x if x < 0)
    assert turns(edge, run_out, 0.0) == (2, 1)


def test_a_blend_that_only_turns_bends_one_way(request):
    # shaft and tilted back that cross behind the nut: one arc, one turn, no change of sign
    wheatear = example(request, "wheatear")
    changed = with_values(
        wheatear,
        {"neck.headstock.volute": None, "neck.headstock.thickness": 12.0, "neck.headstock.seat": 0}
        | {"neck.headstock.blend_radius": 60.0, "neck.truss_rod.access": None},
    )
    shape = shape_of(NECK, changed)
    # by hand: the back begins 12 / cos 13 = 12.32 mm deep at the nut and falls by tan 13 a mm;
    # it reaches the shaft's depth there this far behind the nut
    crossing = (float(shape.depth_curve(0.0)) - 12.316) / 0.23087
    assert crossing == pytest.approx(13, abs=1.5)
    keel = curvatures(shape)[0]
    values = keel.values[1:][keel.x[1:, -1] <= 0]
    assert values.min() > -1e-9 or values.max() < 1e-9
    assert np.abs(values).max() == pytest.approx(1 / 60, rel=1e-3)


def test_a_jump_is_found(headed):
    # 0.001 x^2 added to the first piece of the heel's blend, in Bernstein's form
    # (k (k - 1) / 20 for a quintic): its curvature begins 0.002 per mm off
    knots, c = headed.depth_curve.x, headed.depth_curve.c.copy()
    piece = int(np.argmin(np.abs(knots - headed.heel.blend)))
    long = knots[piece + 1] - knots[piece]
    c[:, piece] += 0.001 * long**2 * np.array([0, 0, 0.1, 0.3, 0.6, 1.0])
    bent = replace(headed, depth_curve=BPoly(c, knots))
    x, jumps = curvatures(bent)[0].jumps()
    at_blend = np.abs(x - headed.heel.blend) < 1e-6
    assert jumps[at_blend] == pytest.approx(0.002, abs=1e-5)
    assert worst_jump(curvatures(bent))[3] > 0


shares = st.floats(0, 1)


@settings(max_examples=25, deadline=None)
@given(
    shoulder=shares,
    keel=shares,
    thickness=st.floats(18.5, 26),
    radius=st.floats(10, 90),
    blend=st.floats(10, 60),
    depth=st.floats(14, 40),
)
def test_no_curvature_jumps_whatever_the_dials_say(
    request, shoulder, keel, thickness, radius, blend, depth
):
    for name in HEADED:
        changes = {
            "neck.stations[0].shape": {"shoulder": shoulder, "keel": keel},
            "neck.stations[0].thickness": thickness,
            "neck.headstock.blend_radius": radius,
            "neck.heel.blend": blend,
            "neck.heel.depth": depth,
        }
        try:
            shape = shape_of(NECK, with_values(example(request, name), changes))
        except DesignError:
            continue
        assert worst_jump(curvatures(shape))[3] == 0
