"""What is wrong with a carved top or back: one sentence, beginning with the key to change."""

import pytest

from carve.design import load, parse, read_text, rewrite, with_values
from carve.design.io.dials import dials
from carve.errors import DesignError
from carve.parts.body import BODY
from carve.parts.job import make, shape_of

TOP = "body.top"
PAD = {"name": "feet", "points": [[250, -20], [280, -20], [280, 20], [250, 20]], "height": 14.0}
CONTOURS = {"ledge": 6.0, "contours": [[30, 5.0], [80, 12.0]]}

RULES = [
    ({f"{TOP}.ledge": 0.1}, f"{TOP}.ledge", ["0.1 mm", "0.5 mm to 100 mm"]),
    ({f"{TOP}.recurve": 7.0}, f"{TOP}.recurve", ["7 mm", "2 mm more", "6 mm"]),
    ({f"{TOP}.recurve": None}, f"{TOP}.recurve", ["missing"]),
    ({f"{TOP}.recurve_depth": 11.0}, f"{TOP}.recurve_depth", ["11 mm", "0 mm to 10 mm"]),
    ({f"{TOP}.falloff": 0.0}, f"{TOP}.falloff", ["0 mm", "1 mm to 400 mm"]),
    ({f"{TOP}.stations": []}, f"{TOP}.stations", ["none is given", f"{TOP}.contours"]),
    ({f"{TOP}.stations[0].height": -2.0}, f"{TOP}.stations[0].height", ["-2 mm", "-0.8 mm"]),
    ({f"{TOP}.stations[0].height": 81.0}, f"{TOP}.stations[0].height", ["81 mm", "80 mm"]),
    ({f"{TOP}.stations[0].x": 262.0}, f"{TOP}.stations[1].x", ["262 mm", "stations[0]", "1 mm"]),
    ({f"{TOP}.templates": [{"x": 9, "heights": []}]}, f"{TOP}.templates[0].heights", ["none"]),
    ({f"{TOP}.pads": [PAD, PAD]}, f"{TOP}.pads[1].name", ['"feet"', f"{TOP}.pads[0]"]),
    ({f"{TOP}.softness": 9.0}, f"{TOP}.softness", ["contour lines"]),
    ({f"{TOP}.contours": [[20, 5]]}, f"{TOP}.recurve", ["together with"]),
    ({TOP: {**CONTOURS, "contours": [[5, 1.0]]}}, f"{TOP}.contours[0]", ["5 mm", "6 mm"]),
    (
        {TOP: {**CONTOURS, "contours": [[30, 5.0], [30, 6.0]]}},
        f"{TOP}.contours[1]",
        ["30 mm", "the one before it"],
    ),
    ({"body.back": {"ledge": 6.0, "recurve": 16.0}}, "body.back.stations", ["none is given"]),
    (
        {
            "body.back": {
                "ledge": 6.0,
                "recurve": 16.0,
                "stations": [{"x": 200, "height": 9}],
                "neck_plane": {},
            }
        },
        "body.back.neck_plane",
        ["only the top"],
    ),
]

SHAPES = [
    ({f"{TOP}.recurve": 190.0}, f"{TOP}.recurve", ["nothing is left"]),
    ({f"{TOP}.stations[0].x": 5.0}, f"{TOP}.stations[0].x", ["5 mm", "recurve to recurve"]),
    ({f"{TOP}.falloff": 150.0}, f"{TOP}.falloff", ["150 mm", "out of reach"]),
    (
        {"body.pockets[3].depth": 41.0, f"{TOP}.recurve_depth": 3.0},
        "body.pockets[3]",
        ["controls", "carved top", "body.top", "0.2 mm"],
    ),
]


@pytest.fixture(scope="module")
def brambling(request):
    return load(request.config.rootpath / "examples" / "brambling.toml")


@pytest.mark.parametrize(("changes", "key", "words"), RULES)
def test_a_wrong_plate_is_one_sentence_with_its_key(brambling, changes, key, words):
    with pytest.raises(DesignError) as caught:
        with_values(brambling, changes)
    (sentence,) = [p for p in caught.value.problems if p.startswith(key + ":")]
    for word in words:
        assert word in sentence


