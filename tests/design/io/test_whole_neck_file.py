"""Headstock and heel in the file: every dial can be turned, saved and read back."""

import re
from pathlib import Path

import pytest

from carve.cli import main
from carve.design import load, parse, read_text, rewrite, with_values
from carve.design.io.dials import dials
from carve.errors import DesignError
from carve.parts.job import make

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.mark.parametrize(
    "name", ["siskin", "wheatear", "dunlin", "pipit", "whinchat", "redstart", "curlew"]
)
def test_every_dial_of_the_neck_is_saved_and_read_back(name):
    file = EXAMPLES / f"{name}.toml"
    design, text = load(file), read_text(file)
    turned = 0
    for dial in dials(design):
        if not dial.key.startswith("neck.") or dial.step is None:
            continue
        for value in (round(dial.value + dial.step, 4), round(dial.value - dial.step, 4)):
            try:
                changed = with_values(design, {dial.key: value})
            except DesignError:
                continue  # at the end of what the other keys allow
            assert parse(rewrite(text, changed)) == changed
            turned += 1
            break
    assert turned > 20


@pytest.mark.parametrize("key", ["neck.headstock.thickness", "neck.heel.depth"])
def test_a_turned_dial_changes_the_mesh(key):
    design = load(EXAMPLES / "siskin.toml")
    dial = next(dial for dial in dials(design) if dial.key == key)
    changed = with_values(design, {key: dial.value + 10 * dial.step})
    end = -60.0 if "headstock" in key else 400.0  # mm from the nut, on the flat back
    lowest = []
    for one in (design, changed):
        points = make(one, 0.06).parts[0].mesh.points
        there = points[:, 0] < end if end < 0 else points[:, 0] > end
        lowest.append(points[there, 2].min())
    assert lowest[0] - lowest[1] == pytest.approx(10 * dial.step)


def test_what_finds_no_room_is_said_by_the_command_too(tmp_path, capsys):
    text = read_text(EXAMPLES / "siskin.toml")
    file = tmp_path / "tight.toml"
    file.write_text(re.sub(r"blend_radius = [\d.]+", "blend_radius = 2000.0", text), "utf-8")
    assert main(["check", str(file)]) == 2
    said = capsys.readouterr()
    assert "neck.headstock.blend_radius: reaches" in " ".join((said.out + said.err).split())
