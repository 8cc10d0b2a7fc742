"""Tuner holes told one by one, and the hand: what may be written and what is said otherwise."""

import numpy as np
import pytest
import trimesh

from carve.design import load, parse, read_text, rewrite, with_values
from carve.errors import DesignError
from carve.parts.job import make

ROW = "neck.headstock.tuners[0]"
SIX = [[54.0, -31.0], [79.0, -32.0], [104.0, -33.5], [129.0, -34.5], [154.0, -35.0], [179.0, -35.0]]

ONE_SENTENCE = [
    ({f"{ROW}.behind": 50.0}, f"{ROW}.places", ["behind", "not allowed"]),
    ({f"{ROW}.number": 6, f"{ROW}.spacing": 25.0}, f"{ROW}.places", ["number, spacing"]),
    ({f"{ROW}.drift": 1.0}, f"{ROW}.places", ["drift"]),
    ({f"{ROW}.places": []}, f"{ROW}.behind", ["missing", "or places"]),
    ({f"{ROW}.places": [], f"{ROW}.behind": 50.0}, f"{ROW}.aside", ["missing", "or places"]),
    ({f"{ROW}.places": 5}, f"{ROW}.places", ["5 is not a list", "[behind, aside]"]),
    ({f"{ROW}.places": [[50.0]]}, f"{ROW}.places", ["[0]", "not a pair", "[behind, aside]"]),
    ({f"{ROW}.places": [*SIX[:2], [1.0, 2.0]]}, f"{ROW}.places", ["[2], behind", "5 mm to 390 mm"]),
    ({f"{ROW}.places": [[60, "left"]]}, f"{ROW}.places", ["[0], aside", '"left" is not a length']),
    ({f"{ROW}.places": [*SIX, [180.0, -34.0]]}, f"{ROW}.places", ["1.41 mm", "at least 11 mm"]),
    ({"handed": "both"}, "handed", ['"both"', '"right" or "left"']),
]


@pytest.fixture(scope="module")
def whinchat(request):
    return load(request.config.rootpath / "examples" / "whinchat.toml")


@pytest.mark.parametrize(("changes", "key", "held"), ONE_SENTENCE)
def test_each_mistake_is_one_sentence(whinchat, changes, key, held):
    with pytest.raises(DesignError) as caught:
        with_values(whinchat, changes)
    assert len(caught.value.problems) == 1
    sentence = caught.value.problems[0]
    assert sentence.startswith(f"{key}: ")
    for part in held:
        assert part in sentence


@pytest.mark.parametrize("place", [[40.0, -20.0], [120.0, -80.0]])
def test_a_place_without_room_is_told_by_its_own_key(whinchat, place):
    with pytest.raises(DesignError) as caught:
        make(with_values(whinchat, {f"{ROW}.places": [place]}))
    assert caught.value.problems[0].startswith(f"{ROW}.places: the hole")


def test_the_holes_go_through_where_the_list_says(whinchat):
    # trimesh shoots rays straight down: beside the axis all meet air, beyond the wall all wood
    part = make(whinchat, 0.02, only=["neck"]).parts[0]
    solid = trimesh.Trimesh(part.mesh.points, part.mesh.triangles, process=False)
    turn = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    ring = np.stack([np.cos(turn), np.sin(turn), np.zeros(12)], axis=1)
    down = np.tile([0.0, 0.0, -1.0], (12, 1))
    for behind, aside in SIX:
        axis = np.array([-behind, aside, 20.0])
        assert not solid.ray.intersects_any(axis + 4.9 * ring, down).any()
        assert solid.ray.intersects_any(axis + 5.1 * ring, down).all()


def test_a_row_and_the_same_places_are_one_headstock(whinchat):
    row = {"diameter": 10.0, "behind": 54.0, "aside": -31.0, "number": 6, "spacing": 25.0}
    listed = {"diameter": 10.0, "places": [[54.0 + 25 * n, -31.0] for n in range(6)]}
    holes = []
    for tuners in (row, listed):
        design = with_values(whinchat, {"neck.headstock.tuners": [tuners]})
        holes.append(make(design, 0.1, only=["neck"]).parts[0].shape.head.holes)
    assert holes[0] == holes[1]


def test_places_in_inches_are_read_and_written_back(request, whinchat):
    text = read_text(request.config.rootpath / "examples" / "whinchat.toml")
    inches = text.replace("[54, -31]", '["2 1/8 in", "-1 1/4 in"]')
    design = parse(inches)
    assert design.neck.headstock.tuners[0].places[0] == pytest.approx((53.975, -31.75))
    moved = [list(place) for place in design.neck.headstock.tuners[0].places]
    moved[0][0] += 0.5
    changed = with_values(design, {f"{ROW}.places": moved})
    again = parse(rewrite(inches, changed))
    assert again.neck.headstock.tuners[0].places[0] == pytest.approx((54.475, -31.75), abs=2e-4)
