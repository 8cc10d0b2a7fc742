"""Every check lets a limit be missed by what the table of tolerances says, and by no more."""

import ast
import inspect as source
from collections.abc import Iterator

import pytest

from carve.check import tolerances
from carve.check.figures import missing
from carve.check.finding import Verdict, as_plain
from carve.check.order import CHECKS
from carve.check.report import inspect
from carve.design import load, with_values
from carve.parts.job import make

TABLE = {name: value for name, value in vars(tolerances).items() if name.isupper()}
JUDGES = {"at_least", "at_most", "within"}
MEASURED_ON_THE_MESH = "part.chord_error + MEASURED"  # of the mesh that a tang's depth is read on
CALIPER = 0.02  # mm a caliper reads; common practice
FILES = [listed.file for listed in CHECKS]


def judged(file: str) -> Iterator[ast.Call]:
    """The calls by which a check reaches a verdict."""
    module = __import__(f"carve.check.{file}", fromlist=["check"])
    for node in ast.walk(ast.parse(source.getsource(module))):
        if isinstance(node, ast.Call) and ast.unparse(node.func) in JUDGES:
            yield node


@pytest.mark.parametrize("file", FILES)
def test_each_verdict_has_a_tolerance_of_the_table(file):
    calls = list(judged(file))
    assert calls
    for call in calls:
        given = {keyword.arg: ast.unparse(keyword.value) for keyword in call.keywords}
        assert given.get("tolerance") in (*TABLE, MEASURED_ON_THE_MESH), ast.unparse(call)


def test_no_tolerance_hides_what_a_caliper_shows():
    assert len(TABLE) >= 8
    for name, tolerance in TABLE.items():
        assert 0 < tolerance < CALIPER, name
    assert tolerances.WOOD <= CALIPER / 4


def test_each_tolerance_says_why():
    tree = ast.parse(source.getsource(tolerances))
    for constant, following in zip(tree.body[1:], [*tree.body[2:], None], strict=True):
        if isinstance(constant, ast.Assign):
            assert isinstance(following, ast.Expr)
            said = ast.literal_eval(following.value)
            assert said.startswith(("mm", "Per mm", "Degrees"))
            assert len(said) > 60


@pytest.mark.parametrize("short", [0.0001, 0.004])
def test_wood_under_the_slots_does_not_fail_by_what_nobody_can_measure(design, short):
    # the board is 6 mm, the slots 3 mm deep below the crown; at a flat board's middle and at its
    # edges alike 3 mm are left
    flat = with_values(
        design,
        {
            "fretboard.radius": "flat",
            "fretboard.slots": {"depth": design.fretboard.thickness - 1.5 + short},
            "limits.board_under_slots": 1.5,
        },
    )
    (wood,) = (
        finding
        for finding in inspect(make(flat, only=["fretboard"]))
        if finding.id == "fretboard.wood-under-cut:slots"
    )
    assert wood.value == pytest.approx(1.5 - short, abs=1e-9)
    assert wood.verdict is Verdict.GOOD


def test_wood_under_the_slots_fails_by_what_a_caliper_shows(design):
    thin = with_values(
        design,
        {
            "fretboard.radius": "flat",
            "fretboard.slots": {"depth": design.fretboard.thickness - 1.5 + 0.02},
            "limits.board_under_slots": 1.5,
        },
    )
    found = {finding.id: finding for finding in inspect(make(thin, only=["fretboard"]))}
    assert found["fretboard.wood-under-cut:slots"].verdict is Verdict.FAILED


def test_machines_can_tell_a_verdict_again_by_the_figures_they_are_given(pytestconfig):
    for name in ("linnet", "heron"):
        design = load(pytestconfig.rootpath / "examples" / f"{name}.toml")
        for finding in inspect(make(design, 0.08)):
            plain = as_plain(finding)
            short = missing(
                plain["value"], plain["limit"], plain["sense"], plain.get("target", 0.0)
            )
            if plain["verdict"] != "warning":
                assert (short <= plain["tolerance"]) == (plain["verdict"] == "good"), plain["id"]
