"""Every check stands in the list, and nothing but checks stands in the rooms of checks."""

from importlib import import_module
from pathlib import Path

from carve.check.declare import Check
from carve.check.order import all_checks, checks_for
from carve.design import load
from carve.parts.job import make

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
    listed = [check.run.__module__ for check in all_checks()]
    assert sorted(listed) == sorted(name for folder in subjects() for name in modules(folder))


def test_no_check_stands_among_the_helpers():
    names = [*modules(ROOM), *modules(ROOM / HELPERS)]
    assert len(names) > 8
    for name in names:
        assert not any(isinstance(one, Check) for one in vars(import_module(name)).values()), name


def test_a_check_that_is_not_loaded_for_a_design_would_find_nothing(pytestconfig):
    without = 0
    for path in sorted((pytestconfig.rootpath / "examples").glob("*.toml")):
        design = load(path)
        left_out = set(all_checks()) - set(checks_for(design))
        if not left_out:
            continue
        job = make(design, 0.08)
        assert [
            one for check in left_out for look in check.looks(job) for one in look.findings()
        ] == []
        without += 1
    assert without > 5
