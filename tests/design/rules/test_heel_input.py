"""What is wrong with a heel: one sentence, beginning with the key to change."""

import pytest

from carve.design import load, with_values
from carve.errors import DesignError

HOLES = "neck.heel.holes"
TENON = {"kind": "tenon", "length": 60.0, "depth": 24.0, "blend": 38.0, "width": 42.0}

ONE_SENTENCE = [
    ({"neck.heel.kind": "glued"}, "neck.heel.kind", ['"glued"', '"bolted"', '"tenon"']),
    ({"neck.heel.length": 5.0}, "neck.heel.length", ["5 mm", "10 mm to 300 mm"]),
    ({"neck.heel.depth": 0.0}, "neck.heel.depth", ["0 mm", "5 mm to 120 mm"]),
    ({"neck.heel.blend": 1.0}, "neck.heel.blend", ["1 mm", "5 mm to 250 mm"]),
    ({"neck.heel.width": 5.0}, "neck.heel.width", ["5 mm", "10 mm to 150 mm"]),
    ({"neck.heel.corner_radius": -1.0}, "neck.heel.corner_radius", ["-1 mm", "0 mm to 60 mm"]),
    ({"neck.heel.corner_radius": 30.0, HOLES: []}, "neck.heel.corner_radius", ["at most"]),
    ({"neck.heel.length": 299.0, "neck.heel.blend": 150.0}, "neck.heel.length", ["longer than"]),
    ({"neck.heel.angle": 16.0}, "neck.heel.angle", ["16", "0 to 15"]),
    ({"neck.heel.angle": 2.0}, "neck.heel.angle", ["2°", '"bolted"']),
    ({f"{HOLES}[0].from_end": 3.0}, f"{HOLES}[0].from_end", ["3 mm", "3.5 mm to 58.5 mm"]),
    ({f"{HOLES}[0].aside": -27.0}, f"{HOLES}[0].aside", ["-27 mm", "at most"]),
    ({f"{HOLES}[0].diameter": 0.0}, f"{HOLES}[0].diameter", ["0 mm", "1 mm to 25 mm"]),
    ({f"{HOLES}[1].aside": -17.0}, f"{HOLES}[1].from_end", ["1 mm", "at least 6 mm"]),
    ({"neck.truss_rod.end": 440.0, f"{HOLES}[0].aside": -4.0}, f"{HOLES}[0].aside", ["truss"]),
    ({"neck.heel": {**TENON, "width": None}}, "neck.heel.width", ["missing", '"tenon"']),
    ({"neck.heel": {**TENON, "width": 60.0}}, "neck.heel.width", ["60 mm", "shoulder"]),
    ({"neck.heel": {**TENON, "width": 35.0, "angle": 15.0}}, "neck.heel.angle", ["15°", "8 mm"]),
    (
        {"neck.heel": {**TENON, "holes": [{"from_end": 20.0, "diameter": 5.0}]}},
        HOLES,
        ["not allowed", '"tenon"'],
    ),
    (
        {"neck.heel": {**TENON, "width": 12.0}, "neck.truss_rod.end": 440.0}
        | {"neck.truss_rod.width": 11.0},
        "neck.heel.width",
        ["12 mm", "11 mm", "each side"],
    ),
    ({"neck.gauges": ["fret 1", "fret 24"]}, "neck.gauges[1]", ["fret 24", "beyond the heel end"]),
    ({"neck.gauges": ["fret x"]}, "neck.gauges[0]", ['"fret x" is not a fret']),
]


@pytest.mark.parametrize(("changes", "key", "held"), ONE_SENTENCE)
def test_each_mistake_is_one_sentence_with_key_value_and_what_is_allowed(
    siskin, changes, key, held
):
    with pytest.raises(DesignError) as caught:
        with_values(siskin, changes)
    (sentence,) = caught.value.problems
    assert sentence.startswith(f"{key}: ")
    for part in held:
        assert part in sentence


@pytest.fixture(scope="module")
def siskin(request):
    return load(request.config.rootpath / "examples" / "siskin.toml")
