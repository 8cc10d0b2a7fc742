"""Each problem of a shape is said in one sentence that begins with a key the design file has."""

import dataclasses
import importlib
import itertools
import pkgutil
import re
import types
from collections.abc import Iterator
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest

import carve.shape
from carve.design.io.parse import field_at, read_key
from carve.design.values.units import Unit
from carve.errors import DesignError, Problem, ShapeError
from carve.parts.sentences.families import sentence
from carve.parts.sentences.said import in_sentences

# the labels that parts give, by what carries them
WHERE = {
    "plate": "body.top",
    "body": "body.pockets[0]",
    "outlines": "body.pockets[0]",
    "cover": "body.pockets[0]",
}
ELSEWHERE = {
    "NoChamber": "body.hollow",
    "ChamberLow": "body.hollow",
    "BoreBesideBody": "body.bores[0]",
    "HeightsAtOnePlace": "body.top",
}


def every_problem() -> list[type[Problem]]:
    """All that can be raised: the last of each line of subclasses, wherever in shape it stands."""
    for module in pkgutil.walk_packages(carve.shape.__path__, "carve.shape."):
        importlib.import_module(module.name)

    def last_of(kind: type[Problem]) -> Iterator[type[Problem]]:
        below = [one for one in kind.__subclasses__() if one.__module__.startswith("carve.")]
        if not below and kind is not Problem:
            yield kind
        for one in below:
            yield from last_of(one)

    return sorted(set(last_of(Problem)), key=lambda kind: kind.__name__)


def values_of(kind: Any, name: str, where: str) -> list[Any]:
    """Values that a field of a type may have: every one of a choice, one of any other type."""
    if name in ("where", "other_where") and kind is str:
        return [where]
    if name == "where":
        return [where, None]
    origin, inside = get_origin(kind), get_args(kind)
    if origin is Literal:
        return list(inside)
    if origin in (Union, types.UnionType):
        return [value for one in inside for value in values_of(one, name, where)]
    if origin is tuple and inside[-1] is ...:
        one = values_of(inside[0], name, where)
        return [tuple(one), ()]
    if origin is tuple:
        return list(itertools.product(*(values_of(one, name, where) for one in inside)))
    if dataclasses.is_dataclass(kind):
        return list(examples_of(kind, where))
    return {float: [12.5], int: [1], str: ["some name"], bool: [True, False], type(None): [None]}[
        kind
    ]


def examples_of(kind: Any, where: str) -> Iterator[Any]:
    hints = get_type_hints(kind)
    names = [field.name for field in dataclasses.fields(kind)]
    for values in itertools.product(*(values_of(hints[name], name, where) for name in names)):
        yield kind(**dict(zip(names, values, strict=True)))


def test_there_are_problems_to_look_at() -> None:
    assert len(every_problem()) > 60
    assert {kind.__module__.split(".")[-1] for kind in every_problem()} == {"problems"}


@pytest.mark.parametrize("kind", every_problem(), ids=lambda kind: kind.__name__)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_each_problem_begins_with_a_key_that_there_is(kind: type[Problem], unit: Unit) -> None:
    family = kind.__module__.split(".")[2]
    where = ELSEWHERE.get(kind.__name__, WHERE.get(family, ""))
    for problem in examples_of(kind, where):
        said = sentence(problem, unit)
        assert "\n" not in said
        key, colon, rest = said.partition(": ")
        assert colon
        assert len(rest) > 20
        assert field_at(read_key(key))[1] is not None, said
        if unit == "in":
            assert not re.search(r"\bmm\b", said), "a file in inches is answered in inches"


def test_a_key_that_there_is_not_would_be_seen() -> None:
    assert field_at(read_key("body.hollow.rims"))[1] is None


def test_a_problem_without_a_sentence_is_an_error() -> None:
    class Unsaid(Problem):
        pass

    with pytest.raises(TypeError, match="Unsaid"):
        sentence(Unsaid(), "mm")


def test_several_problems_are_several_sentences() -> None:
    import carve.shape.body.problems as body

    with pytest.raises(DesignError) as caught, in_sentences("in"):
        raise ShapeError(body.WallThin("body.bores[0]", "jack", 0.127, 0.2), body.NoChamber("b"))
    first, second = caught.value.problems
    # by hand: 0.127 mm / 25.4 = 0.005 in
    assert first.startswith("body.bores[0]: jack leaves 0.005 in to the outline; at least 0.008 in")
    assert second.startswith("b.rim: ")
