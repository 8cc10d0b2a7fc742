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


# a shared machine may pause in the middle of an example: slowness is the benchmark's business
settings.register_profile("carve", deadline=None)
settings.load_profile("carve")
