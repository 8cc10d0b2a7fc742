"""What is wrong with a body: one sentence, beginning with the key to change."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carve.design import load, parse, read_text, rewrite, with_values
from carve.design.io.dials import dials
from carve.design.schema.body import Bore, Pocket
from carve.errors import DesignError
from carve.parts.body import BODY
from carve.parts.job import make, shape_of

POCKETS = "body.pockets"
BOLT = {"name": "bolt", "kind": "hole", "shape": "circle", "diameter": 5.0, "depth": "through"}
SQUARE = [[0, 0], [0, 100], [200, 100], [200, -100], [0, -100]]
NEW = {"name": "new", "shape": "rectangle", "x": 150.0, "length": 30.0, "width": 20.0, "depth": 9.0}
HOLLOW = {"rim": 8.0, "top": 4.0, "back": 4.0}


def only(**keys):
    """The body with one new pocket and nothing else in it."""
    pocket = {**NEW, **keys}
    return {
        POCKETS: [{name: value for name, value in pocket.items() if value is not None}],
        "body.bores": [],
    }


BORE = {
    **{"name": "jack", "x": 388.0, "y": 0.0, "angle": 180.0},
    **{"diameter": 12.0, "depth": 60.0, "below": 22.0},
}

RULES = [
    # single values
    ({"body.thickness": 2.0}, "body.thickness", ["2 mm", "5 mm to 150 mm"]),
    ({"body.outline": {"points": [[0, 0], [1, 1]]}}, "body.outline.points", ["2 points", "3 to"]),
    ({"body.outline.points": 5}, "body.outline.points", ["5 is not a list of points"]),
    (
        {"body.outline.points": [[0, 0], [1], [2, 2], [3, 1]]},
        "body.outline.points",
        ["point 2, [1], is not a pair"],
    ),
    (
        {"body.outline.points": [[0, 0], [1, "x"], [2, 2], [3, 1]]},
        "body.outline.points",
        ['"x" is not a length'],
    ),
    (
        {"body.outline.points": [[0, 0], [1, 2000], [2, 2], [3, 1]]},
        "body.outline.points",
        ["point 2, [1, 2000]", "1500 mm of the origin"],
    ),
    ({"body.outline.smooth": "yes"}, "body.outline.smooth", ['"yes"', "true or false"]),
    (only(depth="thru"), f"{POCKETS}[0].depth", ['"thru" is not a length']),
    (only(depth=0.2), f"{POCKETS}[0].depth", ["0.2 mm", '0.5 mm to 150 mm, or "through"']),
    (only(shape="oval"), f"{POCKETS}[0].shape", ['"oval"', '"rectangle"', '"slot"']),
    (only(kind="cave"), f"{POCKETS}[0].kind", ['"cave"', "weight relief"]),
    ({"body.bores[0].kind": "lamp"}, "body.bores[0].kind", ['"lamp"', '"bore"', '"jack"']),
    ({"limits.wire_channel": -1.0}, "limits.wire_channel", ["-1 mm", "0 mm to 40 mm"]),
    ({"limits.ground_wire": 41.0}, "limits.ground_wire", ["41 mm", "0 mm to 40 mm"]),
    (only(face="side"), f"{POCKETS}[0].face", ['"side"', '"front"', '"back"']),
    (only(name=""), f"{POCKETS}[0].name", ["1 to 40 characters"]),
    (only(angle=200.0), f"{POCKETS}[0].angle", ["200", "-180 to 180"]),
    ({"body.blank.boards": 0}, "body.blank.boards", ["0", "1 to 12"]),
    # keys that disagree
    (only(length=None), f"{POCKETS}[0].length", ["missing", '"rectangle"']),
    (only(diameter=5.0), f"{POCKETS}[0].diameter", ["not allowed", '"rectangle"']),
    (only(shape="circle", length=None, width=None), f"{POCKETS}[0].diameter", ["missing"]),
    (only(shape="polygon", length=None, width=None), f"{POCKETS}[0].points", ["missing"]),
    (only(corner_radius=10.5), f"{POCKETS}[0].corner_radius", ["10.5 mm", "at most 10 mm"]),
    (only(corner_radius=0.1), f"{POCKETS}[0].corner_radius", ["0.1 mm", "at least 0.2 mm"]),
    (only(shape="slot", corner_radius=2.0), f"{POCKETS}[0].corner_radius", ['"slot"']),
    (only(shape="slot", length=20.1), f"{POCKETS}[0].length", ["20.1 mm", '"circle"']),
    (only(depth=44.0), f"{POCKETS}[0].depth", ["44 mm", "body.thickness", '"through"']),
    (only(depth=60.0), f"{POCKETS}[0].depth", ["60 mm", "body.thickness"]),
    (only(slope=2.0), f"{POCKETS}[0].slope", ["only a neck's pocket"]),
    (only(kind="neck", slope=2.0, depth="through"), f"{POCKETS}[0].slope", ["no floor"]),
    (only(kind="neck", face="back"), f"{POCKETS}[0].face", ['"front"']),
    (only(kind="sound hole", depth="through"), f"{POCKETS}[0].kind", ["[body.hollow]"]),
    (
        only(kind="neck", shape="heel", length=None, width=None, x=3.0),
        f"{POCKETS}[0].x",
        ["not allowed", '"heel"'],
    ),
    (
        only(shape="heel", length=None, width=None, x=None),
        f"{POCKETS}[0].kind",
        ['"pocket"', '"neck"'],
    ),
    ({"neck.heel": None}, f"{POCKETS}[0].shape", ["[neck.heel]"]),
    ({"joint": None}, f"{POCKETS}[0].shape", ["[joint]"]),
    (only(bolts=5.0), f"{POCKETS}[0].bolts", ["only", '"heel"']),
    ({"neck.heel.holes": []}, f"{POCKETS}[0].bolts", ["no holes", "[[neck.heel.holes]]"]),
    ({"joint.pocket_width": 56.0}, "joint.pocket_width", ["56 mm", f"{POCKETS}[0]"]),
    (
        {f"{POCKETS}[1].name": "wire channel"},
        f"{POCKETS}[3].name",
        ['"wire channel"', f"{POCKETS}[1]"],
    ),
    ({f"{POCKETS}[1].kind": "neck"}, f"{POCKETS}[1].kind", [f"{POCKETS}[0]", "one"]),
    ({"body.bores[0].below": 9.0}, "body.bores[0].below", ["9 mm", "11.2 mm to 32.8 mm"]),
    ({"body.bores[0].diameter": 44.0}, "body.bores[0].diameter", ["44 mm", "43.6 mm"]),
    (
        {**only(), "body.hollow": {"rim": 8.0, "top": 30.0, "back": 14.0}},
        "body.hollow.back",
        ["30 mm + 14 mm", "at most 43 mm"],
    ),
    ({"body.blank.boards": 3}, "body.blank.boards", ["3", "even number"]),
    (
        {"body.outline.points": [[0, 0], [9, 0], [9, 9], [0.1, 0.1]]},
        "body.outline.points",
        ["points 4 and 1", "0.14 mm apart", "at least 0.2 mm"],
    ),
    (
        only(shape="polygon", length=None, width=None, points=[[0, 0], [9, 0], [9, 0], [0, 5]]),
        f"{POCKETS}[0].points",
        ["points 2 and 3", "0 mm apart"],
    ),
]

SHAPES = [
    # what is known only once there is a shape
    (
        {**only(), "body.outline.points": [[0, 0], [200, 100], [200, 0], [0, 100]]},
        "body.outline.points",
        ["crosses or touches itself"],
    ),
    (
        {**only(x=190.0), "body.outline": {"points": SQUARE, "smooth": False}},
        f"{POCKETS}[0]",
        ["new runs 5 mm out of the outline"],
    ),
    (
        {**only(x=184.9), "body.outline": {"points": SQUARE, "smooth": False}},
        f"{POCKETS}[0]",
        ["new leaves 0.1 mm to the outline", "at least 0.2 mm"],
    ),
    (
        only(shape="polygon", length=None, width=None, points=[[0, 0], [9, 9], [9, 0], [0, 9]]),
        f"{POCKETS}[0].points",
        ["crosses itself"],
    ),
    (
        only(shape="polygon", length=None, width=None, points=[[0, 0], [9, 0], [9, 9]])
        | {f"{POCKETS}[0].corner_radius": 8.0},
        f"{POCKETS}[0].corner_radius",
        ["8 mm finds no room"],
    ),
    (
        only(shape="polygon", length=None, width=None, points=[[0, 0], [90, 0], [45, 0.1]]),
        f"{POCKETS}[0].points",
        ["nowhere wider than 0.2 mm"],
    ),
    (
        {POCKETS: [NEW, {**NEW, "name": "other", "x": 180.1}], "body.bores": []},
        f"{POCKETS}[1]",
        ["other and new", "leave 0.1 mm", "open into each other"],
    ),
    (
        {POCKETS: [NEW, {**NEW, "name": "other", "x": 180.0}], "body.bores": []},
        f"{POCKETS}[1]",
        ["other and new", "leave 0 mm"],
    ),
    (
        {POCKETS: [NEW, {**NEW, "name": "other", "face": "back", "depth": 34.9}], "body.bores": []},
        f"{POCKETS}[1]",
        ["other and new", "leave 0.1 mm"],
    ),
    (
        only(kind="neck", x=20.0, length=60.0, depth=2.0, slope=4.0),
        f"{POCKETS}[0].depth",
        ["-1.5 mm", "50 mm from the body's edge", "0.2 mm"],
    ),
    (only(kind="neck", x=-200.0), f"{POCKETS}[0].shape", ["0 places"]),
    ({**only(), "body.bores": [{**BORE, "y": 400.0}]}, "body.bores[0].angle", ["passes by"]),
    ({**only(), "body.hollow": {**HOLLOW, "rim": 190.0}}, "body.hollow.rim", ["nothing is left"]),
    (
        only(kind="sound hole", depth="through")
        | {"body.hollow": {**HOLLOW, "centre_block": 30.0}},
        f"{POCKETS}[0]",
        ["not over a chamber alone"],
    ),
    ({"joint.at": 443.6}, f"{POCKETS}[0].shape", ["ends before the body's edge"]),
]


@pytest.fixture(scope="module")
def linnet(request):
    return load(request.config.rootpath / "examples" / "linnet.toml")


@pytest.mark.parametrize(("changes", "key", "held"), RULES)
def test_each_mistake_is_one_sentence_with_key_value_and_what_is_allowed(
    linnet, changes, key, held
):
    with pytest.raises(DesignError) as caught:
        with_values(linnet, changes)
    (sentence,) = caught.value.problems
    _is_said(sentence, key, held)


@pytest.mark.parametrize(("changes", "key", "held"), SHAPES)
def test_what_only_a_shape_can_tell_is_said_the_same_way(linnet, changes, key, held):
    design = with_values(linnet, changes)
    with pytest.raises(DesignError) as caught:
        shape_of(BODY, design)
    (sentence,) = caught.value.problems
    _is_said(sentence, key, held)


def _is_said(sentence, key, held):
    assert sentence.startswith(f"{key}: ") or sentence.startswith(f"{key}.")
    for part in held:
        assert part in sentence
    assert len(sentence) <= 300


@pytest.mark.parametrize(
    "changes",
    [
        only(depth=43.8),
        only(corner_radius=10.0),
        only(shape="slot", length=20.2),
        only(depth="Through"),
        {"body.bores[0].below": 11.2},
        {"body.blank": None},
        {"body.blank.boards": 3, "body.blank.joint": "anywhere"},
        {**only(), "body.hollow": HOLLOW},
    ],
)
def test_just_within_what_is_allowed_is_allowed(linnet, changes):
    shape_of(BODY, with_values(linnet, changes))


def test_a_design_without_a_body_has_no_such_part(design):
    assert [part.name for part in make(design, 0.08).parts] == ["neck", "fretboard"]


def test_every_dial_of_the_body_is_saved_and_read_back(linnet, request):
    text = read_text(request.config.rootpath / "examples" / "linnet.toml")
    turned = 0
    for dial in dials(linnet):
        if not dial.key.startswith("body.") or dial.step is None:
            continue
        changed_one = with_values(linnet, {dial.key: round(dial.value - dial.step, 4)})
        assert parse(rewrite(text, changed_one)) == changed_one
        turned += 1
    assert turned > 35


def test_points_and_words_are_saved_and_read_back(linnet, request):
    text = read_text(request.config.rootpath / "examples" / "linnet.toml")
    points = [[x, round(y * 1.01, 4)] for x, y in linnet.body.outline.points]
    other = with_values(linnet, {"body.outline.points": points, f"{POCKETS}[1].depth": "through"})
    assert parse(rewrite(text, other)) == other


def test_degrees_of_a_file_in_inches_stay_degrees(plover, request):
    # a number without a length's unit is the same in every file
    text = read_text(request.config.rootpath / "examples" / "plover.toml")
    turned = with_values(plover, {"joint.angle": 2.0})
    assert parse(rewrite(text, turned)).joint.angle == 2.0


def test_a_body_may_be_told_in_inches(linnet, request):
    text = read_text(request.config.rootpath / "examples" / "linnet.toml")
    inches = text.replace("thickness = 44.0", 'thickness = "1 3/4 in"')
    assert parse(inches).body.thickness == pytest.approx(1.75 * 25.4)


def test_a_whole_body_in_inches_is_saved_in_inches(request):
    text = read_text(request.config.rootpath / "examples" / "plover.toml") + (
        "\n[body]\nthickness = 1.75\n"
        "[body.outline]\npoints = [[0, -6], [0, 6], [16, 7], [16, -7]]\n"
        "[[body.pockets]]\nname = 'a'\nshape = 'rectangle'\nx = 6\nangle = 12\n"
        "length = 1.5\nwidth = '3 1/2 in'\ndepth = 0.75\n"
    )
    design = parse(text)
    assert design.body.outline.points[2] == pytest.approx((16 * 25.4, 7 * 25.4))
    points = [list(point) for point in design.body.outline.points]
    points[2][0] += 2.54
    changes = {"body.outline.points": points, "body.pockets[0].angle": 15.0}
    saved = rewrite(text, with_values(design, changes))
    assert "[16.1, 7.0]" in saved
    assert "angle = 15.0" in saved
    assert parse(saved).body.pockets[0].width == pytest.approx(88.9)
    with pytest.raises(DesignError) as caught:
        with_values(design, {"body.pockets[0].depth": 44.4})
    assert "1 3/4 in (body.thickness)" in caught.value.problems[0]


def test_pockets_stand_under_their_names_in_the_lab(linnet):
    groups = {dial.group for dial in dials(linnet)}
    assert "body pocket 2, neck pickup" in groups
    assert "body bore 1, jack" in groups


ODD = st.one_of(
    st.floats(),
    st.integers(-(10**30), 10**30),
    st.text(max_size=30),
    st.booleans(),
    st.none(),
    st.sampled_from(["through", "front", "heel", "neck", "circle", "1/2 in", "centre line"]),
    st.lists(st.floats(-500, 500), max_size=3),
    st.lists(st.lists(st.floats(-400, 400), min_size=2, max_size=2), min_size=3, max_size=8),
    st.dictionaries(st.sampled_from(["points", "x", "rim", "name"]), st.floats(), max_size=2),
)
ODD_KEYS = [
    *("body", "body.thickness", "body.outline", "body.outline.points", "body.outline.smooth"),
    *(f"{POCKETS}[{n}].{name}" for n in (0, 1, 4, 6) for name in Pocket.model_fields),
    *(f"body.bores[0].{name}" for name in Bore.model_fields),
    *("body.pockets", "body.bores", "body.hollow", "body.blank", "body.blank.boards"),
    *("joint", "neck.heel", "limits.wood_to_edge"),
]


@settings(max_examples=150)
@given(st.dictionaries(st.sampled_from(ODD_KEYS), ODD, min_size=1, max_size=3))
def test_whatever_stands_in_a_body_the_answer_is_sentences(linnet, changes):
    try:
        shape_of(BODY, with_values(linnet, changes)) if "body" not in changes else with_values(
            linnet, changes
        )
    except KeyError:
        return  # an earlier change took the table away
    except DesignError as error:
        problems = error.problems
    else:
        return
    assert problems
    for problem in problems:
        assert ": " in problem
        assert problem.isprintable()
        assert len(problem) <= 360  # a missing heel's kind, with what each is
