"""A headstock of its builder's own outline: on the mesh as drawn, and in sentences where not.

The outside of it all is shapely, which knows nothing of headstocks: distances between the drawn
line and a section that trimesh takes through the mesh.
"""

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh

from carve.check.finding import Verdict
from carve.check.report import inspect
from carve.design import Design, load, with_values
from carve.errors import DesignError
from carve.parts.job import make, shape_of
from carve.parts.neck import NECK
from carve.shape.neck.headstock.drawn import DrawnPlan
from carve.shape.neck.shape import NeckShape
from carve.shape.outlines.placed import behind_nut, placed
from carve.shape.planar.outline import polygon

OUZEL = Path(__file__).parents[4] / "examples" / "ouzel.toml"
CHORD = 0.02

# a paddle with a hooked tip: no function of x beyond 100 mm behind the nut
PADDLE = [
    *((0.0, -22.0), (20.0, -24.0), (40.0, -36.0), (90.0, -34.0), (150.0, -40.0), (190.0, -44.0)),
    *((205.0, -20.0), (190.0, -8.0), (170.0, -4.0), (172.0, 6.0), (200.0, 12.0), (185.0, 36.0)),
    *((150.0, 40.0), (90.0, 34.0), (40.0, 36.0), (20.0, 24.0), (0.0, 22.0)),
]


@pytest.fixture(scope="module")
def ouzel() -> Design:
    return load(OUZEL)


def drawn(design: Design, points: list[tuple[float, float]], **more: object) -> Design:
    head = {"points": [list(point) for point in points], **more}
    return with_values(design, {"neck.headstock.drawn": head, "neck.headstock.tuners": []})


def asked(design: Design) -> shapely.Polygon:
    """The outline laid flat behind the nut, shortened by the tilt as seen from above."""
    head = design.neck.headstock
    curve = behind_nut(placed(head.drawn, "headstock").outline)
    return shapely.Polygon(polygon(curve, 1e-3) * [math.cos(math.radians(head.tilt)), 1.0])


def cut_of(design: Design, level: float) -> shapely.Geometry:
    """A section of the mesh square to z, tuner holes filled."""
    part = make(design, CHORD, only=["neck"]).parts[0]
    mesh = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    assert mesh.is_watertight
    lines = trimesh.intersections.mesh_plane(mesh, [0, 0, 1.0], [0, 0, level])[:, :, :2]
    noded = shapely.set_precision(shapely.multilinestrings(shapely.linestrings(lines)), 1e-7)
    return shapely.union_all([shapely.Polygon(p.exterior) for p in _polygons(noded)])


def _polygons(noded: shapely.Geometry) -> list[shapely.Polygon]:
    return list(shapely.polygonize(shapely.get_parts(noded)).geoms)


def test_the_mesh_has_the_drawn_outline_beyond_the_blend(ouzel: Design) -> None:
    flat = with_values(ouzel, {"neck.headstock.tilt": 0.0, "neck.headstock.joint": "one piece"})
    section = cut_of(flat, -6.0)
    join = shape_of(NECK, flat).head.drawn.join
    beyond = shapely.box(-400, -100, join - 1, 100)
    apart = shapely.hausdorff_distance(
        section.intersection(beyond).exterior, asked(flat).intersection(beyond).exterior, 0.05
    )
    assert apart <= CHORD + 2e-3


