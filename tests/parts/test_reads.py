"""What is read of a design is noted, and what hangs on it is made again when it changes."""

import pytest

from carve.design import Design, Place, load, with_values
from carve.parts.cache import LastMade, forget_all, kept
from carve.parts.reads import DesignReads


@pytest.fixture(scope="module")
def kite_design(request) -> Design:
    """Two scales, so that the place of a fret hangs on strings, board and neck."""
    return load(request.config.rootpath / "examples" / "kite.toml")


def test_a_value_and_a_table_are_noted_by_their_names(design):
    reads = DesignReads(design)
    assert reads.names == set()
    assert reads.design.title == design.title
    assert reads.design.limits.profile == design.limits.profile
    assert reads.names == {"title", "limits"}
    assert reads.same_in(with_values(design, {"neck.stations[0].thickness": 21.5}))
    assert not reads.same_in(with_values(design, {"title": "Another"}))
    assert not reads.same_in(with_values(design, {"limits.profile": 0.2}))


def test_what_a_method_or_a_property_reads_is_noted(kite_design):
    reads = DesignReads(kite_design)
    place = Place(fret=5)
    assert reads.design.place(place) == kite_design.place(place)
    assert {"scale_length", "fretboard", "neck", "strings"} <= reads.names
    assert "" not in reads.names
    assert not reads.same_in(with_values(kite_design, {"scale_length": 660.0}))
    assert reads.same_in(with_values(kite_design, {"title": "Another"}))


@pytest.mark.parametrize(
    "look",
    [
        lambda design: design.model_copy(update={"title": "x"}),
        lambda design: hash(design),
        lambda design: design == 3,
        lambda design: design.model_fields_set,
    ],
)
def test_looked_at_as_a_whole_any_change_counts(design, look):
    reads = DesignReads(design)
    look(reads.design)
    assert "" in reads.names
    assert reads.same_in(with_values(design, {}))
    assert not reads.same_in(with_values(design, {"limits.profile": 0.2}))


def test_a_kept_function_takes_it_for_the_design_it_stands_for(design):
    asked = []

    @kept
    def titled(of: Design) -> str:
        asked.append(of)
        return of.title

    reads = DesignReads(design)
    assert titled(design) == titled(reads.design) == "Wren"
    assert len(asked) == 1
    assert not reads.same_in(with_values(design, {"title": "Another"}))
    forget_all()


def test_a_result_is_made_again_only_when_what_it_hangs_on_changes(design):
    calls = []

    def words(of: Design, part: object) -> str:
        calls.append(part)
        return f"{of.title} {of.limits.profile}"

    made, part = LastMade(), object()
    turned = with_values(design, {"neck.stations[0].thickness": 21.5})
    assert made.get(words, design, part) == made.get(words, turned, part) == "Wren 0.1"
    assert len(calls) == 1
    assert made.get(words, with_values(design, {"limits.profile": 0.2}), part) == "Wren 0.2"
    assert len(calls) == 2
    made.get(words, with_values(design, {"limits.profile": 0.2}), object())
    assert len(calls) == 3


def test_a_failure_is_not_remembered(design):
    made = LastMade()

    def fails(of: Design) -> str:
        raise ValueError(of.title)

    for _ in range(2):
        with pytest.raises(ValueError, match="Wren"):
            made.get(fails, design)
