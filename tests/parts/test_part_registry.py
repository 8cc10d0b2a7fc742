"""Every sort of part stands in the register, and is loaded where a design has such parts."""

import pkgutil
from importlib import import_module

import pytest

import carve.parts
from carve.design import load
from carve.parts.kind import PartType
from carve.parts.registry import PARTS, part_types


def defined() -> set[PartType]:
    modules = pkgutil.iter_modules(carve.parts.__path__, "carve.parts.")
    values = (value for one in modules for value in vars(import_module(one.name)).values())
    return {value for value in values if isinstance(value, PartType)}


def test_each_sort_of_part_is_listed_once():
    listed = [one.load() for one in PARTS]
    assert len(listed) > 3
    assert len(listed) == len(set(listed))
    assert set(listed) == defined()


@pytest.mark.parametrize("name", ["wren", "linnet"])
def test_no_design_has_a_part_of_a_sort_that_it_does_not_want(name, pytestconfig):
    design = load(pytestconfig.rootpath / "examples" / f"{name}.toml")
    had = [one.load() for one in PARTS if one.load().instances(design)]
    assert len(had) == {"wren": 2, "linnet": 4}[name]
    assert [kind for kind in part_types(design) if kind.instances(design)] == had
