"""The reference of keys says what the models say, for every key there is."""

import re
from pathlib import Path

import pytest

from carve.cli import main
from carve.design.io.parse import table_in
from carve.design.io.reference import reference
from carve.design.schema.design import Design, Table
from carve.design.values.profile import LETTERS

KEYS_MD = Path(__file__).parents[3] / "examples" / "KEYS.md"


def leaves(table: type[Table], prefix: str = "") -> list[str]:
    """Every key without keys of its own, found apart from the reference's own walk."""
    found = []
    for name, field in table.model_fields.items():
        inner = table_in(field.annotation)
        if inner is None:
            found.append(prefix + name)
        else:
            many = "[]" if "tuple" in str(field.annotation) else ""
            found += leaves(inner, f"{prefix}{name}{many}.")
    return found


def rows() -> dict[str, list[str]]:
    table = re.findall(r"^\| `([\w.\[\]]+)` \| (.*) \|$", reference(), re.MULTILINE)
    return {key: re.split(r" \| ", rest) for key, rest in table}


def test_the_file_beside_the_example_is_what_the_command_prints(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["keys"]) == 0
    printed = capsys.readouterr().out
    assert printed == reference()
    assert KEYS_MD.read_text(encoding="utf-8") == printed, "run: carve keys > examples/KEYS.md"


def test_every_key_is_in_the_reference() -> None:
    assert set(leaves(Design)) <= set(rows())


def test_every_key_says_what_it_holds_its_default_and_its_meaning() -> None:
    for key, cells in rows().items():
        assert len(cells) == 3, key
        assert all(cell.strip() for cell in cells), key


def test_ranges_and_defaults_are_those_that_are_held_to() -> None:
    # the same figures that the sentences about a wrong file speak (see test_bad_input)
    assert rows()["neck.stations[].thickness"][:2] == ["length, 8 to 60 mm", "needed"]
    assert rows()["limits.wood_under_channel"][:2] == ["length, 0 to 30 mm", "3 mm"]
    assert rows()["neck.truss_rod.depth_middle"][1] == "none"
    assert rows()["title"][1] == "`Untitled`"


def test_every_profile_letter_is_in_the_reference() -> None:
    for name, dials in LETTERS.items():
        assert f"| {name} | {dials.shoulder:g} | {dials.keel:g} |" in reference()