@pytest.mark.parametrize("transition", [15.0, 30.0, 60.0, 90.0])
@pytest.mark.parametrize("flare", [8.0, 24.0, 70.0])
def test_however_far_the_back_stays_round_the_sides_are_the_drawn_ones(
    ouzel: Design, transition: float, flare: float
) -> None:
    design = with_values(
        ouzel,
        {
            "neck.headstock.transition": transition,
            "neck.headstock.drawn.flare": flare,
            "neck.headstock.tuners": [],
        },
    )
    shape = shape_of(NECK, design)
    assert isinstance(shape.head.drawn, DrawnPlan)
    outline = asked(design)
    x = np.linspace(shape.start, shape.head.drawn.join, 40)
    if shape.start < shape.head.drawn.join:
        for side, sign in ((shape.head.bass, -1.0), (shape.head.treble, 1.0)):
            points = shapely.points(x, sign * side(x))
            assert shapely.distance(outline.exterior, points).max() < 0.02
    findings = inspect(make(design, CHORD, only=["neck"]))
    jumps = [one for one in findings if one.check == "jumps of curvature"]
    assert [one.verdict for one in jumps] == [Verdict.GOOD]
    assert all(one.verdict is Verdict.GOOD for one in findings if "mesh" in one.check)


@pytest.mark.parametrize("tilt", [0.0, 12.0])
def test_a_hooked_tip_is_closed_and_has_its_volume(ouzel: Design, tilt: float) -> None:
    changes = {"neck.headstock.tilt": tilt, "neck.headstock.joint": "one piece"}
    design = with_values(drawn(ouzel, PADDLE, smooth=True), changes)
    part = make(design, 0.01, only=["neck"]).parts[0]
    mesh = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    assert mesh.is_watertight
    assert isinstance(part.shape, NeckShape)
    assert mesh.volume == pytest.approx(part.integral, rel=1e-4)


def test_points_with_corners_are_followed_to_the_corner(ouzel: Design) -> None:
    square = [(0.0, -21.0), (30.0, -36.0), (180.0, -36.0), (180.0, 36.0), (30.0, 36.0), (0.0, 21.0)]
    design = drawn(ouzel, square, flare=34.0)
    section = cut_of(with_values(design, {"neck.headstock.tilt": 0.0, **ONE_PIECE}), -6.0)
    corner = shapely.Point(-180.0, 36.0)
    assert section.exterior.distance(corner) < 1e-4


ONE_PIECE = {"neck.headstock.joint": "one piece"}


@pytest.mark.parametrize(
    ("points", "more", "said"),
    [
        # a corner where the back is still round
        (
            [(0, -21), (26, -30), (30, -40), (180, -36), (180, 36), (30, 40), (26, 30), (0, 21)],
            {"flare": 10.0},
            "has a corner near",
        ),
        # a shoulder straight across
        (
            [
                (0, -21),
                (24, -21),
                (24.2, -45),
                (180, -36),
                (180, 36),
                (24.2, 45),
                (24, 21),
                (0, 21),
            ],
            {"flare": 24.1},
            "runs across the neck",
        ),
        # horns that come back over the blend
        (
            [(0, -21), (40, -25), (20, -40), (180, -40), (180, 40), (20, 40), (40, 25), (0, 21)],
            {"flare": 30.0},
            "has no single",
        ),
        # crossing itself
        ([(0, -21), (180, 36), (180, -36), (0, 21)], {}, "cross"),
        # shorter than its blends
        ([(0, -21), (36, -36), (36, 36), (0, 21)], {}, "before its tip"),
    ],
)
def test_what_cannot_be_made_is_said_in_one_sentence(
    ouzel: Design, points: list[tuple[float, float]], more: dict[str, object], said: str
) -> None:
    with pytest.raises(DesignError) as caught:
        make(drawn(ouzel, points, **more), CHORD, only=["neck"])
    (sentence,) = caught.value.problems
    assert sentence.startswith("neck.headstock.")
    assert said in sentence


def test_measures_and_a_drawing_exclude_each_other(ouzel: Design) -> None:
    outline = {"length": 180.0, "width": 80.0, "end_width": 70.0}
    with pytest.raises(DesignError, match="not allowed beside neck"):
        with_values(ouzel, {"neck.headstock.outline": outline})
    with pytest.raises(DesignError, match="or your own outline"):
        with_values(ouzel, {"neck.headstock.drawn": None})
