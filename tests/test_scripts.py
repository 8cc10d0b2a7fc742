"""The scripts that keep notebooks bare, compare two states of the house and count trials."""

import json
import re
import runpy
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

SCRIPTS = Path(__file__).parents[1] / "scripts"
BARE = {"cell_type": "code", "source": ["1 + 1"], "outputs": [], "execution_count": None}
RUN = {**BARE, "outputs": [{"output_type": "stream", "text": ["2"]}], "execution_count": 3}


def script(name: str) -> dict[str, Any]:
    return runpy.run_path(str(SCRIPTS / name))


def test_a_notebook_that_was_run_is_told_of_and_stripped(tmp_path: Path) -> None:
    file = tmp_path / "a.ipynb"
    file.write_text(json.dumps({"cells": [RUN, {"cell_type": "markdown", "source": ["é"]}]}))
    main = script("strip")["main"]
    assert main(["--check", str(file)]) == 1
    assert json.loads(file.read_text())["cells"][0] == RUN  # looked at only
    assert main([str(file)]) == 0
    assert json.loads(file.read_text("utf-8"))["cells"][0] == BARE
    before = file.read_bytes()
    assert main(["--check", str(file)]) == main([str(file)]) == 0
    assert file.read_bytes() == before


def finding(value: float, **more: str) -> dict[str, Any]:
    return {"check": "blank, width", "value": value, **more}


def test_two_states_are_compared_by_findings_statuses_and_bytes() -> None:
    space = script("compare")
    made, differences = space["Made"], space["differences"]
    one = made((0, 0), "", {"findings": [finding(1.0)]}, {"a.stl": b"abc"})
    assert list(differences(one, one)) == []
    other = made((1, 0), "", {"findings": [finding(1.5)]}, {"a.stl": b"abd", "b.csv": b""})
    assert list(differences(one, other)) == [
        "ends with (0, 0) and (1, 0) (check, export)",
        "findings.findings[blank, width].value: 1.0 and 1.5",
        "a.stl: differs from byte 2",
        "b.csv: only after",
    ]


def test_an_id_counts_only_where_both_states_have_it() -> None:
    space = script("compare")
    made, differences = space["Made"], space["differences"]
    old, new, moved = (
        made((0, 0), "", {"findings": [finding(1.0, **more)]}, {})
        for more in ({}, {"id": "neck/blank"}, {"id": "neck/width"})
    )
    assert list(differences(old, new)) == []
    assert [line.split(": ")[1] for line in differences(new, moved)] == [
        "only before",
        "only after",
    ]


def test_comparing_with_what_is_neither_folder_nor_revision_is_said_in_a_sentence() -> None:
    done = subprocess.run(
        [sys.executable, str(SCRIPTS / "compare"), "no-such-revision"],
        capture_output=True,
        text=True,
    )
    assert done.returncode != 0
    assert done.stderr.startswith("no-such-revision is neither a folder nor a revision")
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("name", ["check", "bench"])
def test_a_wrong_word_is_answered_with_those_there_are(name: str) -> None:
    done = subprocess.run(["bash", str(SCRIPTS / name), "nonsense"], capture_output=True, text=True)
    assert done.returncode == 2
    assert "cold_start" in done.stdout or "--no-tests" in done.stderr


def test_trials_are_counted_by_their_outcome() -> None:
    asked = [sys.executable, SCRIPTS / "trials", "mutants", "--count", "6", "--first", "40"]
    done = subprocess.run(asked, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    told = done.stdout.splitlines()[0]
    counts = {word: int(count) for count, word in re.findall(r"(\d+) (held|refused|wrong)", told)}
    assert told.startswith("mutants: ")
    assert sum(counts.values()) == 6
    assert counts["wrong"] == 0


def test_a_trial_that_is_not_there_is_said() -> None:
    asked = [sys.executable, SCRIPTS / "trials", "spells"]
    done = subprocess.run(asked, capture_output=True, text=True)
    assert done.returncode == 2
    assert "there is no trial spells" in done.stderr
