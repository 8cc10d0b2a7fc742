"""Some of the trial of damaged files; `scripts/trials mutants` tries two thousand."""

import pytest
from trials import mutants

SOME = range(60)


@pytest.mark.parametrize("number", SOME)
def test_a_damaged_file_ends_in_findings_or_in_sentences_of_our_own(number: int) -> None:
    outcome = mutants.once(number)
    assert outcome.verdict != "wrong", outcome.said


def test_what_a_library_says_would_be_seen() -> None:
    for said in (
        "A linearring requires at least 4 coordinates",
        "could not convert string to float: b'x'",
        "Traceback (most recent call last):",
    ):
        assert mutants.FOREIGN.search(said)
