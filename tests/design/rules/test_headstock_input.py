"""What is wrong with a headstock: one sentence, beginning with the key to change."""

import pytest

from carve.design import load, with_values
from carve.errors import DesignError

HEAD, PLAN = "neck.headstock", "neck.headstock.outline"
VOLUTE = {"height": 3.0, "length": 40.0, "width": 30.0, "behind": 22.0}
POCKET = {"at": "nut", "length": 15.0, "width": 10.0, "depth": 8.0, "behind": 15.0}

ONE_SENTENCE = [
    ({f"{HEAD}.tilt": 30.0, f"{HEAD}.drop": 0.0}, f"{HEAD}.tilt", ["30", "0 to 25"]),
    ({f"{HEAD}.tilt": 12.0}, f"{HEAD}.drop", ["4 mm", "12°"]),
    ({f"{HEAD}.thickness": 2.0}, f"{HEAD}.thickness", ["2 mm", "5 mm to 40 mm"]),
    ({f"{HEAD}.blend_radius": 1.0}, f"{HEAD}.blend_radius", ["1 mm", "5 mm to 2000 mm"]),
    ({f"{HEAD}.transition": 2.0}, f"{HEAD}.transition", ["2 mm", "8 mm to 120 mm"]),
    ({f"{HEAD}.joint": "scarfed"}, f"{HEAD}.joint", ['"scarfed"', "0°", "at least 4°"]),
    ({f"{HEAD}.joint": "nailed"}, f"{HEAD}.joint", ['"nailed"', '"one piece"', '"scarfed"']),
    (
        {f"{HEAD}.joint": "scarfed", f"{HEAD}.drop": 0.0, f"{HEAD}.tilt": 4.0}
        | {f"{HEAD}.thickness": 30.0},
        f"{HEAD}.joint",
        ["425.07 mm from the nut", "381.69 mm"],
    ),
    ({f"{HEAD}.seat": 0.01}, f"{HEAD}.seat", ["0, or at least 0.2 mm"]),
    ({f"{HEAD}.drop": 0.0, f"{HEAD}.tilt": 0.1}, f"{HEAD}.tilt", ["0, or at least 0.2°"]),
    ({f"{HEAD}.seat": -1.0}, f"{HEAD}.seat", ["-1 mm", "0 mm to 30 mm"]),
    ({f"{PLAN}.family": "heart"}, f"{PLAN}.family", ['"heart"', '"straight"', '"waisted"']),
    ({f"{PLAN}.length": 5.0}, f"{PLAN}.length", ["5 mm", "40 mm to 400 mm"]),
    ({f"{PLAN}.length": 5000.0}, f"{PLAN}.length", ["5000 mm", "40 mm to 400 mm"]),
    ({f"{PLAN}.family": "waisted"}, f"{PLAN}.waist", ["missing", "waisted"]),
    ({f"{PLAN}.waist": 60.0}, f"{PLAN}.waist", ["60 mm", '"straight"']),
    ({f"{PLAN}.flare": 150.0, f"{PLAN}.length": 155.0}, f"{PLAN}.flare", ["at most 145 mm"]),
    ({f"{PLAN}.slant": -100.0, f"{PLAN}.flare": 70.0}, f"{PLAN}.flare", ["at most 65 mm"]),
    ({f"{PLAN}.aside": 30.0}, f"{PLAN}.width", ["78 mm", "9 mm", "16.8 mm"]),
    ({f"{HEAD}.tuners[0].spacing": None}, f"{HEAD}.tuners[0].spacing", ["missing", "3 holes"]),
    ({f"{HEAD}.tuners[0].number": 13}, f"{HEAD}.tuners[0].number", ["13", "1 to 12"]),
    ({f"{HEAD}.tuners[0].spacing": 10.0}, f"{HEAD}.tuners[0].spacing", ["at least 11 mm"]),
    ({f"{HEAD}.tuners[1].aside": -26.0}, f"{HEAD}.tuners[1].behind", ["0 mm", "at least 11 mm"]),
    ({f"{HEAD}.volute": {**VOLUTE, "height": 20.0}}, f"{HEAD}.volute.height", ["0.2 mm to 15 mm"]),
    ({f"{HEAD}.volute": {**VOLUTE, "width": 40.0}}, f"{HEAD}.volute.width", ["at most 37.8 mm"]),
    (
        {f"{HEAD}.volute": {**VOLUTE, "length": 120.0, "behind": 20.0}},
        f"{HEAD}.volute.length",
        ["40 mm before the nut", "fret 1"],
    ),
    (
        {"neck.truss_rod.access": {**POCKET, "at": "heel"}},
        "neck.truss_rod.access.behind",
        ['"heel"'],
    ),
    (
        {"neck.truss_rod.access": POCKET, HEAD: None},
        "neck.truss_rod.access.behind",
        ["15 mm", "without a headstock"],
    ),
    (
        {"neck.truss_rod.access": POCKET, "neck.truss_rod.start": 20.0},
        "neck.truss_rod.access.behind",
        ["20 mm from the nut"],
    ),
    (
        {"fretboard.nut": "zero fret", "fretboard.behind": 9.0},
        f"{HEAD}.seat",
        ["5 mm", "9 mm behind the nut"],
    ),
]


@pytest.mark.parametrize(("changes", "key", "held"), ONE_SENTENCE)
def test_each_mistake_is_one_sentence_with_key_value_and_what_is_allowed(
    siskin, changes, key, held
):
    with pytest.raises(DesignError) as caught:
        with_values(siskin, changes)
    assert len(set(caught.value.problems)) == 1
    sentence = caught.value.problems[0]
    assert sentence.startswith(f"{key}: ")
    for part in held:
        assert part in sentence


@pytest.fixture(scope="module")
def siskin(request):
    return load(request.config.rootpath / "examples" / "siskin.toml")
