"""What is wrong with a cover: one sentence, beginning with the key to change."""

import pytest
from covers import COVER, SCREWS, SHAPES, cavity, recess, slab

from carve.design import load, parse, read_text, rewrite, with_values
from carve.design.io.dials import dials
from carve.errors import DesignError

KEY = "body.pockets[0].cover"


@pytest.fixture(scope="module")
def file(request):
    return request.config.rootpath / "examples" / "linnet.toml"


@pytest.fixture(scope="module")
def linnet(file):
    return load(file)


def screws(**keys):
    found = {**SCREWS, **keys}
    return {
        "gap": 0.3,
        "screws": {key: value for key, value in found.items() if value is not None},
    }


def of(cover, **keys):
    return recess("cover", 150.0, 0.0, cover, **keys)


CIRCLE = SHAPES["circle"]

WRONG = [
    # single values
    (of({}), f"{KEY}.gap: missing", ["0.05 mm to 2 mm"]),
    (of({"gap": 3.0}), f"{KEY}.gap", ["3 mm is not allowed", "0.05 mm to 2 mm"]),
    (of({"gap": "wide"}), f"{KEY}.gap", ['"wide" is not a length']),
    (of({"gap": 0.3, "thickness": 0.1}), f"{KEY}.thickness", ["0.1 mm", "0.5 mm to 40 mm"]),
    (of({"gap": 0.3, "gab": 1}), f"{KEY}.gab", ["unknown key", "gap"]),
    (of({"gap": 0.3, "screws": 4}), f"{KEY}.screws", ["4 is not a table"]),
    (of(screws(count=0)), f"{KEY}.screws.count", ["0", "1 to 40"]),
    (of(screws(head_angle=30)), f"{KEY}.screws.head_angle", ["30", "60 to 120"]),
    (of(screws(pilot=None)), f"{KEY}.screws.pilot: missing", ["0.5 mm to 12 mm"]),
    (
        of({**COVER, "blank": {"length": 5, "width": 50, "thickness": 3}}),
        f"{KEY}.blank.length",
        ["5 mm", "10 mm to 1000 mm"],
    ),
    # keys that disagree
    (
        {**cavity("cover", 150.0, 0.0), "cover": COVER},
        KEY,
        ['only a pocket of kind "cover recess"', 'body.pockets[0].kind is "control"'],
    ),
    (of(COVER, depth="through"), KEY, ["needs a floor", "body.pockets[0].depth"]),
    (of(screws(pilot=3.5)), f"{KEY}.screws.pilot", ["3.5 mm", "at most 3 mm"]),
    (of(screws(head=3.1)), f"{KEY}.screws.head", ["3.1 mm", "at least 3.2 mm"]),
    # a cone of 90 degrees is as deep as its rim is wide: 3 + 2 (2.5 - 0.2)
    (of(screws(head=8.0)), f"{KEY}.screws.head", ["8 mm", "at most 7.6 mm", "goes through"]),
    (of(screws(pilot_depth=38.0)), f"{KEY}.screws.pilot_depth", ["38 mm", "at most 37.3 mm"]),
    (of(screws(from_edge=None)), f"{KEY}.screws.from_edge: missing", ["screws.points"]),
    (of(screws(count=None), **CIRCLE), f"{KEY}.screws.count: missing", ['"circle"', "corners"]),
    (
        of(screws(points=[[0, 0]], from_edge=None)),
        f"{KEY}.screws.count",
        ["not allowed beside body.pockets[0].cover.screws.points"],
    ),
]


@pytest.mark.parametrize(("pocket", "key", "said"), WRONG)
def test_one_sentence_says_what_is_wrong(linnet, pocket, key, said):
    with pytest.raises(DesignError) as wrong:
        slab(linnet, pocket)
    (problem,) = wrong.value.problems
    assert problem.startswith(key), problem
    for words in said:
        assert words in problem


def test_what_is_allowed_is_read(linnet):
    design = slab(linnet, of({**COVER, "blank": {"length": 90, "width": 60, "thickness": 0.5}}))
    assert design.body.pockets[0].cover.blank.thickness == 0.5
    assert slab(linnet, of(screws(head=7.6))).body.pockets[0].cover.screws.sink == pytest.approx(
        2.3
    )


def test_the_examples_cover_is_turned_by_dials_and_saved_as_it_stands(file, linnet):
    key = "body.pockets[5].cover"
    keys = {dial.key for dial in dials(linnet)}
    assert {f"{key}.gap", f"{key}.screws.diameter", f"{key}.screws.from_edge"} <= keys
    changes = {f"{key}.gap": 0.4, f"{key}.screws.pilot": 2.2, f"{key}.thickness": 2.4}
    saved = rewrite(read_text(file), with_values(linnet, changes))
    cover = parse(saved, file.name, file.parent).body.pockets[5].cover
    assert (cover.gap, cover.screws.pilot, cover.thickness) == pytest.approx((0.4, 2.2, 2.4))
    # nothing else has moved
    before, after = read_text(file).splitlines(), saved.splitlines()
    assert len(set(after) - set(before)) == 3
