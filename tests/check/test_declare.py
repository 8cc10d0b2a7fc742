"""A check reads no key of the design but those that it says it looks at."""

from collections.abc import Iterator
from contextlib import suppress

import numpy as np
import pytest
from random_necks import random_neck
from watched import Watched, undeclared

from carve.check.declare import EVERY_PART, Check, looks_at, tables_at, value_at
from carve.check.order import all_checks
from carve.design import Design, load, read_design, with_values
from carve.design.io.dials import dials
from carve.design.io.parse import field_at, read_key
from carve.design.schema.outline import OutlineFile, outlines_in
from carve.design.schema.table import Table
from carve.errors import DesignError, SolidError
from carve.parts.job import Job, make
from carve.shape.fretboard.shape import FretboardShape
from carve.shape.neck.shape import NeckShape

CHORD = 0.6  # mm; what is read does not hang on it
RANDOM_NECKS, SEED = 16, 26
TURNS = 3  # dials that are turned of each example


def examples(config) -> list:
    return sorted((config.rootpath / "examples").glob("*.toml"))


def turned(design: Design, number: int) -> Design:
    """The design with some dials at either end of their travel, as far as it allows that."""
    dice = np.random.default_rng([SEED, number])
    travels = [dial for dial in dials(design) if dial.lowest is not None]
    for at in dice.choice(len(travels), TURNS, replace=False):
        dial = travels[at]
        try:
            design = with_values(
                design, {dial.key: float(dice.choice([dial.lowest, dial.highest]))}
            )
        except DesignError:
            continue
    return design


def more_designs(config) -> Iterator[tuple[str, Design]]:
    """Every example with dials turned as far as they go, and random necks."""
    for number, path in enumerate(examples(config)):
        yield f"{path.stem}, turned", turned(load(path), number)
    for number in range(RANDOM_NECKS):
        with suppress(DesignError):
            yield f"random {number}", read_design(random_neck(SEED, number), "mm")


def read_by(check: Check, job: Job, monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """The keys that a check reads without saying so."""
    watched = Watched(job.design)
    found: set[str] = set()
    for look in check.looks(Job(watched.design, job.parts)):
        with watched.watching(monkeypatch) as read:
            look.findings()
        found |= undeclared(read, check.keys_for(watched.design, look.parts))
    return found


def wrongly_read(name: str, design: Design, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    job = make(design, CHORD)
    return [
        f"{name}: {check.run.__module__} reads {key}"
        for check in all_checks()
        for key in sorted(read_by(check, job, monkeypatch))
    ]


def test_no_check_reads_a_key_that_it_does_not_name(pytestconfig, monkeypatch):
    paths = examples(pytestconfig)
    assert len(paths) > 20
    assert [one for p in paths for one in wrongly_read(p.stem, load(p), monkeypatch)] == []


@pytest.mark.slow
def test_nor_in_designs_turned_to_the_ends_and_random_ones(pytestconfig, monkeypatch):
    wrong, tried = [], 0
    for name, design in more_designs(pytestconfig):
        with suppress(DesignError, SolidError):
            wrong += wrongly_read(name, design, monkeypatch)
            tried += 1
    assert wrong == []
    assert tried > 20


@pytest.mark.parametrize(
    ("reads", "key"),
    [
        (lambda design: design.limits.action, "limits.action"),
        (lambda design: design.fan, "fretboard.treble_scale_length"),
        (lambda design: design.saddle_line, "scale_length"),
        (lambda design: design.neck.stations, "neck.stations"),
        (lambda design: hash(design.neck.blank), "neck.blank.*"),
        (lambda design: design.body is None, "body"),
    ],
)
def test_a_check_that_does_is_found(reads, key, pytestconfig, monkeypatch):
    job = make(load(pytestconfig.rootpath / "examples" / "kite.toml"), CHORD)

    @looks_at(keys=("units",))
    def forgetful(job: Job) -> Iterator[None]:
        yield reads(job.design)

    assert key in read_by(forgetful, job, monkeypatch)


def test_what_stands_for_a_key_is_itself_or_a_table_that_it_is_in():
    assert undeclared({"body.top.ledge", "body.top", "body."}, ("body.top",)) == set()
    assert undeclared({"body.top.ledge", "body."}, ("body.top.ledge",)) == set()
    assert undeclared({"body.top.*"}, ("body.top.ledge",)) == {"body.top.*"}
    assert undeclared({"body.topmost"}, ("body.top",)) == {"body.topmost"}
    assert undeclared({"body.pockets", "body."}, ("body.pockets[1].depth",)) == set()


def test_each_key_that_a_check_names_is_one_of_the_design_file():
    assert field_at(read_key("limits.wood_in_neck"))[1] is None
    for check in all_checks():
        for key in check.keys:
            if not isinstance(key, str):
                assert issubclass(key, Table)
            elif "{part}" in key:
                assert check.apart
            else:
                assert field_at(read_key(key))[1] is not None, (check.run.__module__, key)


class Holder(Table):
    outline: OutlineFile | None = None


class Held(Design):
    """A design with outlines at other places too, also in a list."""

    holders: tuple[Holder, ...] = ()


def test_a_type_of_table_stands_for_every_such_table(pytestconfig):
    design = load(pytestconfig.rootpath / "examples" / "dotterel.toml")
    ours = ("neck.headstock.drawn", "body.outline")
    assert tables_at(design, OutlineFile) == ours
    assert set(ours) >= {key for key, _ in outlines_in(design)} >= {"body.outline"}
    outline = OutlineFile(points=((0, 0), (1, 0), (0, 1)))
    fields = {name: getattr(design, name) for name in Design.model_fields}
    held = Held(**fields, holders=(Holder(outline=outline), Holder()))
    found = tables_at(held, OutlineFile)
    assert found == (*ours, "holders[0].outline", "holders[1].outline")
    assert [value_at(held, key) for key in found[2:]] == [outline, None]
    check = looks_at(keys=(OutlineFile,))(lambda job: iter(()))
    assert check.keys_for(held, ()) == found


def test_a_check_that_looks_at_nothing_is_refused():
    with pytest.raises(TypeError, match="which parts or which keys"):
        looks_at()
    with pytest.raises(TypeError, match="not at both"):
        looks_at(each=NeckShape, together=(NeckShape, FretboardShape))


def test_a_check_is_handed_the_parts_it_names_and_no_other(pytestconfig):
    job = make(load(pytestconfig.rootpath / "examples" / "linnet.toml"), CHORD)
    assert len(job.parts) > 3  # neck, fretboard, body and a cover

    def names(**declared) -> list[list[str]]:
        check = looks_at(**declared)(lambda job: iter([job]))
        return [[part.name for part in look.parts] for look in check.looks(job)]

    assert names(each=EVERY_PART) == [[part.name] for part in job.parts]
    assert names(each=NeckShape) == [["neck"]]
    assert names(together=(NeckShape, FretboardShape)) == [["neck", "fretboard"]]
    assert names(keys=("units",)) == [[]]


def test_a_key_of_a_table_that_is_not_there_is_not_a_key_that_is_left_out(pytestconfig):
    linnet = load(pytestconfig.rootpath / "examples" / "linnet.toml")
    bare = load(pytestconfig.rootpath / "examples" / "siskin.toml")
    assert linnet.body is not None
    assert linnet.body.hollow is None
    assert bare.body is None
    assert value_at(linnet, "body.hollow") is None
    assert value_at(bare, "body.hollow") != value_at(linnet, "body.hollow")
    assert value_at(linnet, "neck.stations[1].at") == linnet.neck.stations[1].at
