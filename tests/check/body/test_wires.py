"""What the finding of a way for wires says. That wires take 6 mm is common practice."""

import pytest

from carve.check.body.wires import check
from carve.design import load, with_values
from carve.parts.job import make

BLOCK = {"points": [[0, -100], [300, -100], [300, 100], [0, 100]], "smooth": False}


@pytest.fixture(scope="module")
def said(request):
    linnet = load(request.config.rootpath / "examples" / "linnet.toml")

    def found(*pockets, bores=(), **limits):
        changes = {
            "body.outline": BLOCK,
            "body.thickness": 40.0,
            "body.pockets": list(pockets),
            "body.bores": list(bores),
            **{f"limits.{key}": value for key, value in limits.items()},
        }
        return list(check(make(with_values(linnet, changes), 0.1, only=["body"])))

    return found


def box(name, kind, x, length=40, **more):
    sizes = {"x": x, "y": 0.0, "length": length, "width": 60.0, "depth": 20.0}
    return {"name": name, "kind": kind, "shape": "rectangle", **sizes, **more}


PICKUP, CONTROLS = box("neck pickup", "pickup", 60), box("controls", "control", 129.4)
JACK = {
    **{"name": "jack hole", "kind": "jack", "x": 300.0, "y": 0.0, "angle": 180.0},
    **{"diameter": 20.0, "depth": 50.0, "below": 15.0},
}


def test_what_stands_between_is_told_with_what_to_do_about_it(said):
    (found,) = said(PICKUP, CONTROLS)
    assert found.verdict == "failed"
    assert (found.value, found.limit) == (0.0, 6.0)
    assert found.detail == "29.4 mm of wood between neck pickup and controls"
    assert found.place.startswith("from neck pickup to controls, ")
    assert "at least 6 mm wide from neck pickup to controls" in found.advice
    assert 80.0 < found.point[0] < 109.4


def test_a_way_that_is_too_narrow_says_where_it_is(said):
    way = box("wires", "pocket", 95, 60, shape="slot", width=4.5)
    (found,) = said(PICKUP, CONTROLS, way)
    assert found.verdict == "failed"
    assert found.value == pytest.approx(4.5, abs=0.02)
    assert found.detail == "narrowest in wires"
    assert "1.5 mm wider in wires" in found.advice
    (found,) = said(PICKUP, CONTROLS, way, wire_channel=4.5)  # just so wide passes
    assert (found.verdict, found.advice) == ("good", "")


def test_from_the_controls_wires_go_on_to_the_jack(said):
    way = box("wires", "pocket", 95, 60, shape="slot", width=8.0)
    pickup, controls = said(PICKUP, CONTROLS, way, bores=[JACK])
    assert pickup.verdict == "good"
    assert controls.verdict == "failed"
    # by hand: the bore ends 250 mm from the edge, the controls 149.4 mm from it
    assert controls.detail == "100.6 mm of wood between controls and jack hole"
    pickup, controls = said(PICKUP, CONTROLS, way, bores=[JACK | {"depth": 160.0}])
    assert controls.verdict == "good"


def test_a_pickup_finds_its_way_through_another_ones_cavity(said):
    second = box("bridge pickup", "pickup", 110, 40)
    controls = box("controls", "control", 170)
    ways = [box(f"way {x}", "pocket", x, 40, shape="slot", width=7.0) for x in (85, 140)]
    for found in said(PICKUP, second, controls, *ways):
        assert found.value == pytest.approx(7.0, abs=0.02)


def test_the_one_wire_from_the_bridge_needs_less(said):
    bridge = box("bridge", "bridge", 60)
    way = box("wires", "pocket", 95, 60, shape="slot", width=3.0)
    (found,) = said(bridge, CONTROLS, way)
    assert (found.verdict, found.limit) == ("good", 2.0)
    assert found.check == "way for a ground wire"


@pytest.mark.parametrize("kind", ["pocket", "weight relief", "hole"])
def test_nothing_is_said_where_no_cavity_is_for_wires(said, kind):
    assert said(box("a", kind, 60), box("b", kind, 129.4)) == []
    assert said(box("a", "pickup", 60), box("b", kind, 129.4)) == []


def test_a_switch_in_the_controls_needs_no_way_of_its_own(said):
    slit = box("switch", "switch", 129.4, 30, shape="slot", width=2.0, depth="through")
    assert [found.name for found in said(CONTROLS, slit)] == []
    apart = slit | {"x": 60.0}
    assert [found.detail for found in said(CONTROLS, apart)] == [
        "34.4 mm of wood between controls and switch"
    ]


@pytest.mark.parametrize(
    "name", ["brambling", "dotterel", "lapwing", "linnet", "merlin", "sanderling"]
)
def test_wires_find_their_way_through_every_electric_example(request, name):
    design = load(request.config.rootpath / "examples" / f"{name}.toml")
    found = list(check(make(design, 0.1, only=["body"])))
    assert found
    assert [finding.verdict for finding in found] == ["good"] * len(found)
