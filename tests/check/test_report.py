"""What has not changed is not reckoned again, and that never shows in a finding."""

from collections.abc import Iterator

import pytest
from cold import digest

from carve.check.body import wood as body_wood
from carve.check.declare import Check, Look
from carve.check.every_part import mesh
from carve.check.neck import profile, wood_under_channel
from carve.check.order import all_checks
from carve.check.plate import wood as plate_wood
from carve.check.report import inspect
from carve.design import Design, load, value_at, with_values
from carve.design.io.dials import DialSpec, dials
from carve.errors import DesignError, SolidError
from carve.parts.cache import forget_all
from carve.parts.job import make
from carve.shape.fretboard.shape import FretboardShape
from carve.shape.neck.shape import NeckShape

CHORD = 0.3  # mm


def some_dials(design: Design, each: int) -> list[DialSpec]:
    """At most so many of each table of the design: of all parts, and of what lies between them."""
    tables: dict[str, list[DialSpec]] = {}
    for dial in dials(design):
        if dial.lowest is not None:
            tables.setdefault(dial.key.partition(".")[0], []).append(dial)
    return [
        found[at]
        for found in tables.values()
        for at in sorted({(2 * share + 1) * len(found) // (2 * each) for share in range(each)})
    ]


def turns(design: Design, each: int) -> Iterator[tuple[str, Design]]:
    """Dials turned one after the other, every other one of them back again."""
    for number, dial in enumerate(some_dials(design, each)):
        step = dial.step if dial.value + dial.step <= dial.highest else -dial.step
        try:
            turned = with_values(design, {dial.key: float(value_at(design, dial.key)) + step})
            make(turned, CHORD)
        except (DesignError, SolidError):
            continue
        yield dial.key, turned
        if number % 2:
            yield f"{dial.key} back", design
        else:
            design = turned


@pytest.mark.slow
@pytest.mark.parametrize(
    ("example", "each"), [("dipper", 1), ("linnet", 3), ("kite", 4), ("heron", 4)]
)
def test_findings_after_a_turn_are_those_of_a_house_that_has_forgotten_all(example, each, request):
    design = load(request.config.rootpath / "examples" / f"{example}.toml")
    walk = [("as it is", design), *turns(design, each)]
    assert {key.partition(".")[0] for key, _ in walk} >= {"neck", "fretboard"}
    assert ("body" in {key.partition(".")[0] for key, _ in walk}) == (design.body is not None)
    forget_all()
    warm = [digest(make(one, CHORD)) for _, one in walk]
    cold = []
    for _, one in walk:
        forget_all()
        cold.append(digest(make(one, CHORD)))
    wrong = [key for (key, _), one, other in zip(walk, warm, cold, strict=True) if one != other]
    assert wrong == []
    assert len(set(warm)) > len(walk) / 2


@pytest.mark.parametrize(
    ("key", "value"), [("limits.wood_to_edge", 18.5), ("handed", "left"), ("title", "Another")]
)
def test_what_no_part_hangs_on_shows_in_the_findings_where_it_should(key, value, pytestconfig):
    design = load(pytestconfig.rootpath / "examples" / "linnet.toml")
    before, after = make(design, CHORD), make(with_values(design, {key: value}), CHORD)
    assert all(one is other for one, other in zip(before.parts, after.parts, strict=True))
    first, second = digest(before), digest(after)
    assert (first == second) == (key == "title")
    assert first == digest(before)
    forget_all()
    assert second == digest(after)
    forget_all()
    assert first == digest(before)


@pytest.fixture
def reckoned(monkeypatch) -> list[Look]:
    """The looks that are reckoned and not remembered, as they come."""
    found: list[Look] = []
    real = Look.findings

    def telling(look: Look):
        found.append(look)
        return real(look)

    monkeypatch.setattr(Look, "findings", telling)
    return found


def checks_of(shape: type) -> set[Check]:
    """Those that look at parts of a shape one by one, and at no other."""
    return {check for check in all_checks() if check.shapes == (shape,)}


NECK, BOARD = checks_of(NeckShape), checks_of(FretboardShape)
WALLS = {body_wood.check, plate_wood.check}


@pytest.mark.parametrize(
    ("key", "changed", "same"),
    [
        ("neck.stations[0].thickness", NECK, WALLS | BOARD),
        ("body.pockets[1].depth", {body_wood.check}, NECK | BOARD),
        ("fretboard.radius.nut", BOARD, WALLS | {profile.check}),
    ],
)
def test_a_turn_of_one_part_leaves_the_others_alone(key, changed, same, pytestconfig, reckoned):
    design = load(pytestconfig.rootpath / "examples" / "linnet.toml")
    forget_all()
    before = make(design, CHORD)
    inspect(before)
    assert {look.check for look in reckoned} >= NECK | BOARD | {body_wood.check}
    del reckoned[:]
    after = make(with_values(design, {key: float(value_at(design, key)) + 0.2}), CHORD)
    inspect(after)
    again = {look.check for look in reckoned}
    assert changed <= again
    assert not same & again
    # what every part goes through is gone through by those alone that have changed
    anew = [part for part in after.parts if part not in before.parts]
    assert [part for look in reckoned for part in look.parts if look.check is mesh.check] == anew


def test_a_neck_thickness_does_not_reckon_the_bodys_walls(pytestconfig, reckoned):
    design = load(pytestconfig.rootpath / "examples" / "dipper.toml")
    inspect(make(design, CHORD))
    del reckoned[:]
    inspect(make(with_values(design, {"neck.stations[0].thickness": 21.35}), CHORD))
    again = {look.check for look in reckoned}
    assert {profile.check, wood_under_channel.check} <= again
    assert not {body_wood.check, plate_wood.check} & again


def test_a_limit_reckons_the_checks_that_hold_to_it_and_no_other(pytestconfig, reckoned):
    design = load(pytestconfig.rootpath / "examples" / "linnet.toml")
    inspect(make(design, CHORD))
    del reckoned[:]
    inspect(make(with_values(design, {"limits.wood_under_channel": 3.123}), CHORD))
    assert [look.check for look in reckoned] == [wood_under_channel.check]


def test_forgetting_all_forgets_the_findings(pytestconfig, reckoned):
    job = make(load(pytestconfig.rootpath / "examples" / "siskin.toml"), CHORD)
    forget_all()
    first = inspect(job)
    count = len(reckoned)
    assert [one is other for one, other in zip(inspect(job), first, strict=True)] == [True] * len(
        first
    )
    assert len(reckoned) == count
    forget_all()
    inspect(job)
    assert len(reckoned) == 2 * count
