"""A part may occur none, one or many times: covers of a body's recesses."""

import numpy as np
import pytest
from covers import COVER, SHAPES, cavity, drawn, recess, slab
from hypothesis import given
from hypothesis import strategies as st

from carve.check.report import inspect
from carve.design import load, with_values
from carve.lab.job_views import JobViews
from carve.parts.cover import COVER as COVERS
from carve.parts.cover import part_names
from carve.parts.job import make, shapes_of
from carve.parts.outbound import outbound_mesh

CHORD = 0.05


@pytest.fixture(scope="module")
def linnet(request):
    return load(request.config.rootpath / "examples" / "linnet.toml")


def blank(length, width):
    return {"length": length, "width": width, "thickness": 3.0, "allowance": 0.2}


def three(design):
    return slab(
        design,
        recess("controls cover", 90.0, 50.0, {**COVER, "blank": blank(85, 55)}),
        cavity("controls", 90.0, 50.0),
        recess("switch", 90.0, -50.0, {**COVER, "blank": blank(70, 64)}, **SHAPES["circle"]),
        recess("battery cover", 250.0, 0.0, {**COVER, "blank": blank(95, 60)}, face="front"),
    )


def names(job):
    return [part.name for part in job.parts]


def test_a_body_without_recess_or_without_cover_has_none(linnet):
    bare = slab(linnet, cavity("controls", 150.0, 0.0))
    assert COVERS.instances(bare) == ()
    assert names(make(bare, CHORD)) == ["neck", "fretboard", "body"]
    closed = recess("controls cover", 150.0, 0.0)
    open_one = {key: value for key, value in closed.items() if key != "cover"}
    assert COVERS.instances(slab(linnet, open_one)) == ()
    assert COVERS.instances(with_values(linnet, {"body": None})) == ()


def test_a_body_with_one_has_one(linnet):
    one = slab(linnet, cavity("controls", 150.0, 0.0), recess("controls cover", 150.0, 0.0))
    (instance,) = COVERS.instances(one)
    assert (instance.name, instance.key) == ("cover-controls", "body.pockets[1].cover")
    assert names(make(one, CHORD)) == ["neck", "fretboard", "body", "cover-controls"]


def test_a_body_with_three_has_three_each_with_its_own_blank_and_place(linnet):
    design = three(linnet)
    job = make(design, CHORD, only=["body", "cover-controls", "cover-switch", "cover-battery"])
    assert names(job) == ["body", "cover-controls", "cover-switch", "cover-battery"]
    body, *covers = job.parts
    assert [part.blank(design).length for part in covers] == [85, 70, 95]
    keys = [part.instance.key for part in covers]
    assert keys == [f"body.pockets[{n}].cover" for n in (0, 2, 3)]
    for part, (x, y) in zip(covers, [(90, 50), (90, -50), (250, 0)], strict=True):
        way = np.linalg.inv(body.to_instrument(design)) @ part.to_instrument(design)
        assert way[:2, 3] == pytest.approx([x, y], abs=1e-9)
        assert way[:3, :3] == pytest.approx(np.eye(3), abs=1e-12)
        assert way[2, 3] == pytest.approx(0.0 if part.shape.face == "front" else -40.0)


def test_each_has_findings_of_its_own_under_its_name(linnet):
    job = make(three(linnet), CHORD)
    found = inspect(job)
    per_part = {
        name: [f.check for f in found if f.part == name]
        for name in ("cover-controls", "cover-switch", "cover-battery")
    }
    (checks,) = {tuple(checks) for checks in per_part.values()}
    assert {"blank, length", "gap around the cover", "mesh closed and oriented", "volume"} < set(
        checks
    )
    sources = {f.source for f in found if f.check == "blank, width" and "cover" in f.part}
    assert len(sources) == 3


def test_one_cover_alone_can_be_made_and_is_made_again_only_where_it_changes(linnet):
    design = three(linnet)
    before = make(design, CHORD, only=["cover-switch"]).parts
    assert [part.name for part in before] == ["cover-switch"]
    other = with_values(design, {"body.pockets[0].cover.gap": 0.5})
    assert make(other, CHORD, only=["cover-switch"]).parts[0] is before[0]
    moved = with_values(design, {"body.pockets[2].x": 91.0})
    assert make(moved, CHORD, only=["cover-switch"]).parts[0] is not before[0]
    assert len(shapes_of(COVERS, design)) == 3


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_lab_shows_a_cover_over_its_cavity_for_either_hand(linnet, hand):
    design = with_values(three(linnet), {"handed": hand})
    job = make(design, CHORD, only=["body", "cover-switch", "cover-battery"])
    shown = {layer.name: layer for layer in JobViews().layers(job)}
    side = -1.0 if hand == "right" else 1.0
    middle = shown["cover-switch"].points[:, :2].mean(axis=0)
    edge = shown["body"].points[:, 0].min()
    ends = [shown["cover-switch"].points.min(axis=0), shown["cover-switch"].points.max(axis=0)]
    assert np.mean(ends, axis=0)[:2] == pytest.approx([edge + 90.0, side * 50.0], abs=0.1)
    assert middle[1] * side > 0
    assert shown["cover-battery"].points[:, 2].max() == pytest.approx(
        shown["body"].points[:, 2].max(), abs=1e-9
    )
    assert len({layer.colour for layer in shown.values()}) == 2


def test_a_left_handed_cover_is_the_right_handed_one_in_a_mirror(linnet):
    pocket = recess("lid", 150.0, 30.0, **SHAPES["polygon"])
    right = make(slab(linnet, pocket), CHORD, only=["cover-lid"])
    left = make(with_values(right.design, {"handed": "left"}), CHORD, only=["cover-lid"])
    one, other = (outbound_mesh(job.design, job.parts[0]).points for job in (right, left))
    assert np.sort(one[:, 1]) == pytest.approx(np.sort(-other[:, 1]), abs=1e-6)


def test_curves_of_a_drawing_are_told_apart_by_number(linnet):
    squares = ["M -60 60 H -10 V 120 H -60 Z", "M 10 60 H 60 V 120 H 10 Z"]
    assert [one.name for one in COVERS.instances(drawn(linnet, squares))] == [
        "cover-hatch-1",
        "cover-hatch-2",
    ]
    assert [one.name for one in COVERS.instances(drawn(linnet, squares[:1]))] == ["cover-hatch"]


def test_names_speak_of_the_recess_and_fit_a_file():
    assert part_names(["controls cover"]) == ["cover-controls"]
    assert part_names(["cover"]) == ["cover"]
    assert part_names(["Tone & Volume: cover"]) == ["cover-tone-volume"]
    assert part_names(["Überzug / größer"]) == ["cover-uberzug-groer"]
    assert part_names(["controls", "controls cover"]) == ["cover-controls", "cover-controls-2"]
    # the open side of "cover" is written as "...-cover-front.stl"
    assert part_names(["cover", "front cover"]) == ["cover", "cover-front-2"]
    assert part_names(["back", "cover"]) == ["cover-back", "cover-2"]


@given(st.lists(st.text(min_size=1, max_size=12), max_size=8))
def test_any_names_give_files_that_are_not_in_one_anothers_way(recesses):
    found = part_names(recesses)
    files = [f"{name}{side}.stl" for name in found for side in ("", "-front", "-back")]
    assert len(set(files)) == len(files) == 3 * len(recesses)
    assert all(set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-") for name in found)
