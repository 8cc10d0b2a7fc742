"""Whatever is said of a body or a cover is said in the body's words, not along the neck."""

import re
from pathlib import Path

import pytest

from carve.check.report import inspect
from carve.design import load, with_values
from carve.design.schema.design import Limits
from carve.parts.job import make

EXAMPLES = Path(__file__).parents[2] / "examples"
OF_THE_NECK = re.compile(r"from the nut|near fret|glue face|behind the nut")


@pytest.mark.parametrize("name", ["dotterel", "linnet"])
def test_a_bodys_places_are_told_from_its_own_edge(name: str) -> None:
    """Every check of the body is made to fail, so that all it can say is said."""
    design = load(EXAMPLES / f"{name}.toml")
    limits = {
        f"limits.{key}": field.metadata[0].highest
        for key, field in Limits.model_fields.items()
        if key.startswith("wood_") and "channel" not in key
    }
    blank = {"length": 100.0, "width": 60.0, "thickness": 8.0}
    small = {f"body.blank.{key}": size for key, size in blank.items()} if design.body.blank else {}
    findings = inspect(make(with_values(design, limits | small), 0.2))
    told = [one for one in findings if one.part.startswith(("body", "cover"))]
    assert sum(one.verdict != "good" for one in told) > 5
    for one in told:
        for said in (one.place, one.detail, one.advice):
            assert not OF_THE_NECK.search(said), (one.check, said)