@pytest.mark.parametrize(("changes", "key", "words"), SHAPES)
def test_what_cannot_be_shaped_is_said_with_its_key(brambling, changes, key, words):
    with pytest.raises(DesignError) as caught:
        shape_of(BODY, with_values(brambling, changes))
    (sentence,) = [p for p in caught.value.problems if p.startswith(key + ":")]
    for word in words:
        assert word in sentence


def test_a_neck_plane_needs_a_joint(brambling):
    with pytest.raises(DesignError, match=r"body\.top\.neck_plane: .*\[joint\]"):
        with_values(brambling, {"joint": None, "body.pockets": []})


def test_heights_recurve_and_falloff_are_dials(brambling):
    keys = {dial.key for dial in dials(brambling)}
    wanted = {"stations[0].height", "recurve_depth", "recurve", "ledge", "falloff"}
    assert {f"{TOP}.{name}" for name in wanted} <= keys
    assert f"{TOP}.neck_plane.clearance" in keys


def test_a_changed_height_is_saved_beside_the_builders_own_words(request, brambling):
    file = request.config.rootpath / "examples" / "brambling.toml"
    changed = with_values(brambling, {f"{TOP}.stations[1].height": 15.25})
    text = rewrite(read_text(file), changed)
    assert "height = 15.25" in text
    again = parse(text, "again.toml", file.parent)
    assert again.body is not None
    assert again.body.top is not None
    assert again.body.top.stations[1].height == 15.25


def test_the_jobs_design_knows_the_arch_under_the_bridge(brambling):
    assert brambling.bridge.top_height is None
    job = make(brambling, 0.3, only=["neck"])
    assert job.design.bridge.top_height == pytest.approx(14.5, abs=0.01)


GRADED = {
    **{"edge": 5.0, "cove": 14.0, "recurve": 26.0, "at_recurve": 3.5},
    **{"centre": 110.0, "at_centre": 6.0},
}
PLATES = {"rim": 8.0, "top_graduation": GRADED, "back": 4.0}
HOLLOW = "body.hollow"

HOLLOWS = [
    ({**PLATES, "top": 4.0}, f"{HOLLOW}.top", ["4 mm", f"{HOLLOW}.top_graduation", "leave one"]),
    ({"rim": 8.0, "back": 4.0}, f"{HOLLOW}.top", ["missing", f"{HOLLOW}.top_graduation"]),
    (
        {"rim": 8.0, "top": 4.0, "back_graduation": GRADED},
        f"{HOLLOW}.back_graduation",
        ["[body.back]"],
    ),
    (
        {**PLATES, "top_graduation": {**GRADED, "centre": 20.0}},
        f"{HOLLOW}.top_graduation.centre",
        ["20 mm", "26 mm", "1 mm more"],
    ),
    (
        {**PLATES, "top_graduation": {**GRADED, "edge": 0.1}},
        f"{HOLLOW}.top_graduation.edge",
        ["0.1 mm", "0.5 mm to 40 mm"],
    ),
]


@pytest.mark.parametrize(("hollow", "key", "words"), HOLLOWS)
def test_a_wrong_graduation_is_one_sentence_with_its_key(brambling, hollow, key, words):
    with pytest.raises(DesignError) as caught:
        with_values(brambling, {"body.pockets": [], "body.bores": [], HOLLOW: hollow})
    (sentence,) = [p for p in caught.value.problems if p.startswith(key + ":")]
    for word in words:
        assert word in sentence


def test_floor_and_ceiling_that_meet_are_said(brambling):
    hollow = {**PLATES, "back": 36.5}
    design = with_values(brambling, {"body.pockets": [], "body.bores": [], HOLLOW: hollow})
    with pytest.raises(DesignError, match=r"^body\.hollow\.rim: floor and ceiling of the room"):
        shape_of(BODY, design)
