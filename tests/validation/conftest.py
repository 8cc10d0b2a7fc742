"""The fixture that holds a figure against its source, and the writing of the page."""

from collections.abc import Callable
from typing import Any

import pytest
from numpy.typing import ArrayLike
from validations import PAGE, Registry, stale

KEPT = pytest.StashKey[Registry]()


def pytest_configure(config: pytest.Config) -> None:
    config.stash[KEPT] = Registry()


@pytest.fixture
def validated(request: pytest.FixtureRequest) -> Callable[..., None]:
    """Hold ours against theirs: ``validated(what, source, theirs, ours, tolerance, unit)``.

    theirs, ours: numbers, or as many of each. unit: of them and of the tolerance. The subject of
    the line is the first line of the test file's docstring, up to a colon or a full stop.
    """
    told = (request.module.__doc__ or "").split("\n")[0]
    subject = told.split(":")[0].rstrip(".")

    def hold(
        what: str, source: str, theirs: ArrayLike, ours: ArrayLike, tolerance: float, unit: str = ""
    ) -> None:
        line = request.config.stash[KEPT].validated(
            what, source, theirs, ours, tolerance, unit, subject=subject
        )
        if not request.config.getoption("--write-page"):
            out_of_date = stale(line, PAGE.read_text("utf-8"))
            assert not out_of_date, f"docs/validation.md, {what}: {out_of_date}; renew the page"

    return hold


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Write the page where it is asked for and every test has passed."""
    kept: Any = session.config.stash.get(KEPT, None)
    if session.config.getoption("--write-page") and exitstatus == 0 and kept.lines:
        PAGE.write_text(kept.page(), "utf-8")
