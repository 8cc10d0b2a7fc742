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


def test_ci_and_the_hooks_ask_what_scripts_check_asks() -> None:
    check = (ROOT / "scripts" / "check").read_text("utf-8")
    assert "scripts/check" in (ROOT / ".ci" / "run").read_text("utf-8")
    hooks = (ROOT / ".pre-commit-config.yaml").read_text("utf-8")
    for tool in ("ruff format", "ruff check", "mypy"):
        assert f"-m {tool}" in check
        assert f"-m {tool}" in hooks


def test_the_hooks_are_all_of_this_house() -> None:
    # nothing is fetched from elsewhere, and each program that a hook names is there
    hooks = (ROOT / ".pre-commit-config.yaml").read_text("utf-8")
    assert re.findall(r"repo: (.*)", hooks) == ["local"]
    assert set(re.findall(r"language: (.*)", hooks)) == {"system"}
    for script in re.findall(r"scripts/\w+", hooks):
        assert (ROOT / script).exists()


def test_it_opens_with_the_job_in_one_paragraph() -> None:
    paragraphs = README.split("\n\n")
    assert paragraphs[0].startswith("# ")
    assert "router" in paragraphs[1]
    assert "blank" in paragraphs[1]


def test_its_python_runs_and_writes_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    found = re.search(r"<!-- python -->\n```python\n(.*?)```", README, re.DOTALL)
    assert found is not None
    (tmp_path / "examples").mkdir()
    wren = (ROOT / "examples" / "wren.toml").read_text("utf-8")
    (tmp_path / "examples" / "wren.toml").write_text(wren, "utf-8")
    monkeypatch.chdir(tmp_path)
    exec(compile(found[1], "README.md", "exec"), {})
    assert "good wood under the truss-rod channel" in capsys.readouterr().out
    assert (tmp_path / "cut" / "wren-neck.stl").exists()
    assert 'nut_width = "1.73228 in"' in (tmp_path / "cut" / "wren-as-exported.toml").read_text()


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
