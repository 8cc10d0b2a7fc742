"""The reference of keys says what the models say, for every key there is."""

import re
import tomllib
from pathlib import Path

import pytest

from carve.cli import main
from carve.design import read_design
from carve.design.io.parse import table_in
from carve.design.io.reference import reference
from carve.design.schema.design import Design, Table
from carve.design.values.profile import LETTERS
from carve.errors import DesignError

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
    assert rows()["neck.stations[].thickness"][:2] == ["length, 8 to 60 mm", "must be given"]
    assert rows()["limits.wood_under_channel"][:2] == ["length, 0 to 30 mm", "3 mm"]
    assert rows()["neck.truss_rod.depth_middle"][1] == "may be left out"
    assert rows()["title"][1] == "`Untitled`"


def test_every_profile_letter_is_in_the_reference() -> None:
    for name, dials in LETTERS.items():
        assert f"| {name} | {dials.shoulder:g} | {dials.keel:g} |" in reference()


def tables(table: type[Table], prefix: str = "") -> list[tuple[str, bool]]:
    """Every table and whether it must be given, found apart from the reference's own walk."""
    found = []
    for name, field in table.model_fields.items():
        inner = table_in(field.annotation)
        if inner is not None:
            many = "[]" if "tuple" in str(field.annotation) else ""
            found.append((prefix + name, field.is_required()))
            found += tables(inner, f"{prefix}{name}{many}.")
    return found


def test_every_table_says_whether_it_must_be_given() -> None:
    for key, needed in tables(Design):
        assert rows()[key][0] in ("table", "tables"), key
        assert (rows()[key][1] == "must be given") == needed, key


def test_what_may_be_left_out_says_what_then_holds() -> None:
    for key, (_, stands_in, meaning) in rows().items():
        if stands_in in ("may be left out", "none"):
            assert "left out" in meaning, key


def test_what_must_be_given_is_missed_and_nothing_else_is() -> None:
    """By the example: without one of its keys it is refused, if the reference says so."""
    text = tomllib.loads((KEYS_MD.parent / "wren.toml").read_text(encoding="utf-8"))
    for table in ("neck", "fretboard"):
        for key in text[table]:
            without = {**text, table: {k: v for k, v in text[table].items() if k != key}}
            try:
                read_design(without)
                missed = False
            except DesignError as error:
                missed = any(f"{table}.{key}: missing" in line for line in error.problems)
            assert missed == (rows()[f"{table}.{key}"][1] == "must be given"), key
    assert rows()["neck.blank"][1] == "must be given"
