"""What is wrong with a carved heel or a through-neck: one sentence with the key to change."""

import pytest

from carve.design import load, with_values
from carve.errors import DesignError

TONGUE = "neck.heel.tongue"

CARVED = [
    ({"neck.heel.cap_length": None}, "neck.heel.cap_length", ["missing", '"carved"']),
    ({"neck.heel.cap_width": None}, "neck.heel.cap_width", ["missing", '"carved"']),
    ({"neck.heel.cap_length": 1.0}, "neck.heel.cap_length", ["1 mm", "2 mm to 80 mm"]),
    ({"neck.heel.cap_width": 54.5}, "neck.heel.cap_width", ["54.5 mm", "body's edge", "1 mm"]),
    ({"neck.heel.flank": 1.5}, "neck.heel.flank", ["1.5", "-1 to 1"]),
    ({"neck.heel.length": 30.0}, "neck.heel.length", ["not allowed", '"carved"']),
    ({"neck.heel.width": 30.0}, "neck.heel.width", ["not allowed", '"carved"']),
    ({"neck.heel.end_width": 30.0}, "neck.heel.end_width", ["not allowed", '"carved"']),
    ({"neck.heel.angle": 1.0}, "neck.heel.angle", ["not allowed", '"carved"']),
    ({"neck.heel.corner_radius": 1.0}, "neck.heel.corner_radius", ["not allowed", '"carved"']),
    (
        {"neck.heel.holes": [{"from_end": 20.0, "diameter": 5.0}]},
        "neck.heel.holes",
        ["not allowed", '"carved"'],
    ),
    (
        {"neck.stations[0].at": 345.0, "neck.stations[1].at": 350.0},
        "neck.stations[0].at",
        ["345 mm", "at least one station", "at most 327 mm"],
    ),
    ({"neck.heel.blend": 250.0, "neck.heel_end": 260.0}, "neck.heel.blend", ["250 mm", "230 mm"]),
    ({f"{TONGUE}.width": 55.0}, f"{TONGUE}.width", ["55 mm", "shoulder"]),
    ({f"{TONGUE}.depth": 83.5}, f"{TONGUE}.depth", ["83.5 mm", "84 mm", "1 mm"]),
    ({f"{TONGUE}.depth": 4.0}, f"{TONGUE}.depth", ["4 mm", "5 mm to 120 mm"]),
    ({f"{TONGUE}.angle": 15.0, f"{TONGUE}.width": 20.0}, f"{TONGUE}.angle", ["15°", "8 mm"]),
    ({f"{TONGUE}.corner_radius": 14.0}, f"{TONGUE}.corner_radius", ["14 mm", "at most"]),
    ({f"{TONGUE}.corner_radius": 0.1}, f"{TONGUE}.corner_radius", ["0.1 mm", "0.2 mm"]),
    ({"joint.at": 353.0}, "joint.at", ["353 mm", "352 mm", "tongue.length"]),
    ({TONGUE: None, "joint.at": 382.0}, "joint.pocket_width", ["butts"]),
    (
        {"neck.truss_rod.end": 375.0, "neck.truss_rod.width": 25.0},
        f"{TONGUE}.width",
        ["25 mm", "each side"],
    ),
]

THROUGH = [
    ({"joint": None}, "neck.heel.kind", ['"through"', "[joint]"]),
    ({"neck.heel.length": 60.0}, "neck.heel.length", ["not allowed", '"through"']),
    ({"neck.heel.cap_length": 9.0}, "neck.heel.cap_length", ["not allowed", '"through"']),
    ({"neck.heel.flank": 0.5}, "neck.heel.flank", ["not allowed", '"through"']),
    ({"neck.heel.corner_radius": 3.0}, "neck.heel.corner_radius", ["not allowed", '"through"']),
    ({"joint.pocket_width": 60.0}, "joint.pocket_width", ['"through"', "leave it out"]),
    ({"neck.heel_end": 650.0}, "neck.heel_end", ["650 mm", "659.7 mm"]),
    ({"neck.heel_end": 1400.0}, "neck.heel_end", ["1400 mm", "1300 mm"]),
    ({"joint.at": 40.0}, "joint.at", ["40 mm", "50 mm"]),
    ({"joint.at": "fret 26"}, "joint.at", ["671.25 mm", "659.7 mm"]),
    ({"neck.heel.depth": 4.0}, "neck.heel.depth", ["4 mm", "5 mm to 120 mm"]),
]

OTHERS = [
    ({"neck.heel.length": None}, "neck.heel.length", ["missing", '"bolted"']),
    ({"neck.heel.cap_width": 20.0}, "neck.heel.cap_width", ["not allowed", '"bolted"']),
    ({"neck.heel.end_width": 20.0}, "neck.heel.end_width", ["not allowed", '"bolted"']),
    (
        {TONGUE: {"length": 20.0, "width": 20.0, "depth": 10.0}},
        TONGUE,
        ["not allowed", '"bolted"'],
    ),
    ({"neck.heel_end": 700.0}, "neck.heel_end", ["700 mm", "scale length"]),
]


@pytest.mark.parametrize(
    ("name", "changes", "key", "held"),
    [
        (name, *case)
        for name, cases in (("redstart", CARVED), ("curlew", THROUGH), ("siskin", OTHERS))
        for case in cases
    ],
)
def test_each_mistake_is_one_sentence_with_key_value_and_what_is_allowed(
    request, name, changes, key, held
):
    design = load(request.config.rootpath / "examples" / f"{name}.toml")
    with pytest.raises(DesignError) as caught:
        with_values(design, changes)
    sentences = [said for said in caught.value.problems if said.startswith(f"{key}: ")]
    assert len(sentences) == 1, caught.value.problems
    for part in held:
        assert part in sentences[0]


def test_a_through_neck_says_where_its_board_ends(request):
    design = load(request.config.rootpath / "examples" / "curlew.toml")
    with pytest.raises(DesignError) as caught:
        with_values(design, {"fretboard.beyond_last_fret": None})
    assert caught.value.problems[0].startswith("fretboard.beyond_last_fret: missing")
