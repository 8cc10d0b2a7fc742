"""What a clip path leaves of a curve, held against shapely's overlay of the same shapes."""

import itertools
import math

import pytest
import shapely
import shapely.affinity
from hypothesis import given
from hypothesis import strategies as st

from carve.design.drawing.clipping import Clip, Effort, clip_of, left_by
from carve.design.values.curve import Piece, Point, straight

SURE = 0.02  # of a size: nearer to the edge than that shapely may see it the other way


def closed(points: list[Point]) -> list[Piece]:
    return list(itertools.starmap(straight, itertools.pairwise([*points, points[0]])))


def polygon(corners: int, size: float, turn: float, x: float, y: float) -> list[Point]:
    angles = [turn + math.tau * n / corners for n in range(corners)]
    return [(x + size * math.cos(angle), y + size * math.sin(angle)) for angle in angles]


SHAPES = st.builds(
    polygon,
    st.integers(3, 9),
    st.floats(1, 50),
    st.floats(0, 7),
    st.floats(-40, 40),
    st.floats(-40, 40),
)


@given(SHAPES, SHAPES)
def test_a_curve_is_left_as_shapely_has_it(curve: list[Point], clip: list[Point]) -> None:
    left, kind = left_by([clip_of("clip path", [[closed(clip)]])], closed(curve), Effort())
    shape, region = shapely.Polygon(curve), shapely.Polygon(clip)
    near = SURE * math.sqrt(shape.area)
    if region.buffer(-near).contains(shape):
        assert left == "all"
    elif region.distance(shape) > near:
        assert (left, kind) == ("nothing", "clip path")
    elif region.intersection(shape).area > near**2 < shape.difference(region).area:
        assert (left, kind) == ("part", "clip path") or _grazes(shape, region, near)


def _grazes(shape: shapely.Polygon, region: shapely.Polygon, near: float) -> bool:
    """Whether the two overlap, or one stands out, by a sliver only."""
    inside, out = region.intersection(shape), shape.difference(region)
    return inside.buffer(-near / 2).is_empty or out.buffer(-near / 2).is_empty


def test_a_clip_path_that_is_the_shape_itself_cuts_nothing() -> None:
    heart = polygon(7, 30, 0.3, 5, 6)
    assert left_by([clip_of("clip path", [[closed(heart)]])], closed(heart), Effort())[0] == "all"


def test_a_hole_in_a_clip_path_cuts() -> None:
    clip = clip_of("clip path", [[closed(polygon(4, 50, 0, 0, 0)), closed(polygon(4, 9, 0, 0, 0))]])
    assert left_by([clip], closed(polygon(5, 20, 0, 0, 0)), Effort())[0] == "all"
    assert left_by([clip], closed(polygon(5, 5, 0, 0, 0)), Effort())[0] == "nothing"
    assert left_by([clip], closed(polygon(5, 9, 0, 4, 0)), Effort())[0] == "part"


def test_a_small_clip_path_within_a_filled_shape_shows_a_part_of_it() -> None:
    clip = clip_of("clip path", [[closed(polygon(5, 3, 0, 0, 0))]])
    assert left_by([clip], closed(polygon(5, 20, 0, 0, 0)), Effort())[0] == "part"


@pytest.mark.parametrize(("x", "left"), [(0, "all"), (30, "part"), (200, "nothing")])
def test_the_page_cuts_what_runs_out_of_it(x: float, left: str) -> None:
    page = clip_of("clip path", [[closed([(-50, -50), (50, -50), (50, 50), (-50, 50)])]])
    assert left_by([page], closed(polygon(8, 30, 0, x, 0)), Effort())[0] == left


def test_what_cannot_be_followed_counts_as_cutting() -> None:
    curve = closed(polygon(40, 30, 0, 0, 0))
    assert left_by([Clip("mask", None)], curve, Effort()) == ("part", "mask")
    wide = clip_of("clip path", [[closed(polygon(40, 300, 0, 0, 0))]])
    assert left_by([wide], curve, Effort(100)) == ("part", "clip path")
