"""Fixtures that all tests share."""

from pathlib import Path

import pytest
from hypothesis import settings

from carve.design import Design, load

ROOT = Path(__file__).parents[1]


@pytest.fixture
def example() -> Path:
    """The example that the README exports."""
    return ROOT / "examples" / "wren.toml"


@pytest.fixture
def design(example: Path) -> Design:
    """The example, read."""
    return load(example)


@pytest.fixture(scope="session")
def heron() -> Design:
    """The example with a set neck, an arched top and a finish."""
    return load(ROOT / "examples" / "heron.toml")


@pytest.fixture(scope="session")
def plover() -> Design:
    """The example that is bolted on and written in inches."""
    return load(ROOT / "examples" / "plover.toml")


@pytest.fixture(scope="session")
def kite() -> Design:
    """The example with two scale lengths."""
    return load(ROOT / "examples" / "kite.toml")


# a shared machine may pause in the middle of an example: slowness is the benchmark's business
settings.register_profile("carve", deadline=None)
settings.load_profile("carve")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Give all tests that drive a browser to one of the workers: two browsers starve each other."""
    for item in items:
        if item.get_closest_marker("browser") is not None:
            item.add_marker(pytest.mark.xdist_group("browser"))


def pytest_addoption(parser: pytest.Parser) -> None:
    """How many random necks to try, from which on, and whether to write the page of validations."""
    parser.addoption("--designs", type=int, default=40, help="random whole necks to try")
    parser.addoption("--first-design", type=int, default=0, help="number of the first of them")
    parser.addoption("--write-page", action="store_true", help="renew docs/validation.md")
