"""Each finding has an id of its own, which stays while dials turn."""

import re
from pathlib import Path

import pytest
from random_necks import random_neck

from carve.check.finding import as_plain
from carve.check.report import inspect
from carve.design import load, read_design, value_at, with_values
from carve.errors import DesignError, SolidError
from carve.parts.job import make

CHORD = 0.6  # mm; ids do not hang on it
RANDOM_NECKS, SEED = 30, 41
EXAMPLES = [path.stem for path in sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))]
ID = re.compile(r"[a-z][a-z0-9-]*\.[a-z][a-z0-9-]*(:[a-z0-9_.+\[\]-]+)?")


def ids(design) -> list[str]:
    return [finding.id for finding in inspect(make(design, CHORD))]


@pytest.mark.parametrize("example", EXAMPLES)
def test_no_two_findings_of_an_example_share_an_id(example, request):
    design = load(request.config.rootpath / "examples" / f"{example}.toml")
    # with limits that nothing keeps every wall that is too thin is told, and not only the thinnest
    thick = {
        f"limits.{name}": 28.0
        for name in ("wood_between_pockets", "wood_to_edge", "wood_under_pockets", "hollow_plate")
    }
    for one in (design, with_values(design, thick)):
        found = ids(one)
        assert len(found) == len(set(found))
        assert [id for id in found if not ID.fullmatch(id)] == []


def test_no_two_findings_of_a_random_neck_share_an_id():
    tried = 0
    for number in range(RANDOM_NECKS):
        try:
            found = ids(read_design(random_neck(SEED, number), "mm"))
        except (DesignError, SolidError):
            continue
        tried += 1
        assert len(found) == len(set(found))
        assert [id for id in found if not ID.fullmatch(id)] == []
    assert tried > RANDOM_NECKS / 2


@pytest.mark.parametrize(
    ("key", "by"),
    [
        ("neck.stations[0].thickness", 0.4),
        ("neck.nut_width", 0.5),
        ("fretboard.thickness", 0.2),
        ("body.thickness", 0.5),
        ("action.bass", 0.2),
        ("limits.profile", 0.05),
    ],
)
def test_ids_stay_while_a_dial_turns_though_figures_and_words_do_not(key, by, pytestconfig):
    linnet = load(pytestconfig.rootpath / "examples" / "linnet.toml")
    turned = with_values(linnet, {key: float(value_at(linnet, key)) + by})
    first, second = (inspect(make(design, CHORD)) for design in (linnet, turned))
    assert [one.id for one in first] == [other.id for other in second]
    changed = [one.id for one, other in zip(first, second, strict=True) if repr(one) != repr(other)]
    assert changed


def test_a_station_that_is_moved_keeps_its_ids_though_what_is_said_of_it_changes(pytestconfig):
    siskin = load(pytestconfig.rootpath / "examples" / "siskin.toml")
    moved = with_values(siskin, {"neck.stations[0].at": "31.5 mm"})
    first, second = ({f.id: f.check for f in inspect(make(d, CHORD))} for d in (siskin, moved))
    assert first.keys() == second.keys()
    said = {id for id in first if first[id] != second[id]}
    assert said == {"neck.thickness:stations[0]", "neck.profile:stations[0]"}


def test_a_wall_has_one_id_whether_it_is_thick_enough_or_not(pytestconfig):
    linnet = load(pytestconfig.rootpath / "examples" / "linnet.toml")
    strict = with_values(linnet, {"limits.wood_between_pockets": 25.0})
    first, second = (
        {
            (finding.place, finding.value): finding.id
            for finding in inspect(make(design, CHORD))
            if finding.check == "walls between pockets"
        }
        for design in (linnet, strict)
    )
    assert len(second) > len(first) == 1
    assert first.items() <= second.items()


def test_the_id_stands_first_in_what_machines_read(pytestconfig):
    siskin = load(pytestconfig.rootpath / "examples" / "siskin.toml")
    for finding in inspect(make(siskin, CHORD)):
        plain = as_plain(finding)
        assert next(iter(plain)) == "id"
        assert plain["id"] == finding.id
        assert plain["id"].startswith(f"{plain['part']}.")
