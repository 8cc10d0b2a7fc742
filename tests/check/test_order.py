"""Every check stands in the list, and nothing but checks stands in the rooms of checks."""

from importlib import import_module
from pathlib import Path

from carve.check.declare import Check
from carve.check.order import CHECKS

ROOM = Path(__file__).parents[2] / "carve" / "check"
HELPERS = "reading"


def modules(folder: Path) -> list[str]:
    names = (path.relative_to(ROOM.parents[1]).with_suffix("") for path in folder.glob("*.py"))
    return [".".join(name.parts) for name in names if name.name != "__init__"]


def subjects() -> list[Path]:
    return [path.parent for path in ROOM.glob("*/__init__.py") if path.parent.name != HELPERS]


def test_a_file_of_a_subject_is_one_check():
    found = [name for folder in subjects() for name in modules(folder)]
    assert len(found) > 30
    checks = {name: getattr(import_module(name), "check", None) for name in found}
    assert [name for name, check in checks.items() if not isinstance(check, Check)] == []
    assert [name for name, check in checks.items() if check.run.__module__ != name] == []


def test_each_check_is_listed_once():
    listed = [check.run.__module__ for check in CHECKS]
    assert sorted(listed) == sorted(name for folder in subjects() for name in modules(folder))


def test_no_check_stands_among_the_helpers():
    names = [*modules(ROOM), *modules(ROOM / HELPERS)]
    assert len(names) > 8
    for name in names:
        assert not any(isinstance(one, Check) for one in vars(import_module(name)).values()), name
