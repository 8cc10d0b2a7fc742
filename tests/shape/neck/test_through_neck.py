"""A neck that goes on through the body: its planes against the frames' matrix, its core by hand."""

import numpy as np
import pytest

from carve.design import load, with_values
from carve.errors import DesignError
from carve.parts.job import shape_of
from carve.parts.neck import NECK
from carve.parts.sentences.said import in_sentences
from carve.shape.assembly.frames import instrument_to_body, moved
from carve.shape.assembly.side_view import body_plane, side_view
from carve.shape.neck.heel import BodyPlane


@pytest.fixture(scope="module")
def curlew(request):
    return load(request.config.rootpath / "examples" / "curlew.toml")


@pytest.mark.parametrize("angle", [-0.03, 0.0, 0.05])
@pytest.mark.parametrize("depth", [0.0, 40.0])
def test_a_plane_of_the_body_is_level_in_the_bodys_frame(angle, depth):
    body = BodyPlane(edge=590.0, angle=angle, height=6.0, board_end=660.0)
    x = np.linspace(590.0, 980.0, 7)
    points = np.stack([x, np.zeros(7), -body.below(x, depth)], axis=1)
    there = moved(points, instrument_to_body(590.0, angle, 6.0))
    assert there[:, 2] == pytest.approx(-depth, abs=1e-9)


def test_three_degrees_over_300_mm_by_hand():
    # 300 tan 3 deg = 15.722 mm lower than at the edge, where it is 5 / cos 3 deg = 5.007 mm
    body = BodyPlane(edge=500.0, angle=np.radians(3.0), height=5.0, board_end=560.0)
    assert body.below(np.array([500.0, 800.0])) == pytest.approx([5.0069, 20.7292], abs=1e-4)


def test_the_board_keeps_the_taper_that_nut_and_body_edge_ask_for(curlew):
    # by hand: 41 mm at the nut and 63 mm at the edge are 52 mm half way between them
    edge = curlew.place(curlew.joint.at)
    shape = shape_of(NECK, curlew)
    at = np.array([0.0, edge / 2])
    assert 2 * shape.half_width(at) == pytest.approx([41.0, 52.0], abs=1e-9)
    assert 2 * shape.taper(np.array([edge])) == pytest.approx([63.0], abs=1e-9)


def test_the_core_is_as_wide_as_asked_and_tapers_to_its_end(curlew):
    shape, edge = shape_of(NECK, curlew), curlew.place(curlew.joint.at)
    x = np.array([edge, (edge + 984.0) / 2, 984.0])
    assert 2 * shape.half_width(x) == pytest.approx([64.0, 68.0, 72.0], abs=1e-9)
    parallel = with_values(curlew, {"neck.heel.end_width": None, "neck.heel.width": None})
    assert 2 * shape_of(NECK, parallel).half_width(x) == pytest.approx(63.0, abs=1e-9)


def test_stations_are_exactly_as_asked_and_the_shaft_is_left_alone(curlew):
    shape = shape_of(NECK, curlew)
    asked = [station.thickness for station in curlew.neck.stations]
    assert shape.thickness(shape.stations) == pytest.approx(asked, abs=1e-12)
    deeper = shape_of(NECK, with_values(curlew, {"neck.heel.depth": 50.0}))
    x, t = np.linspace(0, shape.heel.blend, 40), np.linspace(-1, 1, 21)
    assert shape.surface(x, t) == pytest.approx(deeper.surface(x, t), abs=1e-12)


def test_slope_and_curvature_run_on_into_the_cores_leaning_back(curlew):
    shape = shape_of(NECK, curlew)
    for x in (shape.heel.blend, shape.heel.start):
        near = np.array([np.nextafter(x, 0), np.nextafter(x, 999)])
        for order in (1, 2):
            one, other = shape.depth_curve.derivative(order)(near)
            assert one == pytest.approx(other, abs=1e-9)
    lean = shape.depth_curve.derivative()(shape.heel.start + 1.0)
    assert lean == pytest.approx(np.tan(side_view(curlew).angle))


def test_a_body_that_would_stand_above_the_glue_face_is_said(curlew):
    sunk = {"joint.height": -9.0, "joint.angle": 1.0}
    with pytest.raises(DesignError) as caught, in_sentences("mm"):
        body_plane(with_values(curlew, sunk))
    (sentence,) = caught.value.problems
    assert sentence.startswith("joint.height: ")
    # by hand: 9 / cos 1 deg - (659.6988 - 591.5831) tan 1 deg = 7.812 mm at the board's end
    assert "7.81 mm above" in sentence


def test_other_necks_do_not_hang_on_how_the_body_lies(heron, plover):
    assert body_plane(heron) is None
    assert body_plane(plover) is None
