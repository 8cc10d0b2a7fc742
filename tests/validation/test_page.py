"""The page of validations: every line on it is made by a test that is there."""

import ast
import re
from pathlib import Path

import pytest
from validations import PAGE, Line, Registry, lines_of, stale


@pytest.fixture(autouse=True)
def _page_is_there(request: pytest.FixtureRequest) -> None:
    if request.config.getoption("--write-page"):
        pytest.skip("the page is being written")


def test_the_page_has_a_subject_for_each_file_of_tests_and_no_other() -> None:
    files = [
        path for path in sorted(Path(__file__).parent.glob("test_*.py")) if path != Path(__file__)
    ]
    docs = [ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "" for path in files]
    subjects = [doc.split("\n")[0].split(":")[0].rstrip(".") for doc in docs]
    page = PAGE.read_text("utf-8")
    assert [line[3:] for line in page.splitlines() if line.startswith("## ")] == subjects


def worded(node: ast.AST) -> str | None:
    """What a text in the code can come out as, a pattern; None where it is no text."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return re.escape(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(worded(part) or ".+" for part in node.values)
    return None


def test_every_line_of_the_page_is_made_by_a_text_that_is_there() -> None:
    texts = {
        pattern
        for path in Path(__file__).parent.glob("test_*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if (pattern := worded(node))
    }
    gone = [
        what
        for what in lines_of(PAGE.read_text("utf-8"))
        if not any(re.fullmatch(text, what) for text in texts)
    ]
    assert gone == []  # renew the page


def test_a_figure_that_is_off_fails_and_one_that_has_changed_is_told() -> None:
    registry = Registry()
    line = registry.validated("a", "b", [1.0, 2.0], [1.0, 2.004], 0.005, "mm", subject="s")
    assert line == Line("a", "b", 2.0, 2.004, 0.005, "mm", "s")  # the worst of them
    page = registry.page()
    assert stale(line, page) == ""
    assert stale(line._replace(ours=2.00408), page) == ""  # the last digit shown may turn
    assert "ours is now 2.0100" in stale(line._replace(ours=2.01), page)
    assert "source" in stale(line._replace(source="c"), page)
    assert "no line" in stale(line._replace(what="z"), page)
    with pytest.raises(AssertionError):
        registry.validated("a", "b", 1.0, 1.1, 0.05, subject="s")
