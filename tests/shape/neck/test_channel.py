"""Distances to a channel, against a mesh of it measured by an independent library."""

import numpy as np
import pytest
import trimesh

from carve.design.schema.design import Access, TrussRod
from carve.design.values.units import Place
from carve.shape.neck.channel import FLOOR_CHORD, channels, removed_area

SCALE = 650.0


def rod(**changes):
    given = {
        "start": "20 mm",
        "end": "400 mm",
        "width": 6.0,
        "depth": 9.0,
        **changes,
    }
    return TrussRod.model_validate(given)


def boxed(channel):
    """The channel as trimesh would make it: its side view extruded."""
    from shapely import Polygon

    outline = np.vstack([[[channel.start, 0.0]], channel.floor, [[channel.end, 0.0]]])
    solid = trimesh.creation.extrude_polygon(Polygon(outline), 2 * channel.half_width)
    # extruded along z: turn the side view's second axis to z, the extrusion to y
    points = solid.vertices[:, [0, 2, 1]] - [0, channel.half_width, 0]
    return trimesh.Trimesh(points, solid.faces[:, ::-1])


@pytest.mark.parametrize("bow", [None, 13.0])
def test_distance_in_space_is_that_to_a_mesh_of_the_channel(bow):
    # reference: trimesh.proximity on the extruded polygon
    (channel,) = channels(rod(depth_middle=bow), SCALE)
    generator = np.random.default_rng(7)
    points = generator.uniform([0, -25, -22], [430, 25, -0.01], (400, 3))
    outside = ~channel.holds(points)
    _, away, _ = trimesh.proximity.closest_point(boxed(channel), points[outside])
    assert channel.to_channel(points[outside]) == pytest.approx(away, abs=1e-6)
    assert channel.to_channel(points[~outside]) == pytest.approx(0)


def test_a_curved_floor_is_the_parabola_through_its_three_depths():
    (channel,) = channels(rod(depth=9.0, depth_middle=12.0, depth_heel=10.0), SCALE)
    x = np.linspace(20, 400, 201)
    through = np.polyfit([20, 210, 400], [9, 12, 10], 2)
    assert channel.depth(x) == pytest.approx(np.polyval(through, x), abs=FLOOR_CHORD)


def test_a_straight_floor_may_slope():
    (channel,) = channels(rod(depth=9.0, depth_heel=11.0), SCALE)
    assert channel.depth(np.array([20.0, 210.0, 400.0])) == pytest.approx([9, 10, 11])
    assert len(channel.floor) == 2


def test_removed_area_is_that_of_the_union():
    # reference: shapely's union of the two rectangles
    from shapely import box
    from shapely.ops import unary_union

    for wide, deep in ((12.0, 7.0), (12.0, 12.0), (4.0, 12.0), (4.0, 5.0)):
        access = Access(at="nut", length=30, width=wide, depth=deep)
        cut = channels(rod(access=access), SCALE)
        union = unary_union([box(-3, -9, 3, 0), box(-wide / 2, -deep, wide / 2, 0)])
        assert removed_area(cut, np.array([30.0])) == pytest.approx([union.area])
        assert removed_area(cut, np.array([300.0])) == pytest.approx([54.0])
        assert removed_area(cut, np.array([10.0])) == pytest.approx([0.0])


def test_places_may_be_frets():
    (channel,) = channels(rod(end=Place(fret=12.0)), SCALE)
    assert channel.end == pytest.approx(SCALE / 2)  # the 12th fret halves the string
