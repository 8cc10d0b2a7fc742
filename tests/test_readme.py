"""What the README claims of itself."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")


def command(name: str) -> str:
    """The command behind a marker, as .ci/run reads it."""
    found = re.search(rf"<!-- {name} -->\n```sh\n(.*?)```", README, re.DOTALL)
    assert found is not None, name
    return found[1]


@pytest.mark.parametrize("name", ["install and export", "test"])
def test_each_command_starts_from_plain_python_and_needs_no_other(name: str) -> None:
    lines = command(name).strip().splitlines()
    assert lines[0] == "python3 -m venv .venv &&"
    # one command: every line but the last goes on in the next
    assert all(line.endswith("&&") for line in lines[:-1])
    assert not lines[-1].endswith("&&")


def test_ci_runs_the_commands_of_the_readme() -> None:
    script = (ROOT / ".ci" / "run").read_text("utf-8")
    for name in ("install and export", "test"):
        assert f'readme "{name}"' in script


def test_it_opens_with_the_job_in_one_paragraph() -> None:
    paragraphs = README.split("\n\n")
    assert paragraphs[0].startswith("# ")
    assert "router" in paragraphs[1]
    assert "blank" in paragraphs[1]


def test_every_file_it_links_to_is_there() -> None:
    links = re.findall(r"\]\(([^)#]+)\)", README)
    assert links
    for link in links:
        assert (ROOT / link).exists(), link


def test_every_command_it_names_is_one() -> None:
    from carve.cli import main

    for name in set(re.findall(r"`carve (\w+)", README)):
        with pytest.raises(SystemExit) as stopped:
            main([name, "--help"])
        assert stopped.value.code == 0
