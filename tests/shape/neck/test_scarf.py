"""The scarf joint and its board by plane trigonometry, with pencil and paper."""

import io
import math

import ezdxf
import numpy as np
import pytest

from carve.check.report import inspect
from carve.design import load, with_values
from carve.export.formats.dxf import dxf
from carve.parts.job import make

TILT = math.radians(13)


@pytest.fixture
def wheatear(request):
    return load(request.config.rootpath / "examples" / "wheatear.toml")


def test_the_joint_comes_out_of_the_glue_face_where_the_headstocks_back_would(wheatear):
    # by hand: a slab 14.5 mm thick leaning by 13 degrees, its face through a point 5 mm behind
    # the nut, is 14.5 / sin 13 deg = 64.458 mm long where the glue plane cuts it
    head = make(wheatear, 0.05).parts[0].shape.head
    assert head.scarf_out == pytest.approx(14.5 / math.sin(TILT) - 5)
    assert head.scarf_out == pytest.approx(59.458, abs=1e-3)


def test_the_board_is_as_long_as_both_pieces_laid_in_line(wheatear):
    # by hand: the shaft from heel end to joint, and from the joint to the tip along the slant;
    # the tip lies 180 cos 13 deg from the nut as seen from above
    part = make(wheatear, 0.05).parts[0]
    out, tip = 59.458, -180 * math.cos(TILT)
    by_hand = wheatear.place(wheatear.neck.heel_end) - out + (out - tip) / math.cos(TILT)
    length, thickness = part.shape.board_to_saw()
    assert length == pytest.approx(by_hand, abs=1e-3)
    assert thickness == pytest.approx(24.0)  # the tenon is the deepest


def test_the_blank_is_held_against_the_board_and_not_against_the_tilted_part(wheatear):
    def found(design):
        return {f.check: f for f in inspect(make(design, 0.05)) if f.check.startswith("blank")}

    scarfed = found(wheatear)
    whole = found(with_values(wheatear, {"neck.headstock.joint": "one piece"}))
    # by hand: (28 - 24) / 2 mm to spare on each face; in one piece the tip hangs 50 mm lower
    assert scarfed["blank, thickness"].value == pytest.approx(2.0)
    assert whole["blank, thickness"].value < -10
    assert scarfed["blank, width"].value == whole["blank, width"].value


def test_the_joint_is_drawn_from_the_side_and_from_above(wheatear):
    part = make(wheatear, 0.05).parts[0]
    drawn = part.type.outlines(wheatear, part.shape)
    side, plan = (
        ezdxf.read(io.StringIO(dxf(drawn[name]).decode()))
        .modelspace()
        .query('LWPOLYLINE[layer=="SCARF JOINT"]')
        for name in ("from-the-side", "from-above")
    )
    (x0, z0), (x1, z1) = (point[:2] for point in side[0].get_points())
    assert (x0, z0) == pytest.approx((59.458, 0), abs=1e-3)
    assert math.atan2(z0 - z1, x0 - x1) == pytest.approx(TILT)
    assert z1 == pytest.approx(-part.shape.depth(np.array([x1]))[0], abs=0.2)
    across = np.array([point[:2] for point in plan[0].get_points()])
    assert across[:, 0] == pytest.approx(59.458, abs=1e-3)
